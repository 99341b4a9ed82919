"""A deck as it stands: the parameter file's site measurements turned into an outline, joists, guard posts and rises to
build to.

`as_built` gives parameters that every room of the model takes as any others, so that surface, border, fascia, notches,
stairs and guards are cut to what stands there; the permit drawings keep the design. Plan coordinates, inches.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import LineString

from ...shared.as_toml import down_to, up_to
from ...shared.errors import DesignError
from ...shared.points import pair
from ...shared.said import Said, Words, decimal, length, listed, number, said, size
from ...shared.units import feet_inches, inches
from ..input.outline_table import Outline
from ..input.parameters import Parameters
from ..input.survey_tables import Survey
from ..input.surveyed import AsBuilt, Surveyed, SurveyedJoist, SurveyedPost
from ..plan.edges import Edge, FrameOutline
from ..plan.joist_plan import centre_line
from ..plan.layout import lay_out
from ..plan.post_plan import REACH, post_at
from ..plan.stages import Joisted, LevelPlan, Posted, Setting, Stepped
from .outline_fit import Distance, Fit, fit_outline

WORTH_A_WORD = 1 / 32  # inches: less is not worth a word on the site
MEETS = 3.0  # inches from an edge within which the end of a joist meets it: a rim of two plies


@dataclass(frozen=True)
class CornerMoved:
    """A corner of the outline: where the design has it, where it stands, and the inner angle there, degrees."""

    name: str
    design: tuple[float, float]
    built: tuple[float, float]
    design_angle: float
    built_angle: float

    @property
    def moved(self) -> float:
        return math.dist(self.design, self.built)


@dataclass(frozen=True)
class OutOfPlumb:
    """A side whose top and bottom were both measured: `lean` = top - bottom is how much the rims at its two ends lean
    outwards at the top between them, over the frame's depth `height`."""

    edge: str
    ends: tuple[str, str]
    top: float
    bottom: float
    height: float

    @property
    def lean(self) -> float:
        return self.top - self.bottom

    @property
    def said(self) -> Said:
        return said(
            "the {first} and {second} rims lean {way} at the top by {lean} between them over {height} (the {edge} side"
            " is {top} at the top, {bottom} at the bottom)",
            first=self.ends[0],
            second=self.ends[1],
            way="outwards" if self.lean > 0 else "inwards",
            lean=size(abs(self.lean)),
            height=size(self.height),
            edge=self.edge,
            top=length(self.top),
            bottom=length(self.bottom),
        )


@dataclass(frozen=True)
class SurveyReport:
    """What the survey says: `fits` of the lengths at the top of the rims and `fits_below` of those at their bottom,
    `corners`, `rims` out of plumb, and `notes` in words."""

    fits: tuple[Fit, ...]
    fits_below: tuple[Fit, ...]
    corners: tuple[CornerMoved, ...]
    rims: tuple[OutOfPlumb, ...]
    notes: tuple[Words, ...]

    @property
    def redundancy(self) -> float:
        """How many more lengths were measured at the top than the shape needs."""
        return sum(f.redundancy for f in self.fits)

    @property
    def deviation(self) -> float:
        """Standard deviation of one length, from the residuals; 0 where nothing is over-determined."""
        free = self.redundancy
        return math.sqrt(sum(f.residual**2 for f in self.fits) / free) if free > 0.5 else 0.0


def as_built(parameters: Parameters, design: LevelPlan | None = None) -> tuple[AsBuilt, SurveyReport]:
    """The parameters of what stands, and the report. `design` is the layout of `parameters`, where it is at hand.

    What was not measured is as designed: joists lie at the designed distances from the corners of the frame that
    stands. Raises DesignError, naming the key of the measurement, for one that cannot be.
    """
    design = design or lay_out(parameters)
    survey, outline = parameters.survey, design.outline
    tops, bottoms = measured_distances(survey, outline)
    points, fits = fit_outline(outline, tops, survey.tolerance)
    built = FrameOutline(points, outline.names, {e.name for e in outline.edges if e.house})
    _, below = fit_outline(outline, bottoms, survey.tolerance, prior=built) if bottoms else (None, [])
    rises = _rises(survey, design)
    stairs = [
        s.model_copy(update={"total_rise": float(np.mean(rises[i]))}) if i in rises else s
        for i, s in enumerate(parameters.stair)
    ]
    section = Outline(points=points, edges=outline.names, house=[e.name for e in outline.edges if e.house])
    posts = _posts(survey, design, built)
    ends = design.ahead(design.across), design.ahead(design.along)
    stands = Surveyed(_joists(survey, design, built), posts, rises, ends)
    given = {name: getattr(parameters, name) for name in Parameters.model_fields} | {
        "outline": section,
        "stair": stairs,
    }
    corners = tuple(
        CornerMoved(corner_name(outline, e.index), e.start, b.start, 180 - outline.turn(e), 180 - built.turn(b))
        for e, b in zip(outline.edges, built.edges)
    )
    rims = tuple(
        OutOfPlumb(
            s.edge,
            (outline.before(outline[s.edge]).name, outline.after(outline[s.edge]).name),
            s.top,
            s.bottom,
            design.joist.width,
        )
        for s in survey.side
        if s.bottom is not None
    )
    report = SurveyReport(tuple(fits), tuple(below), corners, rims, ())
    return AsBuilt(**given, surveyed=stands), replace(report, notes=tuple(_notes(report, built, rises)))


