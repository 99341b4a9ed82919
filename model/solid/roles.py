"""What each kind of piece is: one row a role, said once.

A row tells the group, the letter of its marks, what carries it, what load it brings, how it is fastened, how it is
drawn (layer, colour, which views), its class in IFC4, and what else is true of it (`TRAITS`); what a row leaves out is
its group's default. Rules, load path, order and drawings ask the row, so that a new kind of piece is one more row.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

# kinds of contact (`measuring.contacts`) that count; HUNG: fixed under what is above, which seems to rest on it
BEARING, END, ANY, HUNG = ("bearing",), ("end",), ("bearing", "end", "side"), ("hung",)
USER = "USERDEFINED"  # the IFC type of what the standard has no word for

TRAITS = MappingProxyType(
    {
        "walked": "the deck's surface: people walk on it",
        "takes guard loads": "its strength under the loads on a guard is calculated",
        "bars": "part of a guard: it bars the way",
        "holds rails": "a guard's rails end on it",
        "concrete": "poured",
        "stands": "stands on concrete and must stay within its top",
        "member": "calculated as a beam",
        "joist level": "between the frame's bottom and its top",
        "under boards": "carries the surface's boards",
        "held at its ends": "must meet a member at either end",
        "holds ends": "holds the ends of what meets it",
        "stringer": "carries treads along a flight, cut or solid",
        "mitred steps": "a stringer under treads that are mitred round a corner",
        "takes stringers": "a stringer's upper end hangs on it",
        "plies": "two of them side by side are plies of one",
        "takes screws": "the surface is screwed or clipped to it",
        "taped": "its top is taped",
        "laid with gaps": "its end gaps follow the temperature of the day",
        "trim board": "cut from lengths of the trim's own, not of the surface's boards",
        "bought whole": "not cut from lengths sold",
        "fine": "many and thin: drawn fine in elevations",
        "surface plan": "drawn in the surface plan",
        "framing plan": "drawn in the framing plan",
        "under the frame": "drawn hidden in the framing plan",
        "frame section": "drawn in sections of the frame",
        "stair section": "drawn in the section of its own stair",
        "behind a stair": "the deck's own pieces drawn in a stair's section",
        "site plan": "drawn in the site plan",
        "template": "has a full-size template",
        "notch card": "its notches have a card",
    }
)

# what a kind of piece brings to those that carry it
SURFACE_LOAD = "the loads of the surface, over its area"
SEAT_LOAD = "the loads of the surface, over its own plan area, where it stands"
STAIR_LOAD = "with its stair"
DEAD_LOAD = "within the dead load given"
OWN_WEIGHT = "its own weight, where it stands, beside the dead load given"
LEFT_OUT = "left out"


@dataclass(frozen=True)
class Role:
    """One kind of piece.

    `carried`: (roles that carry it, kinds of contact that count), tried all; () for what the ground or the house holds,
    None where nothing is said. `load`: one of the loads above, None where nothing is said. `fastened`: (item of the
    fasteners' data, roles) for one at each contact with those; () where `order.fasteners` counts by a rule of its own,
    None where nothing is said. `colour` sRGB 0..255. `ifc` class without its Ifc, and type; `ifc_round` the type of a
    round one, `ifc_stair` of a stair's.
    """

    name: str
    letter: str
    group: str
    carried: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] | None = None
    load: str | None = None
    fastened: tuple[tuple[str, tuple[str, ...]], ...] | None = None
    traits: frozenset[str] = frozenset()
    layer: str = "A-FLOR-TRIM"
    colour: tuple[int, int, int] = (170, 160, 145)
    ifc: tuple[str, str] = ("Member", USER)
    ifc_round: str = ""
    ifc_stair: str = ""

    @property
    def carriers(self) -> tuple[str, ...]:
        """All roles that may carry it."""
        return tuple(dict.fromkeys(r for roles, _ in self.carried or () for r in roles))


_BOTH = frozenset({"frame section", "stair section"})
_LEVEL = _BOTH | {"joist level", "under boards", "holds ends", "behind a stair", "framing plan"}
_STAIR = frozenset({"stair section"})

# in the order of building; what a row of the group leaves out
_GROUPS: dict[str, dict] = {
    "footings": {"load": DEAD_LOAD, "fastened": (), "traits": frozenset({"bought whole"}) | _BOTH, "layer": "S-FNDN"},
    "frame": {"load": DEAD_LOAD, "fastened": (), "traits": _LEVEL, "layer": "S-JOIS", "ifc": ("Beam", USER)},
    "blocking": {
        "load": DEAD_LOAD,
        "fastened": (),
        "traits": _LEVEL - {"stair section"} | {"held at its ends", "takes screws"},
        "layer": "S-JOIS-BLKG",
        "colour": (190, 190, 150),
    },
    "surface": {
        "load": SURFACE_LOAD,
        "fastened": (),
        "traits": _BOTH | {"walked", "laid with gaps", "surface plan", "behind a stair", "site plan", "notch card"},
        "layer": "A-FLOR-TRIM",
        "colour": (150, 129, 114),
        "ifc": ("Covering", "FLOORING"),
    },
    "trim": {
        "load": LEFT_OUT,
        "traits": frozenset({"surface plan", "frame section", "behind a stair", "site plan"}),
        "layer": "A-FLOR-TRIM",
        "colour": (133, 117, 106),
        "ifc": ("Covering", "CLADDING"),
    },
    "stairs": {
        "load": STAIR_LOAD,
        "fastened": (),
        "traits": _STAIR | {"surface plan", "template"},
        "layer": "A-FLOR-STRS",
        "colour": (150, 129, 114),
    },
    "guards": {
        "load": OWN_WEIGHT,
        "fastened": (),
        "traits": _BOTH | {"bars"},
        "layer": "A-FLOR-HRAL",
        "colour": (116, 128, 130),
    },
    "built-ins": {
        "load": DEAD_LOAD,
        "traits": frozenset({"frame section", "surface plan", "behind a stair"}),
        "layer": "A-FLOR-TRIM",
        "colour": (168, 146, 120),
    },
}
GROUPS = tuple(_GROUPS)


def _row(name: str, letter: str, group: str, *, also: str = "", but: str = "", **more) -> Role:
    """A role with its group's defaults; `also` and `but`: traits, parted by semicolons, that it has besides or has
    not."""
    given = {"colour": Role.colour, **_GROUPS[group], **more}
    add, leave = ({t.strip() for t in text.split(";") if t.strip()} for text in (also, but))
    unknown = (add | leave) - set(TRAITS)
    if unknown:
        raise ValueError(f"role {name}: no trait {', '.join(sorted(unknown))}")
    given["traits"] = frozenset(given.get("traits", frozenset())) | add
    given["traits"] -= leave
    return Role(name, letter, group, **given)


_WALKED = ("board", "border", "breaker")
_UNDER = ("ledger", "rim", "joist", "border blocking", "post blocking", "blocking", "stair header", "beam")
_STRINGERS = ("stringer", "hip stringer", "jack stringer")
_GUARD_POST = ("guard post", "post sleeve")
_ROWS = [
    _row("footing", "F", "footings", carried=(), also="concrete; under the frame", colour=(176, 173, 166),
         ifc=("Footing", "PAD_FOOTING"), ifc_round="CAISSON_FOUNDATION"),
    _row("pad", "PD", "footings", carried=(), also="concrete; surface plan; site plan", colour=(188, 185, 178),
         ifc=("Slab", "BASESLAB"), ifc_stair="LANDING"),
    _row("post base", "PB", "footings", carried=((("footing",), BEARING),), also="stands; under the frame",
         layer="S-COLS", colour=(122, 129, 135), ifc=("DiscreteAccessory", "SHOE")),
    _row("post", "P", "frame", carried=((("post base", "footing", "pad"), BEARING),),
         also="stands; takes stringers; under the frame; notch card",
         but="joist level; under boards; behind a stair; framing plan", layer="S-COLS",
         colour=(158, 137, 104), ifc=("Column", "COLUMN")),
    _row("beam", "BM", "frame", carried=((("post", "post base", "footing", "beam"), BEARING),),
         also="member; plies; takes stringers; under the frame", but="joist level; framing plan", layer="S-BEAM",
         colour=(171, 146, 107), ifc=("Beam", "BEAM")),
    _row("knee brace", "KN", "frame", carried=((("post",), ANY),), also="under the frame",
         but="joist level; under boards; holds ends; behind a stair; framing plan", layer="S-BEAM",
         colour=(166, 143, 110), fastened=(("brace lag screw", ("post",)),)),
    _row("ledger", "L", "frame", carried=(), also="takes screws; taped", but="stair section", layer="S-JOIS-LEDG",
         colour=(181, 151, 112)),
    _row("rim", "R", "frame", carried=((("beam", "post", "post base", "footing"), BEARING), (("ledger",), END)),
         also="member; plies; takes stringers; takes screws; taped; site plan", colour=(186, 160, 121)),
    _row("joist", "J", "frame", carried=((("beam", "post"), BEARING), (("ledger", "beam"), END)),
         also="member; plies; takes stringers; takes screws; taped; held at its ends; site plan",
         colour=(203, 181, 142), ifc=("Beam", "JOIST")),
    _row("stair header", "SH", "frame", carried=((("blocking", "rim", "pad"), ANY), (("post", "beam"), END)),
         also="takes stringers; held at its ends", colour=(176, 149, 110)),
    _row("blocking", "K", "blocking", also="taped; stair section", ifc=("Member", USER),
         carried=((("rim",), ANY), (("beam",), BEARING),
                  (("joist", "ledger", "beam", "border blocking", "post blocking", "joint cleat"), END))),
    _row("border blocking", "KB", "blocking", also="taped", colour=(172, 182, 148),
         carried=((("beam",), BEARING),
                  (("ledger", "rim", "joist", "beam", "post blocking", "border blocking", "blocking", "guard post",
                    "joint cleat"), END))),
    _row("joint cleat", "KJ", "blocking", also="taped", but="held at its ends", colour=(184, 172, 140),
         carried=((("joist",), ANY),)),
    _row("post blocking", "KP", "blocking", also="taped", colour=(157, 170, 143),
         carried=((("beam",), BEARING),
                  (("joist", "rim", "ledger", "beam", "border blocking", "post blocking", "joint cleat"), END))),
    _row("board", "B", "surface", carried=((_UNDER, BEARING),), also="fine", layer="A-FLOR-DECK"),
    _row("border", "BD", "surface", carried=((_UNDER, BEARING),), colour=(111, 96, 87)),
    _row("breaker", "BK", "surface", carried=((_UNDER, BEARING),), also="fine", but="stair section",
         colour=(123, 107, 97)),
    _row("fascia", "FA", "trim", carried=((("rim", "joist"), ANY),), load=DEAD_LOAD, fastened=(),
         also="laid with gaps; trim board"),
    _row("stringer", "S", "stairs",
         carried=((("pad", "joist", "rim", "beam"), BEARING), (("rim", "stair header", "post", "beam"), ANY)),
         also="stringer; framing plan", but="surface plan", layer="S-STRS", colour=(196, 169, 124),
         ifc=("Member", "STRINGER")),
    _row("hip stringer", "HS", "stairs", carried=((("pad",), BEARING), (("hip block", "post", "beam"), ANY)),
         also="stringer; mitred steps; framing plan; plies", but="surface plan", layer="S-STRS", colour=(196, 169, 124),
         ifc=("Member", "STRINGER")),
    _row("jack stringer", "JS", "stairs", carried=((("pad",), BEARING), (("jack block", "post", "beam"), ANY)),
         also="stringer; mitred steps; framing plan", but="surface plan", layer="S-STRS", colour=(196, 169, 124),
         ifc=("Member", "STRINGER")),
    _row("hip block", "KH", "stairs", carried=((("rim", "stair header", "post", "beam"), ANY),),
         also="framing plan; fine", but="surface plan", layer="S-STRS", colour=(172, 182, 148)),
    _row("jack block", "KS", "stairs", carried=((("hip stringer", "hip block"), ANY),), also="framing plan; fine",
         but="surface plan", layer="S-STRS", colour=(172, 182, 148)),
    _row("step frame", "SF", "stairs", carried=((("pad", "footing", "step frame"), BEARING), (("step frame",), END)),
         also="framing plan; takes screws", but="surface plan; template", layer="S-STRS", colour=(196, 169, 124)),
    _row("tread", "T", "stairs", carried=(((*_STRINGERS, "tread blocking", "step frame"), BEARING),),
         also="laid with gaps; site plan; notch card"),
    _row("riser", "RI", "stairs", carried=(((*_STRINGERS, "rim", "stair header", "step frame"), ANY),),
         also="trim board", colour=(173, 158, 145)),
    _row("skirt", "SK", "stairs", carried=((("stringer", "step frame"), ANY),), also="notch card; trim board",
         layer="S-STRS", colour=(133, 117, 106), ifc=("Covering", "CLADDING")),
    _row("tread blocking", "KT", "stairs", carried=((("stringer", "step frame"), ANY),), also="takes screws; fine",
         but="surface plan; template", layer="S-STRS", colour=(172, 182, 148)),
    _row("guard post", "GP", "guards", also="stands; surface plan; framing plan; takes guard loads; holds rails",
         layer="S-COLS-GPST",
         carried=((("rim", "ledger", "post blocking", "stringer", "step frame"), ANY), (("pad",), BEARING)),
         ifc=("Member", "POST")),
    _row("top rail", "TR", "guards", carried=(((*_GUARD_POST, "rail bracket"), ANY),),
         also="surface plan; takes guard loads", colour=(96, 109, 113)),
    _row("bottom rail", "BR", "guards", carried=(((*_GUARD_POST, "rail bracket", "foot block"), ANY),),
         also="takes guard loads", colour=(104, 117, 121)),
    _row("baluster", "BA", "guards", carried=((("bottom rail", "top rail"), ANY),), also="fine; takes guard loads",
         colour=(139, 150, 152)),
    _row("rail bracket", "RB", "guards", carried=((_GUARD_POST, ANY),), also="bought whole; fine; holds rails",
         colour=(92, 103, 107), ifc=("DiscreteAccessory", USER)),
    _row("handrail", "H", "guards", carried=(((*_GUARD_POST, "handrail"), ANY),), also="surface plan",
         but="bars; frame section", colour=(84, 94, 99)),
    _row("foot block", "FB", "guards", carried=(((*_WALKED, "tread"), BEARING),), also="fine", colour=(128, 139, 141)),
    _row("sleeve stop", "PT", "guards", carried=((("guard post",), ANY),), colour=(126, 138, 140), but="bars",
         also="fine", fastened=(("framing screw", ("guard post",)),)),
    _row("post sleeve", "PS", "guards",
         carried=(((*_WALKED, "tread", "pad", "sleeve stop"), BEARING), (("guard post",), ANY)),
         also="surface plan; bought whole; holds rails", colour=(126, 138, 140), ifc=("Covering", "CLADDING")),
    _row("post cap", "PC", "guards", carried=((_GUARD_POST, BEARING),), also="surface plan; bought whole; fine",
         but="bars", colour=(92, 103, 107), ifc=("DiscreteAccessory", USER)),
    _row("bench frame", "BF", "built-ins", carried=((("bench frame", *_WALKED), BEARING),), colour=(148, 132, 108),
         fastened=(("framing screw", ("bench frame", *_WALKED)),), but="surface plan"),
    _row("bench seat", "BN", "built-ins", carried=((("bench frame",), BEARING),), load=SEAT_LOAD,
         fastened=(("deck screw", ("bench frame",)),), also="laid with gaps"),
    _row("skirting rail", "SR", "built-ins", load=OWN_WEIGHT, but="surface plan", colour=(148, 132, 108),
         carried=((("rim",), HUNG), (("skirting board",), ANY)), fastened=(("framing screw", ("rim",)),)),
    _row("skirting board", "SB", "built-ins", load=OWN_WEIGHT, but="surface plan", also="fine", colour=(142, 124, 108),
         carried=((("skirting rail", "beam"), ANY),), fastened=(("deck screw", ("skirting rail", "beam")),)),
]  # fmt: skip
_BY_NAME = {r.name: r for r in _ROWS}
ROLES: Mapping[str, Role] = MappingProxyType(_BY_NAME)


@cache
def named(*traits: str) -> tuple[str, ...]:
    """The roles that have any of these traits, in the order of the rows. KeyError for a trait that is none."""
    for t in traits:
        _ = TRAITS[t]
    return tuple(r.name for r in ROLES.values() if r.traits & set(traits))


@cache
def in_group(*groups: str) -> tuple[str, ...]:
    """The roles of these groups, in the order of the rows."""
    return tuple(r.name for r in ROLES.values() if r.group in groups)
