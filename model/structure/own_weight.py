"""The calculation of members, posts and footings once more with another dead load: what then is not met. Their unit
loads are those of the load path that is known. Pounds a square foot."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from .column_checks import check_footing, check_post
from .member_checks import check_member
from .structure import Structure
from .verdicts import NOT_MET, Verdict


@dataclass(frozen=True)
class GivenLoads:
    """Uniform loads and the soil's bearing, pounds a square foot."""

    dead_psf: float
    live_psf: float
    ground_snow_psf: float
    soil_bearing_psf: float


def over_with(
    s: Structure, dead_psf: float, grade: Callable[[float, float], float] | None
) -> Iterator[tuple[str, Verdict]]:
    """(id of the first piece, check) of what is not met with `dead_psf` in place of the dead load given, and is with
    that."""
    loads = GivenLoads(dead_psf, s.loads.live_psf, s.loads.ground_snow_psf, s.loads.soil_bearing_psf)
    known = {(r.ids[0], v.check) for r in s.results for v in r.calculation if v.result == NOT_MET}
    found = [(m.first.id, check_member(m, s.lumber, loads, s.edition)) for m in s.path.members]
    found += [(c.post.id, check_post(c, s.lumber, loads)) for c in s.path.columns if c.post is not None and c.loaded]
    for c in s.path.on_footings():
        assert c.footing is not None, "`on_footings` gives columns with a footing"
        found.append((c.footing.id, check_footing(c, loads, s.edition, grade)))
    for first, checks in found:
        yield from ((first, v) for v in checks if v.result == NOT_MET and (first, v.check) not in known)
