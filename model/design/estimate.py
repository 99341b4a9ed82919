"""What a frame would cost, worked out on the plan alone: by this a few frames are picked out of some hundreds, before
any of them is built and checked.

Costs are those of `costs`, as `designed` counts the frame that is built. An estimate decides only what is looked at
first; what passes is for the checks of the finished solids.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from ...shared.practice import estimate
from ...shared.standards import joist_overhang, joist_span
from ...shared.stock import Stock
from ..input.parameters import Parameters
from ..plan.long_spans import calculated_joist_span, heaviest
from ..plan.stages import LevelPlan
from ..plan.support_plan import OVERHANG, allowed_span, footing_for
from ..strength.loads import OCCUPANTS
from ..strength.nds import Lumber, bending
from ..strength.spans import JOIST_OVERHANG_SHARE, OVERHANG_SHARE, longest_joist_overhang, section
from ..structure.members import SQFT
from .costs import Costs
from .joist_rows import JoistRows, rows_of
from .landing_keys import MOST_PLIES
from .mends import BEAMS, JOISTS, SPACINGS
from .stair_rims import RIM_PLIES
from .straight_lines import LineSets, Overhang, line_sets

BEAM_PLIES = (2, 3)
WORTH_IT = 0.97  # of the cost of the plan's own frame, above which no other is looked for: our own
RIM_THICK = (
    1.5  # inches: a joist that ends so little past its beam, where the rim stands, hangs past it by nothing (our own)
)
RIMS_FOR_HUNG = (
    2.0  # times the timber of joists that hang between slanted rims, which these are made stronger for; our own
)
UNSEEN_ON_RIMS = 1.3  # times what hangs on slanted rims, with stairs and borders that an estimate leaves out; our own
NOT_HELD = (0.6, 0.85)  # of a rim's bending value over a beam, of one ply and of more, the lower edge free; our own
KEPT = 0.5  # inches: to what places of beams and cantilevers are rounded
UNUSED = (
    0.97  # of a published overhang or span that an estimate fills: the solids are measured a little otherwise; our own
)


@dataclass(frozen=True)
class Estimated:
    """A frame by the keys that make it, with what it would cost, its posts and its depth in inches; `adds` cubic inches
    of timber that it has more than the plan's own (below 0: less)."""

    keys: Mapping[str, object]
    cost: float
    posts: int
    depth: float
    instead: float  # what the frame of the plan itself would cost
    adds: float

    @property
    def worth_it(self) -> bool:
        """Whether it would be cheaper by so much that it is built before the plan's own."""
        return self.cost <= WORTH_IT * self.instead


def estimated(layout: LevelPlan, given: Set[str], costs: Costs) -> list[Estimated]:
    """The frames on straight beams under the joists that would do instead of a plan's own, cheapest first. None where
    the file says where its beams lie, or they are flush."""
    p = layout.parameters
    now = _Frame.of(layout, costs)
    barred = {"beam_lines", "beam_position", "beam_line_position"} & given
    if "cantilever" in given and p.frame.cantilever > 0:
        barred.add("cantilever")  # the beam stands so far in as the file has it; none at all is a bound like others
    if barred or layout.flush or any(r.flush for r in layout.runs) or not layout.joist_lines:
        return []
    found: list[Estimated] = []
    for joist, spacing in itertools.product(_sizes(p, layout, given), _spacings(p, layout, given)):
        least = now.timber(p.stock(joist), layout.joist_spacing / spacing, 0.0) + 2 * costs.footing
        if least < min((e.cost for e in found), default=math.inf):
            found += _on_lines(now, joist, spacing, given)
    return sorted(found, key=lambda e: e.cost)


def by_estimate(layout: LevelPlan, given: Set[str], costs: Costs) -> float:
    """What the plan's own frame would cost, or the cheapest of those that would do instead of it."""
    return min([_Frame.of(layout, costs).cost, *(e.cost for e in estimated(layout, given, costs)[:1])])


def _sizes(p: Parameters, layout: LevelPlan, given: Set[str]) -> list[str]:
    return [p.frame.joist] if "joist" in given or p.frame.joist not in JOISTS else list(JOISTS)


