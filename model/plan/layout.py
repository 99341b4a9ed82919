"""The plan of a whole deck: what every room of the model agrees on before a solid is made.

The rooms know each other only through this: the outline and its edges, the reference planes, where joists run, where
the surface, its border and its field lie, which strips under it want support, where guard posts, stairs, beams and
footings stand. `stages` says what each stage holds.
"""

from __future__ import annotations

import contextlib

import numpy as np
from shapely.geometry import Polygon

from ...shared.errors import DesignError
from ...shared.points import pair
from ..input.parameters import Parameters
from ..input.surveyed import surveyed
from .area_loads import check_area_loads
from .begin_at import ends_to_begin_at
from .board_runs import lay_field
from .border_and_field import crosses, given_direction, plan_surface
from .clear_of_posts import check_design
from .edges import FrameOutline, still
from .footings import TooLow
from .guard_need import guard_edges
from .handrail_posts import rails_keep_aside
from .house_places import check_at_wall
from .joist_plan import rims, running_on, set_out_joists
from .joist_spacing import joist_spacing
from .post_plan import behind_tipping_headers, fixed_posts, plan_posts
from .roof_snow import roof_snow
from .spots import Planes, PostSpot
from .stages import Entered, LevelPlan, Setting, Stepped, grown
from .stair_plan import plan_stair
from .stair_spots import plan_stairs
from .stairs_run_clear import HouseEnds
from .support_plan import in_ground, supported
from .would_do import outline_found, value_found

ABOUT_AS_MUCH = 0.9  # of the most edge that lies square to joists, from which these need not be turned; our own
SHORTEST_EDGE = 6.0  # inches: on a shorter one no rim is nailed at both ends (common practice, no source)


def _round_their_middle(points: list[tuple[float, float]]) -> list[list[float]] | None:
    """The same corners in the order in which they lie round their middle, which crosses nothing; None where even so
    they have no area."""
    ring = np.asarray(points)
    away = ring - ring.mean(axis=0)
    order = np.lexsort((np.hypot(*away.T), np.arctan2(away[:, 1], away[:, 0])))
    turned = [list(points[i]) for i in np.roll(order, -int(np.flatnonzero(order == 0)[0]))]
    there = Polygon(turned)
    return turned if there.is_valid and there.area > 0 else None


def read_outline(p: Parameters) -> FrameOutline:
    """The outline of a parameter file. Raises DesignError for a crossing outline, odd names or an unknown house
    edge."""
    o = p.outline
    points = [pair(q) for q in o.corners]
    names = list(o.names)
    if len(names) != len(points):
        more = [n for k in range(len(points)) if (n := f"e{k + 1}") not in names]
        enough = [*names, *more][: len(points)]
        raise DesignError("outline.edges", f"got {len(names)} names for {len(points)} edges", ("outline.edges", enough))
    if len(set(names)) != len(names):
        apart = [n if names.index(n) == k else f"{n}-{k + 1}" for k, n in enumerate(names)]
        raise DesignError("outline.edges", "two edges have the same name", ("outline.edges", apart))
    ring = Polygon(points)
    if not ring.is_valid or ring.area <= 0:
        round_about = _round_their_middle(points) if o.points is not None else None
        raise DesignError(
            "outline.points",
            "the outline crosses itself or has no area",
            ("outline.points", round_about) if round_about else None,
        )
    if not ring.exterior.is_ccw:
        turned = [list(q) for q in reversed(points)]
        raise DesignError(
            "outline.points", "the corners run clockwise; list them counter-clockwise", ("outline.points", turned)
        )
    house = o.house if o.house is not None else (["back"] if o.points is None else [])
    for name in house:
        if name not in names:
            there = [n for n in house if n in names] or [names[0]]
            raise DesignError(
                "outline.house", f"no edge {name!r}; the edges are {', '.join(names)}", ("outline.house", there)
            )
    outline = FrameOutline(points, names, set(house))
    short = next((e for e in outline.edges if e.length < SHORTEST_EDGE), None)
    if short is not None:
        key = "outline.points" if o.points is not None else "outline.depth" if short.index % 2 else "outline.width"
        key = "outline.clip" if o.clipped else key
        raise DesignError(key, f"edge {short.name} is only {short.length:g} in long; the least is {SHORTEST_EDGE:g} in")
    if p.frame.support == "ledger" and not house:
        raise DesignError(
            "frame.support",
            "a ledger needs a house edge, and outline.house names none",
            ("frame.support", "free-standing"),
        )
    return outline