def corner_name(outline: FrameOutline, index: int) -> str:
    """The corner where edge `index` starts, by the edges that meet there."""
    e = outline.edges[index]
    return f"{outline.before(e).name}-{e.name} corner"


def _edge(outline: FrameOutline, name: str, key: str) -> Edge:
    if name not in outline:
        raise DesignError(key, f"no edge {name!r}; the edges are {', '.join(outline.names)}", (key, outline.names[0]))
    return outline[name]


def _corner(outline: FrameOutline, names: tuple[str, str], key: str) -> int:
    a, b = (_edge(outline, n, f"{key}.{k}") for k, n in enumerate(names))
    for first, second in ((a, b), (b, a)):
        if outline.after(first) is second:
            return second.index
    raise DesignError(
        key,
        f"edges {a.name} and {b.name} do not meet; the corners are "
        + ", ".join(corner_name(outline, e.index).removesuffix(" corner") for e in outline.edges),
        (key, [a.name, outline.after(a).name]),
    )


def measured_distances(survey: Survey, outline: FrameOutline) -> tuple[list[Distance], list[Distance]]:
    """Lengths between corners at the top and at the bottom of the rims."""
    tops, bottoms = [], []
    seen: dict[str, int] = {}
    for k, side in enumerate(survey.side):
        e = _edge(outline, side.edge, f"survey.side.{k}.edge")
        if e.name in seen:
            other = next((n for n in outline.names if n not in [s.edge for s in survey.side]), None)
            raise DesignError(
                f"survey.side.{k}.edge",
                f"the {e.name} side is given twice",
                (f"survey.side.{k}.edge", other) if other else None,
            )
        seen[e.name] = k
        ends = e.index, outline.after(e).index
        tops.append(Distance(f"survey.side.{k}.top", f"the {e.name} side", *ends, side.top))
        if side.bottom is not None:
            bottoms.append(Distance(f"survey.side.{k}.bottom", f"the {e.name} side at the bottom", *ends, side.bottom))
    for k, diagonal in enumerate(survey.diagonal):
        key = f"survey.diagonal.{k}"
        i, j = _corner(outline, diagonal.start, f"{key}.start"), _corner(outline, diagonal.end, f"{key}.end")
        if i == j:
            far = outline.edges[(i + 2) % len(outline.edges)]
            raise DesignError(
                f"{key}.end",
                "a diagonal runs between two corners; both ends are the same one",
                (f"{key}.end", [outline.before(far).name, far.name]),
            )
        name = f"the diagonal from the {corner_name(outline, i)} to the {corner_name(outline, j)}"
        tops.append(Distance(f"{key}.length", name, i, j, diagonal.length))
    return tops, bottoms


def _rises(survey: Survey, design: Stepped) -> dict[int, tuple[float, ...]]:
    found: dict[int, tuple[float, ...]] = {}
    plans = design.stair_plans
    for k, s in enumerate(survey.stair):
        key = f"survey.stair.{k}"
        if s.stair > len(plans):
            raise DesignError(
                f"{key}.stair",
                f"no stair {s.stair}; the file has {len(plans)}",
                (f"{key}.stair", len(plans)) if plans else None,
            )
        if s.stair - 1 in found:
            others = [n + 1 for n in range(len(plans)) if n + 1 not in [t.stair for t in survey.stair]]
            raise DesignError(
                f"{key}.stair",
                f"stair {s.stair} is given twice",
                (f"{key}.stair", others[0]) if others else None,
            )
        flight = plans[s.stair - 1].flights[-1]
        if len(s.rises) != len(flight.stringers):
            count = len(flight.stringers)
            alike = (list(s.rises) + [s.rises[-1]] * count)[:count]
            raise DesignError(
                f"{key}.rises",
                f"got {len(s.rises)} rises; stair {s.stair} stands on {count} stringers",
                (f"{key}.rises", alike) if count else None,
            )
        if max(s.rises) - min(s.rises) > flight.rise / 2:
            raise DesignError(
                f"{key}.rises",
                f"the rises differ by {inches(max(s.rises) - min(s.rises))}, over half a step: measure again",
                (f"{key}.rises", [min(r, down_to(min(s.rises) + flight.rise / 2)) for r in s.rises]),
            )
        found[s.stair - 1] = tuple(s.rises)
    return found