def _spacings(p: Parameters, layout: LevelPlan, given: Set[str]) -> list[float]:
    """The spacing of the plan and the printed ones below it; none wider, as the boards asked for it."""
    now = layout.joist_spacing
    return [now] if "joist_spacing" in given else [now, *(s for s in SPACINGS if s < now - 1e-9)]


@dataclass(frozen=True)
class _Frame:
    """The frame of a plan in the numbers that an estimate is made of: square inches of plan, inches, counts."""

    layout: LevelPlan
    rows: JoistRows
    joists: float  # square inches of plan
    rims: float
    beams: float
    costs: Costs

    @classmethod
    def of(cls, layout: LevelPlan, costs: Costs) -> _Frame:
        return cls(
            layout,
            rows_of(layout),
            sum(q.area for _, q in layout.joist_lines),
            sum(q.area for _, _, q in layout.rims),
            sum(q.area for r in layout.runs for q in r.plies),
            costs,
        )

    @property
    def cost(self) -> float:
        along = sum(r.length for r in self.layout.runs)
        own = [s for s in self.layout.footings if any(t.stair is None for t in s.stands)]  # a stair keeps its own
        footings = sum(self.costs.of_footing(s.size) for s in own)
        beams = self.costs.timber(self.layout.beam.name, self.beams * self.layout.beam.width)
        deep = self.costs.depth * (self.layout.joist.width + self.layout.beam.width)
        return self.timber(self.layout.joist, 1.0, along) + (beams + footings) * self.loaded + deep

    @property
    def loaded(self) -> float:
        """Times as much as under its uniform loads alone the deck weighs with those of areas, of which the plan's own
        beams and footings know nothing."""
        p, whole = self.layout.parameters, self.layout.outline.polygon
        more = sum(a.psf * whole.intersection(Polygon(a.polygon)).area for a in p.area_load)
        return 1 + more / ((heaviest(p) + p.loads.dead_psf) * whole.area)

    def volume(self, joist: Stock, closer: float) -> float:
        """Cubic inches of joists and rims of some stock, with `closer` times as many joists as the plan has."""
        return joist.width * (self.joists * closer + self.rims)

    @property
    def own_volume(self) -> float:
        """Cubic inches of the plan's own frame."""
        l = self.layout
        blocks = sum(r.length for r in l.runs) * l.joist.thickness * l.parameters.frame.blocking_at_beams
        return self.volume(l.joist, 1.0) + blocks * l.joist.width + self.beams * l.beam.width

    def timber(self, joist: Stock, closer: float, beam_length: float) -> float:
        """What joists, rims and the blocking over beams cost of some stock, with `closer` times as many joists as the
        plan has."""
        blocks = beam_length * joist.thickness if self.layout.parameters.frame.blocking_at_beams else 0.0
        return self.costs.timber(joist.name, joist.width * (self.joists * closer + self.rims + blocks))