def drawn_outline(p: Parameters) -> FrameOutline:
    """The same, and a DesignError names values with which the whole deck is drawn, where there are any."""
    try:
        return read_outline(p)
    except DesignError as refused:
        found = () if refused.values else outline_found(p, refused, SHORTEST_EDGE, _beams_where_they_fit)
        if not found:
            raise
        raise DesignError(refused.key, refused.reason, values=found) from refused


def _directions(p: Parameters, outline: FrameOutline) -> tuple[np.ndarray, np.ndarray]:
    """Unit vectors along the joists and across them. Not given, they run square to the first house edge; where the file
    turns the boards that way, along it."""
    x, y = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    if p.design.joists_along is not None and p.design.joists_along in outline:
        way = outline[p.design.joists_along].direction
        along = way * np.sign(way[_leading(way)]) + 0.0
        return along, np.array([along[1], -along[0]] if _leading(along) == 1 else [-along[1], along[0]]) + 0.0
    if p.frame.joist_direction != "auto":
        return (x, y) if p.frame.joist_direction == "x" else (y, x)
    wall = next((e.direction for e in outline.edges if e.house), None)
    wall = _with_most_edges(outline) if wall is None else wall
    across = wall * np.sign(wall[_leading(wall)]) + 0.0
    along = np.array([-across[1], across[0]] if _leading(wall) == 0 else [across[1], -across[0]]) + 0.0
    stands = surveyed(p)
    boards = given_direction(p)
    if boards is not None and not (stands and stands.joists) and not crosses(boards, along):
        return across, along  # square to the boards, along the house
    return along, across


def _with_most_edges(outline: FrameOutline) -> np.ndarray:
    """Square to the joists of a deck without a house: so that most of its edge lies along the joists or square to them;
    x where about as much of it does so then."""
    ways = [way for e in outline.edges for way in (np.array([-e.direction[1], e.direction[0]]), e.direction)]

    def true(way: np.ndarray) -> float:
        return sum(e.length for e in outline.edges if e.parallel_to(way) or e.parallel_to((-way[1], way[0])))

    best = max(ways, key=lambda way: (round(true(way), 3), round(abs(float(way[0])), 6)))
    x = np.array([1.0, 0.0])
    return x if true(x) >= ABOUT_AS_MUCH * true(best) else best


def _leading(vector: np.ndarray) -> int:
    """0 where a plan vector runs more along x, 1 where more along y: its sign is that of this component, so that a
    deck turned by 90 degrees keeps the order of its pieces."""
    return int(abs(vector[1]) > abs(vector[0]) + 1e-9)