def _posts(survey: Survey, design: Posted, built: FrameOutline) -> tuple[SurveyedPost, ...]:
    stock = design.parameters.stock(design.parameters.guard.post)
    found: list[SurveyedPost] = []
    taken: dict[int, int] = {}  # of the design's posts: by which of the survey's
    for k, post in enumerate(survey.post):
        key = f"survey.post.{k}"
        e = _edge(built, post.edge, f"{key}.edge")
        size, rim = post.size or stock.width, design.rim_of(e)
        inside = rim if post.inside is None else post.inside
        if inside < rim - 1e-9:
            raise DesignError(
                f"{key}.inside",
                f"a post {inches(inside)} inside the rim's outer face stands in the rim, which is {inches(rim)} thick",
                (f"{key}.inside", up_to(rim)),
            )
        n = post_at(design, design.posts, e.name, post.at + size / 2)
        if n is None:
            raise DesignError(
                f"{key}.at",
                f"the design has no guard post within {REACH:g} in of {feet_inches(post.at)} along edge {e.name}: "
                f"{_places(design, design.outline[e.name])}",
                _nearest(design, design.outline[e.name], post.at, size, f"{key}.at"),
            )
        if n in taken:
            left = [q for q in range(len(design.posts)) if q not in taken]
            raise DesignError(
                f"{key}.at",
                f"this is the design's post that survey.post.{taken[n]} gave already",
                _nearest(design, design.outline[e.name], post.at, size, f"{key}.at", left),
            )
        taken[n] = k
        found.append(SurveyedPost(f"{key}.at", e.name, post.at, inside, size, post.depth or size))
    return tuple(found)


def _along(design: Posted, edge: Edge, among: Sequence[int] | None = None) -> list[float]:
    """Where along an edge the design has its guard posts, all of them or those of some positions."""
    near = [edge.position(design.posts[n].centre) for n in (range(len(design.posts)) if among is None else among)]
    return sorted(s for s, inside in near if 0 < inside < design.rim_of(edge) + 6 and -1 < s < edge.length + 1)


def _nearest(
    design: Posted, edge: Edge, at: float, size: float, key: str, among: Sequence[int] | None = None
) -> tuple[str, object] | None:
    """The key and the place of the design's post nearest to where one was measured."""
    places = [max(0.0, s - size / 2) for s in _along(design, edge, among)]
    return (key, up_to(min(places, key=lambda s: abs(s - at)))) if places else None


def _places(design: Posted, edge: Edge) -> str:
    at = _along(design, edge)
    return "it has them at " + ", ".join(feet_inches(s) for s in at) if at else "it has none there"


@dataclass
class _Ends:
    """A joist of the design: the edges its middle line runs out over, low end first, where along them, and which it
    meets."""

    edges: tuple[Edge, Edge]
    at: tuple[float, float]
    meets: tuple[bool, bool]


def _joists(survey: Survey, design: Joisted, built: FrameOutline) -> tuple[SurveyedJoist, ...]:
    """Every joist of the design between the same two places along the frame's edges, but for those that were measured.

    Joists are marked from one end of ledger and rim, so a place is its distance from the low end of its edge.
    """
    ends = [_ends(design, piece) for _, piece in design.joist_lines]
    measured: dict[tuple[int, int], tuple[float, str]] = {}
    for k, row in enumerate(survey.joists):
        key = f"survey.joists.{k}"
        e = _edge(design.outline, row.edge, f"{key}.edge")
        if design.is_lengthwise(e):
            across = next((o.name for o in design.outline.edges if not design.is_lengthwise(o)), None)
            raise DesignError(
                f"{key}.edge",
                f"edge {e.name} runs along the joists; name the ledger or a rim across them",
                (f"{key}.edge", across) if across else None,
            )
        there = sorted(
            (o.at[side], n, side) for n, o in enumerate(ends) for side in (0, 1) if o.edges[side] is e and o.meets[side]
        )
        if len(there) != len(row.at):
            raise DesignError(
                f"{key}.at",
                f"got {len(row.at)} joists; the design has {len(there)} along edge {e.name}, "
                f"at {', '.join(feet_inches(s) for s, _, _ in there)}",
                (f"{key}.at", [down_to(s) for s, _, _ in there]) if there else None,
            )
        if any(b - a < design.joist.thickness for a, b in zip(row.at, row.at[1:])) or row.at[-1] > built[e.name].length:
            raise DesignError(
                f"{key}.at",
                f"joists in order from the start of edge {e.name}, none in another, up to its end at"
                f" {feet_inches(built[e.name].length)}",
                (f"{key}.at", [down_to(s) for s, _, _ in there]),
            )
        for (_, n, side), at, i in zip(there, row.at, range(len(row.at))):
            measured[n, side] = at, f"{key}.at.{i}"
    joists = []
    for n, o in enumerate(ends):
        points = [np.array(_moved(design, e, built[e.name], s)) for e, s in zip(o.edges, o.at)]
        known = [measured.get((n, side)) for side in (0, 1)]
        for side in (0, 1):
            place = known[side]
            if place is not None:
                to = np.asarray(built[o.edges[side].name].point(place[0]))
                if not known[1 - side]:  # as far out of place at its other end
                    points[1 - side] = points[1 - side] + to - points[side]
                points[side] = to
        line = pair(points[0]), pair(points[1])
        joists.append(SurveyedJoist(line, next((m[1] for m in known if m), "")))
    return tuple(joists)


