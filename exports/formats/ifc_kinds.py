"""What each kind of piece is in IFC4: its class, predefined type and quantity set. Names are the open standard's own.

Where the standard has no word for a kind of piece, its type is USERDEFINED and carries ours.
"""

from __future__ import annotations

from dataclasses import dataclass

from ...model.solid.part import Part
from ...model.solid.roles import ROLES, USER


@dataclass(frozen=True)
class IfcKind:
    """`entity` without its Ifc, `type` a value of that entity's predefined types, `quantities` the standard set's
    name."""

    entity: str
    type: str = USER

    @property
    def quantities(self) -> str:
        return f"Qto_{self.entity}BaseQuantities" if self.entity not in ("DiscreteAccessory",) else ""


def kind(part: Part) -> IfcKind:
    """The IFC kind of a piece: its role's, of its own type where it is round or a stair's."""
    role = ROLES[part.role]
    entity, usual = role.ifc
    round_type = role.ifc_round if part.shape.circle is not None else ""
    return IfcKind(entity, (role.ifc_stair if part.stair is not None else "") or round_type or usual)