def _on_lines(now: _Frame, joist: str, spacing: float, given: Set[str]) -> Iterator[Estimated]:
    """The cheapest set of each number of lines, whatever the beam; where joists hang between slanted rims also that
    which asks for no more plies of these than the file has, and that which is cheapest when these are to be made
    stronger for it in other ways."""
    layout, p = now.layout, now.layout.parameters
    span, overhang = _limits(p, joist, spacing)
    asked = RIM_THICK if "cantilever" in given else None
    stock = p.stock(joist)
    width = layout.beam.thickness * p.frame.beam_plies
    # what hangs in corners between slanted rims asks for the deepest: no other is tried with it
    hung = joist == _sizes(p, layout, given)[-1]
    longest = _under_more(now, stock, spacing, span)
    overhang = _no_more_than(overhang, asked)
    most_rims = p.frame.rim_plies if RIM_PLIES in given else MOST_PLIES
    weighs = now.rows.weighs_more(heaviest(p) + p.loads.dead_psf)
    for sets in line_sets(now.rows, width, longest, overhang, OVERHANG_SHARE * UNUSED, hung, weighs):
        best: dict[int, tuple[float, Estimated]] = {}  # by what hung joists are taken to cost, what it weighs
        rims = np.maximum(_rim_plies(p, stock, sets.rims * layout.joist_spacing), p.frame.rim_plies)
        for beam, plies in _beams(p, given):
            size = p.stock(beam)
            costs, posts, volume = _of_beams(now, sets, beam, plies, stock)
            timber = now.timber(stock, layout.joist_spacing / spacing, 0.0)
            timber += now.costs.depth * (stock.width + size.width)
            seats = now.costs.footing * sets.grazed
            more = now.costs.timber(joist, stock.width * now.rims / p.frame.rim_plies) * (rims - p.frame.rim_plies)
            whole = np.where(rims <= most_rims, costs + more + seats, np.inf)
            spared = now.costs.timber(joist, RIMS_FOR_HUNG * stock.thickness * stock.width) * sets.hung
            few = np.where(rims <= p.frame.rim_plies, whole, np.inf)
            for way, all_told in enumerate((few, whole, whole + spared) if sets.hung.any() else (whole,)):
                k = int(np.argmin(all_told))
                least = timber + float(all_told[k])
                if least >= best.get(way, (math.inf,))[0]:
                    continue
                keys = {"joist": joist, "joist_spacing": spacing, "beam": beam, "beam_plies": plies}
                keys |= {RIM_PLIES: int(rims[k])} if rims[k] > p.frame.rim_plies else {}
                keys |= _as_keys(now, [float(x) for x in sets.places[k]], width, "cantilever" in given)
                kept = {name: v for name, v in keys.items() if v != _now(layout, name)}
                adds = now.volume(stock, layout.joist_spacing / spacing) + float(volume[k]) - now.own_volume
                depth, cost = stock.width + size.width, timber + float(costs[k] + more[k])
                best[way] = least, Estimated(kept, cost, int(posts[k]), depth, now.cost, adds)
        yield from {str(frame.keys): frame for _, frame in best.values()}.values()


def _rim_plies(p: Parameters, joist: Stock, moments: np.ndarray) -> np.ndarray:
    """(n,) plies of rims that moments, cubic inches under a load of 1, ask for over a beam."""
    load = UNSEEN_ON_RIMS * (heaviest(p) + p.loads.dead_psf) / SQFT
    holds = bending(Lumber.of(p.lumber), joist, OCCUPANTS, False).value * section(joist)[2]
    one, more = (moments * load / (holds * held) for held in NOT_HELD)
    return np.where(one <= 1, 1, np.maximum(np.ceil(more), 2)).astype(int)


def _now(layout: LevelPlan, key: str) -> object:
    return layout.joist_spacing if key == "joist_spacing" else getattr(layout.parameters.frame, key)


def _no_more_than(overhang: Overhang, asked: float | None) -> Overhang:
    """The overhang by table, or what the file asks for where that is less."""
    return overhang if asked is None else lambda behind: np.minimum(overhang(behind), asked)


def _as_keys(now: _Frame, places: list[float], width: float, given: bool) -> dict[str, object]:
    """The key that lays beams there: a single one behind the only edge across the joists is a cantilever, unless the
    file has that `given`."""
    layout = now.layout
    behind = [r for r in layout.runs if r.edge is not None]
    if len(places) == 1 and len(behind) == 1:
        edge = layout.outline[str(behind[0].edge)]
        if edge.parallel_to(layout.across) and not given:
            at = float(np.dot(edge.start, now.rows.along)) - now.rows.begin
            return {"cantilever": math.floor((abs(places[0] - at) - width / 2) / KEPT) * KEPT}
    return {"beam_lines": now.rows.from_low_end(layout, places)}


def _beams(p: Parameters, given: Set[str]) -> list[tuple[str, int]]:
    sizes = [p.frame.beam] if "beam" in given or p.frame.beam not in BEAMS else list(BEAMS)
    plies = [p.frame.beam_plies] if "beam_plies" in given else list(BEAM_PLIES)
    return list(itertools.product(sizes, plies))