def _ends(design: Setting, piece) -> _Ends:
    base, slope = centre_line(design, piece)
    middle = float(np.asarray(piece.centroid.coords[0]) @ design.along)

    def point(w: float) -> np.ndarray:
        return design.across * (base + slope * w) + design.along * w

    own = np.asarray(piece.exterior.coords) @ design.along
    found = []
    for way, own_end in ((-1, own.min()), (1, own.max())):
        ray = LineString([point(middle), point(middle + way * 1e4)])
        hits = design.outline.polygon.exterior.intersection(ray)
        w = min(
            (float(np.asarray(h.coords[0]) @ design.along) for h in getattr(hits, "geoms", [hits])),
            key=lambda w: abs(w - middle),
        )
        q = point(w)
        edge = min(design.outline.edges, key=lambda e: LineString([e.start, e.end]).distance(LineString([q, q + 1e-9])))
        found.append(
            (
                edge,
                edge.position(q)[0],
                abs(edge.position(point(float(own_end)))[1]) < max(MEETS, design.rim_of(edge) + 1.0),
            )
        )
    return _Ends(*zip(*found))


def _moved(design: Setting, edge: Edge, built: Edge, along: float) -> tuple[float, float]:
    """The place on an edge that stands, as far from its end on the low side across the joists as in the design."""
    from_start = float(edge.direction @ design.across) > 0
    return built.point(along if from_start else built.length - (edge.length - along))


def _notes(report: SurveyReport, built: FrameOutline, rises: dict[int, tuple[float, ...]]) -> list[Words]:
    notes: list[Words] = []
    for c in report.corners:
        if c.moved > WORTH_A_WORD or abs(c.built_angle - c.design_angle) > 0.05:
            off = said("stands {moved} from the design", moved=size(c.moved))
            notes.append(
                said(
                    "as built: the {corner} {place}, at {built} degrees instead of {design}",
                    corner=c.name,
                    place=off if c.moved > WORTH_A_WORD else "stands as designed",
                    built=number(c.built_angle, 1),
                    design=number(c.design_angle, 1),
                )
            )
    for f in (*report.fits, *report.fits_below):
        if abs(f.residual) > WORTH_A_WORD:
            notes.append(
                said(
                    "survey: {name} was measured {measured}; the outline fitted to all measurements has {fitted}"
                    " ({off})",
                    name=f.name,
                    measured=length(f.measured),
                    fitted=length(f.fitted),
                    off=decimal(f.residual, 3, signed=True),
                )
            )
    loose = 2 * len(built.edges) - 3 - (len(report.fits) - report.redundancy)
    if report.fits and loose > 0.5:
        notes.append(
            said(
                "survey: {n} more lengths would be needed to fix the outline's shape; the design's decides the rest",
                n=number(loose, 0),
            )
        )
    notes += [said("survey: {rim}", rim=rim.said) for rim in report.rims if abs(rim.lean) > WORTH_A_WORD]
    for i, feet in rises.items():
        if max(feet) - min(feet) > WORTH_A_WORD:
            notes.append(
                said(
                    "stair {stair}: stringers differ at the foot: total rises of {rises} from the right to the left"
                    " going down; the steps are divided from their mean, {mean}, and each stringer's foot is cut to its"
                    " own",
                    stair=i + 1,
                    rises=listed([size(r) for r in feet]),
                    mean=size(float(np.mean(feet))),
                )
            )
    return notes
