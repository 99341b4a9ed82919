"""One palette for every output that shows the model: quiet wood, stone and metal tones of our own choosing.

A piece is coloured by its role, so that the layers of the deck are told apart at a glance; what is not wood takes the
colour of its material. sRGB, 0..255.
"""

from __future__ import annotations

from ...model.solid.part import Part
from ...model.solid.roles import ROLES

RGB = tuple[int, int, int]

MATERIAL_COLOURS: dict[str, RGB] = {"concrete": (176, 173, 166), "gravel": (160, 155, 145), "steel": (122, 129, 135)}

# Mechanical look of a surface in glTF terms: (metallic, roughness), by material; everything else is matt.
_METAL = {"steel": (0.6, 0.5), "aluminum": (0.5, 0.5)}


def colour(part: Part) -> RGB:
    """The colour of a piece: its material's where it is no wood, else its role's."""
    return MATERIAL_COLOURS.get(part.stock.material) or ROLES[part.role].colour


def surface(material: str) -> tuple[float, float]:
    """(metallic, roughness) of a material, each 0..1."""
    return _METAL.get(material, (0.0, 0.9))


def linear(rgb: RGB) -> tuple[float, float, float]:
    """sRGB 0..255 to linear 0..1 (IEC 61966-2-1), which STEP viewers of the kernel and glTF base colours expect."""
    scaled = (c / 255 for c in rgb)
    return tuple(c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in scaled)
