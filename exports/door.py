"""What Python users get: a deck from a file, with its checks, its quantities and a cadquery assembly.

`import plumbcut` leads here; nothing costs the kernel's import until a deck is built.
"""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from ..model import deck as _deck
from ..model.design.advised import checked_with_mends
from ..model.design.designed import designed
from ..model.input.parameters import Parameters
from ..model.measuring.measure import Measured, measure_all
from ..model.order.quantities import QuantityLine, quantities
from ..model.parameter_file import read
from ..model.rules.check_result import CheckResult
from .formats.solids import nested
from .pictures.colours import colour, linear

if TYPE_CHECKING:
    import cadquery as cq


class Deck(_deck.Deck):
    """A built deck. `parts` are its pieces; what is measured, checked and counted is worked out when it is first asked
    for."""

    @cached_property
    def measured(self) -> list[Measured]:
        """What the solid of every piece measures, in the order of `parts`; inches, square and cubic inches, degrees."""
        return measure_all(self.parts)

    @cached_property
    def checks(self) -> list[CheckResult]:
        """Published rules against measured geometry: met, not met or not checked. None of them is an approval."""
        return checked_with_mends(self, self.measured)

    @cached_property
    def quantities(self) -> list[QuantityLine]:
        """The take-off: one line for each role and stock, with counts, lengths, areas, volumes and weights."""
        return quantities(self.measured)

    def assembly(self) -> cq.Assembly:
        """The deck as a cadquery assembly in inches: groups, roles in them, pieces in these, each named by its id and
        coloured; identical pieces are one shape at many places."""
        import cadquery as cq

        whole = cq.Assembly(name="deck")
        for group, roles in nested(self.parts).items():
            in_group = cq.Assembly(name=group)
            for role, parts in roles.items():
                in_role = cq.Assembly(name=f"{group}: {role}")
                for part in parts:
                    tone = cq.Color(*linear(colour(part)), 1.0)
                    in_role.add(part.shape.solid, name=part.id, loc=part.place.location, color=tone)
                in_group.add(in_role)
            whole.add(in_group)
        return whole


def load(path: str | Path) -> Parameters:
    """The parameters of a TOML file. Raises InputError with one fault for each thing wrong with it: file, line, key,
    what was given, what is allowed."""
    return read(path)


def build(parameters: Parameters) -> Deck:
    """The deck of some parameters. Raises DesignError, naming the key, where it cannot be drawn."""
    made = designed(parameters).deck
    whole = Deck(made.parameters, made.levels, made.parts, made.notes, made.chosen)
    whole.__dict__.update({k: v for k, v in made.__dict__.items() if k not in whole.__dict__})
    return whole