def _surveyed_directions(p: Parameters, along: np.ndarray, across: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The mean direction of the joists as they lie, and square to it."""
    stands = surveyed(p)
    if not stands or not stands.joists:
        return along, across
    ways = [np.subtract(*j.line[::-1]) for j in stands.joists]
    mean = sum(w * np.sign(w @ along) for w in ways)
    mean = mean / np.hypot(*mean)
    side = np.array([mean[1], -mean[0]])
    return mean, side * np.sign(side @ across)


def setting(p: Parameters, flush: bool = False, wall_ends: bool = False) -> Setting:
    """The first stage; `wall_ends`: the house's wall ends with its edges. Raises DesignError for an outline that cannot
    be drawn, or too narrow for its rims."""
    outline = read_outline(p)
    if wall_ends:
        outline.wall_runs_on = 0.0
    joist = p.stock(p.frame.joist)
    top = p.surface_level - p.surface.board_thickness
    planes = Planes(p.surface_level, top, top - joist.width, p.levels.grade, p.levels.slope_x, p.levels.slope_y)
    along, across = _surveyed_directions(p, *_directions(p, outline))
    spacing = joist_spacing(p, along, across)
    stands = surveyed(p)
    # a frame that stands was set out as its design is
    signs = stands.ends if stands else ends_to_begin_at(outline, p, planes, along, across)
    ends = still(across * signs[0]), still(along * signs[1])
    made = Setting(p, outline, planes, still(along), still(across), joist, flush, spacing, ends)
    _ = made.inner  # a deck too narrow for its rims is refused here
    return made


def lay_out(p: Parameters) -> LevelPlan:
    """The whole plan of one parameter file. Raises DesignError, naming the key and where there is one a value that
    would do, for a design that cannot be drawn.
    """
    if p.area_load:
        check_area_loads(p.area_load, drawn_outline(p).polygon)
    if p.house.at_wall:
        check_at_wall(p, drawn_outline(p))
    check_design(p, drawn_outline(p))
    if p.loads.roof_above is not None:
        roof_snow(p, drawn_outline(p))  # an edge that there is not is refused here
    try:
        return _beams_where_they_fit(p)
    except DesignError as refused:
        if refused.values:
            raise
        outline = drawn_outline(p)
        if refused.key.startswith("outline."):
            raise
        x0, y0, x1, y1 = outline.polygon.bounds
        free = tuple(e.name for e in outline.edges if not e.house)
        found = value_found(p, refused, free, max(x1 - x0, y1 - y0), _beams_where_they_fit, _allowed)
        if not found:
            raise
        raise DesignError(refused.key, refused.reason, values=found) from refused


def _allowed(plan: LevelPlan, key: str) -> bool:
    """Whether a plan drawn with another value of a key keeps to the rule that this key could break: beside a stair as
    wide as its edge posts in the corners push the handrail in."""
    head, _, last = key.rpartition(".")
    widened = head.startswith("stair.") and last == "width"
    return not widened or rails_keep_aside(plan, plan.stair_plans[int(head[6:])])


def _beams_where_they_fit(p: Parameters) -> LevelPlan:
    """The whole plan. Where the file does not say how the beams lie they are under the joists, and flush where that
    leaves them in the ground or without their bearing. Those that lie in the ground even so are drawn there: a check
    says it.
    """
    asked = p.frame.beam_position
    other = "beam" in p.frame.model_fields_set and p.frame.beam != p.frame.joist
    if asked == "flush" and other and "under" not in p.frame.beam_line_position.values():
        raise DesignError(
            "frame.beam",
            f"is {p.frame.beam}, and a flush beam is as deep as the joists hung on it: leave it out, or give it alike",
            ("frame.beam", p.frame.joist),
        )
    if asked is not None or other:
        return _laid_out(p, asked == "flush")
    under: LevelPlan | None = None
    with contextlib.suppress(TooLow):
        under = _laid_out(p, flush=False, dug=False)
        if not in_ground(under, under.runs):
            return under
    try:
        return _laid_out(p, flush=True)
    except DesignError:
        return under or _laid_out(p, flush=False)


def _laid_out(p: Parameters, flush: bool, dug: bool = True) -> LevelPlan:
    try:
        return _laid_out_on(setting(p, flush), dug)
    except HouseEnds:
        return _laid_out_on(setting(p, flush, wall_ends=True), dug)


def _laid_out_on(made: Setting, dug: bool) -> LevelPlan:
    surfaced = plan_surface(made)
    entered = grown(surfaced, Entered, stairs=plan_stairs(surfaced), guarded=guard_edges(surfaced))
    fixed = fixed_posts(entered)
    stood = rims(entered, [p.polygon for p in fixed])
    free: dict[tuple[int, int], Polygon] = {}
    held: list[PostSpot] = []
    while True:
        joisted = set_out_joists(entered, [*fixed, *held], stood, list(free.values()))
        posted, no_room = plan_posts(joisted, joisted.joist_lines + running_on(joisted), held)
        more = behind_tipping_headers(posted, fixed)
        if more.keys() <= free.keys() and len(no_room) <= len(held):  # no joist that gives way takes another's room
            break
        free |= more
        held = no_room
    stepped = grown(posted, Stepped, stair_plans=tuple(plan_stair(posted, s) for s in posted.stairs))
    return supported(lay_field(stepped), dug)
