"""One palette for every output that shows the model: quiet wood, stone and metal tones of our own choosing.

A piece is coloured by its role, so that the layers of the deck are told apart at a glance; what is not wood takes the
colour of its material. sRGB, 0..255.
"""

from __future__ import annotations

from ...model.solid.part import Part

RGB = tuple[int, int, int]

ROLE_COLOURS: dict[str, RGB] = {
    "footing": (176, 173, 166),
    "pad": (188, 185, 178),
    "post base": (122, 129, 135),
    "post": (158, 137, 104),
    "beam": (171, 146, 107),
    "ledger": (181, 151, 112),
    "rim": (186, 160, 121),
    "joist": (203, 181, 142),
    "stair header": (176, 149, 110),
    "blocking": (190, 190, 150),
    "border blocking": (172, 182, 148),
    "post blocking": (157, 170, 143),
    "board": (150, 129, 114),
    "border": (111, 96, 87),
    "breaker": (123, 107, 97),
    "fascia": (133, 117, 106),
    "stringer": (196, 169, 124),
    "tread": (150, 129, 114),
    "riser": (173, 158, 145),
    "skirt": (133, 117, 106),
    "tread blocking": (172, 182, 148),
    "guard post": (116, 128, 130),
    "top rail": (96, 109, 113),
    "bottom rail": (104, 117, 121),
    "baluster": (139, 150, 152),
    "handrail": (84, 94, 99),
    "foot block": (128, 139, 141),
    "post sleeve": (126, 138, 140),
    "post cap": (92, 103, 107),
}

MATERIAL_COLOURS: dict[str, RGB] = {"concrete": (176, 173, 166), "gravel": (160, 155, 145), "steel": (122, 129, 135)}

PLAIN: RGB = (170, 160, 145)

# Mechanical look of a surface in glTF terms: (metallic, roughness), by material; everything else is matt.
_METAL = {"steel": (0.6, 0.5), "aluminum": (0.5, 0.5)}


def colour(part: Part) -> RGB:
    """The colour of a piece: its material's where it is no wood, else its role's."""
    return MATERIAL_COLOURS.get(part.stock.material) or ROLE_COLOURS.get(part.role, PLAIN)


def surface(material: str) -> tuple[float, float]:
    """(metallic, roughness) of a material, each 0..1."""
    return _METAL.get(material, (0.0, 0.9))


def linear(rgb: RGB) -> tuple[float, float, float]:
    """sRGB 0..255 to linear 0..1 (IEC 61966-2-1), which STEP viewers of the kernel and glTF base colours expect."""
    scaled = (c / 255 for c in rgb)
    return tuple(c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in scaled)