def _limits(p: Parameters, joist: str, spacing: float) -> tuple[float, Overhang]:
    """The longest clear span of a joist by table and calculation, and its longest overhang past a span."""
    edition, wood, stock = p.local.edition, Lumber.of(p.lumber), p.stock(joist)
    row = joist_span(p.lumber.species, joist, spacing, edition, heaviest(p))
    longest = min([calculated_joist_span(p, stock, spacing), *([row.value] if row else [])]) * UNUSED
    steps = np.arange(0.0, longest + 12.0, 6.0)
    allowed = [longest_joist_overhang(wood, stock, float(s)).value if s else 0.0 for s in steps]
    for k, s in enumerate(steps):
        table = joist_overhang(p.lumber.species, joist, spacing, float(s), edition, heaviest(p))
        allowed[k] = min(allowed[k], table.value if table else 0.0) * UNUSED

    def overhang(behind: np.ndarray) -> np.ndarray:
        return np.interp(behind, steps, allowed)

    return longest, overhang


def _under_more(now: _Frame, joist: Stock, spacing: float, span: float) -> np.ndarray:
    """(n,) the longest span of each joist, shorter where a load of an area stands on it too."""
    more = now.rows.more_load(span)
    p = now.layout.parameters
    known = {x: calculated_joist_span(p, joist, spacing, x) * UNUSED**2 if x else span for x in set(more.tolist())}
    return np.array([min(span, known[x]) for x in more.tolist()])


def _of_beams(
    now: _Frame, sets: LineSets, beam: str, plies: int, joist: Stock
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(n,) cost of the beams of each set with their posts and the blocks over them, the number of posts, and the cubic
    inches of beams and blocks."""
    layout = now.layout
    p = layout.parameters
    size = p.stock(beam)
    places, at = np.unique(sets.places, return_inverse=True)
    feet, of = np.unique(
        np.ceil(np.maximum(sets.carried / JOIST_OVERHANG_SHARE, sets.spans) / 12.0), return_inverse=True
    )
    pieces = [now.rows.line_lengths(float(x)) for x in places]
    spacing = [_post_spacing(p, beam, plies, max(float(j), 1.0) * 12.0) for j in feet]
    stands = [[[_bays(length, s) for length in found] for s in spacing] for found in pieces]
    posts = np.array([[sum(n for n, _ in found) for found in row] for row in stands])
    taken = np.array([[max((feet for _, feet in found), default=0.0) for found in row] for row in stands])
    whole, blocks = plies * size.thickness * size.width, joist.thickness * joist.width * p.frame.blocking_at_beams
    section = now.costs.timber(beam, whole) + now.costs.timber(joist.name, blocks)
    lengths = np.array([sum(found) for found in pieces])
    at, of = at.reshape(sets.places.shape), of.reshape(sets.places.shape)
    stood = posts[at, of].sum(axis=1)
    # all footings are as large as the one that carries most
    area = np.ceil((taken[at, of] * sets.carried / 12.0).max(axis=1))
    each, which = np.unique(area, return_inverse=True)
    size_of = p.frame.footing.size
    footing = np.array([now.costs.of_footing(size_of or footing_for(p, float(sqft))) for sqft in each])[which]
    length = lengths[at].sum(axis=1)
    return length * section + footing * stood, stood, length * (whole + blocks)


def _bays(length: float, spacing: float) -> tuple[int, float]:
    """The posts under a beam, and the feet of it that the one which takes most carries."""
    bays, past = 1, min(OVERHANG, length / 6)
    while length - 2 * past > bays * spacing + 1e-9:
        bays += 1
        past = min(OVERHANG, length / (4 * bays + 2))
    bay = (length - 2 * past) / bays
    end = (bay / 2 + past) * estimate("reaction at a beam's end")
    return bays + 1, max(end, bay * estimate("reaction between two beam spans") if bays > 1 else 0.0) / 12.0


def _post_spacing(p: Parameters, beam: str, plies: int, joists: float) -> float:
    if p.frame.post_spacing is not None:
        return p.frame.post_spacing
    return allowed_span(
        Lumber.of(p.lumber),
        p.stock(beam),
        plies,
        joists,
        max(p.loads.live_psf, p.loads.ground_snow_psf),
        p.loads.dead_psf,
        p.local.edition,
        p.stock(p.frame.post).width,
    )
