"""What each kind of piece is in IFC4: its class, predefined type and quantity set. Names are the open standard's own.

Where the standard has no word for a kind of piece, its type is USERDEFINED and carries ours.
"""

from __future__ import annotations

from dataclasses import dataclass

from ...model.solid.part import Part

USER = "USERDEFINED"


@dataclass(frozen=True)
class Kind:
    """`entity` without its Ifc, `type` a value of that entity's predefined types, `quantities` the standard set's
    name."""

    entity: str
    type: str = USER

    @property
    def quantities(self) -> str:
        return f"Qto_{self.entity}BaseQuantities" if self.entity not in ("DiscreteAccessory",) else ""


_BY_ROLE: dict[str, Kind] = {
    "post base": Kind("DiscreteAccessory", "SHOE"),
    "post": Kind("Column", "COLUMN"),
    "beam": Kind("Beam", "BEAM"),
    "joist": Kind("Beam", "JOIST"),
    "ledger": Kind("Beam"),
    "rim": Kind("Beam"),
    "stair header": Kind("Beam"),
    "blocking": Kind("Member"),
    "border blocking": Kind("Member"),
    "post blocking": Kind("Member"),
    "board": Kind("Covering", "FLOORING"),
    "border": Kind("Covering", "FLOORING"),
    "breaker": Kind("Covering", "FLOORING"),
    "fascia": Kind("Covering", "CLADDING"),
    "skirt": Kind("Covering", "CLADDING"),
    "stringer": Kind("Member", "STRINGER"),
    "tread": Kind("Member"),
    "riser": Kind("Member"),
    "tread blocking": Kind("Member"),
    "guard post": Kind("Member", "POST"),
    "top rail": Kind("Member"),
    "bottom rail": Kind("Member"),
    "baluster": Kind("Member"),
    "handrail": Kind("Member"),
    "foot block": Kind("Member"),
    "post sleeve": Kind("Covering", "CLADDING"),
    "post cap": Kind("DiscreteAccessory"),
}


def kind(part: Part) -> Kind:
    """The IFC kind of a piece."""
    if part.role == "footing":
        return Kind("Footing", "PAD_FOOTING" if part.shape.circle is None else "CAISSON_FOUNDATION")
    if part.role == "pad":
        return Kind("Slab", "BASESLAB" if part.stair is None else "LANDING")
    return _BY_ROLE[part.role]
