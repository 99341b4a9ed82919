"""A deck as built: the outline fitted to lengths, impossible sets named, and everything re-cut to what stands.

Synthetic surveys are distances between known corners (Pythagoras), with or without known noise; all data invented.
"""

from __future__ import annotations

import math
import subprocess
import sys
from collections import Counter
from functools import cache

import numpy as np
import pytest
import scipy.stats
import shapely
from conftest import PARAMS
from mending import mended
from shapely.geometry import Polygon

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.as_built.outline_fit import Distance, fit_outline
from plumbcut.model.as_built.survey import as_built
from plumbcut.model.deck import build, build_as_built
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.input.surveyed import AsBuilt
from plumbcut.model.measuring.bearing import hanging
from plumbcut.model.measuring.clashes import clashes
from plumbcut.model.order.changes import changed_marks, changes, summary
from plumbcut.model.parameter_file import prepare
from plumbcut.model.plan.layout import lay_out, read_outline
from plumbcut.shared.errors import DesignError, InputError

SURVEYED = PARAMS.parent / "tests" / "surveyed.toml"
RACK = 0.75 / 144  # three quarters of an inch out of square over 12 ft
ELL = [(0, 0), (110, 0), (110, 66), (210, 66), (210, 140), (0, 140)]
CLIPPED = [(37, 0), (198, 0), (198, 140), (0, 140), (0, 37)]
SITES = {
    "rectangle": {"outline": {"width": 190, "depth": 131}},
    "with a stair": {"outline": {"width": 190, "depth": 144}, "stair": [{"edge": "front"}]},
    "ell": {"outline": {"points": ELL, "house": ["e5"]}},
    # 12 in: at 16 a row of blocks along the clip just ends where the rack lets it run on
    "clipped": {"outline": {"points": CLIPPED, "house": ["e3"]}, "frame": {"joist_spacing": 12}},
    "double rim": {"outline": {"width": 170, "depth": 121}, "frame": {"rim_plies": 2}},
    "long, with splices": {"outline": {"width": 520, "depth": 121}},
    "joists along the house": {
        "outline": {"width": 154, "depth": 131},
        "frame": {"joist_direction": "x", "support": "free-standing"},
    },
    "boards at 45 degrees": {
        "outline": {"width": 170, "depth": 121},
        "surface": {"direction": 45},
        "frame": {"joist_spacing": 12},
    },
}


def parameters(**sections) -> Parameters:
    return Parameters.model_validate({"levels": {"surface": 40}, "outline": {"width": 180, "depth": 144}, **sections})


def corners(p: Parameters) -> np.ndarray:
    return np.array([e.start for e in read_outline(p).edges], float)


def racked(p: Parameters, rack: float = RACK, wider: float = 0.0) -> np.ndarray:
    """The corners with everything pushed sideways in proportion to its distance from the house, the far end
    stretched."""
    at = corners(p)
    away = at[:, 1].max() - at[:, 1]
    at[:, 0] += away * rack + wider * away / away.max() * at[:, 0] / at[:, 0].max()
    return at


def measured(
    p: Parameters, at: np.ndarray, noise=lambda: 0.0, diagonals: bool = True, bottom: float | None = None
) -> dict:
    """A [survey] of all sides and, if asked, all distances between other corners."""
    edges, n = read_outline(p).edges, len(at)

    def tape(i: int, j: int) -> float:
        return float(np.hypot(*(at[i] - at[j]))) + noise()

    side = [{"edge": e.name, "top": tape(i, (i + 1) % n)} for i, e in enumerate(edges)]
    if bottom is not None:
        side = [{**s, "bottom": s["top"] + bottom} for s in side]
    if not diagonals:
        return {"side": side}
    name = [(edges[i - 1].name, edges[i].name) for i in range(n)]
    pairs = [(i, j) for i in range(n) for j in range(i + 2, n) if (i, j) != (0, n - 1)]
    return {"side": side, "diagonal": [{"start": name[i], "end": name[j], "length": tape(i, j)} for i, j in pairs]}


def with_survey(p: Parameters, survey: dict) -> Parameters:
    return Parameters.model_validate({**p.model_dump(), "survey": survey})


# --- the fit
# -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "outline",
    [{"width": 180, "depth": 144}, {"points": ELL, "house": ["e5"]}, {"points": CLIPPED, "house": ["e3"]}],
    ids=["rectangle", "ell", "clipped"],
)
@pytest.mark.parametrize("rack, wider", [(RACK, 0), (-RACK, 0.5), (0.2 * RACK, -0.7)])
def test_exact_lengths_give_back_the_corners_and_no_residual(outline, rack, wider):
    p = parameters(outline=outline)
    true = racked(p, rack, wider)
    built, report = as_built(with_survey(p, measured(p, true)))
    assert np.allclose([c.built for c in report.corners], true, atol=1e-5)
    assert np.allclose(built.outline.points, true, atol=1e-5)
    assert max(abs(f.residual) for f in report.fits) < 1e-5
    n = len(true)
    # n (n - 1) / 2 distances fix 2 n - 3 unknowns: the plane's three motions cannot be measured by tape
    assert report.redundancy == pytest.approx(n * (n - 1) / 2 - (2 * n - 3), abs=1e-3)


def test_noisy_lengths_give_the_corners_within_the_noise():
    """Residual squares over the variance follow chi-squared with the redundancy's degrees of freedom, and corners stay
    as close as the covariance (JtJ)^-1 of least squares says (textbook adjustment theory)."""
    p = parameters(outline={"points": ELL, "house": ["e5"]})
    true, sigma, rng = racked(p), 1 / 32, np.random.default_rng(7)
    sums, offs, free = [], [], 0.0
    for _ in range(60):
        _, report = as_built(with_survey(p, {**measured(p, true, lambda: rng.normal(0, sigma)), "tolerance": 2}))
        sums.append(sum(f.residual**2 for f in report.fits) / sigma**2)
        offs.append([np.subtract(c.built, q) for c, q in zip(report.corners, true)])
        free = report.redundancy
    low, high = scipy.stats.chi2.ppf([0.0005, 0.9995], round(free) * 60)
    assert low < sum(sums) < high
    # the expected spread from an independent numeric Jacobian of all distances
    n, datum = len(true), 4
    other, way = 5, (true[5] - true[4]) / np.hypot(*(true[5] - true[4]))

    def distances(x):
        at = true.copy()
        at[other] = true[other] + way * x[0]
        at[[k for k in range(n) if k not in (datum, other)]] += x[1:].reshape(-1, 2)
        return np.array([np.hypot(*(at[i] - at[j])) for i in range(n) for j in range(i + 1, n)])

    j = np.column_stack([(distances(h) - distances(-h)) / 2e-5 for h in 1e-5 * np.eye(2 * n - 3)])
    expected = np.sqrt(np.diag(np.linalg.inv(j.T @ j))) * sigma
    spread = np.array(offs)[:, [k for k in range(n) if k not in (datum, other)]].reshape(60, -1).std(axis=0)
    assert np.all(spread < 1.5 * expected[1:]) and np.all(spread > 0.6 * expected[1:])
    assert np.allclose(np.array(offs)[:, datum], 0)


def test_sides_alone_leave_the_angles_to_the_design():
    p = parameters()
    _, report = as_built(with_survey(p, measured(p, corners(p) * 1.002, diagonals=False)))
    assert all(c.built_angle == pytest.approx(90, abs=0.01) for c in report.corners)
    assert any("1 more lengths would be needed" in worded(n) for n in report.notes)
    _, nothing = as_built(p)
    assert [c.moved for c in nothing.corners] == pytest.approx([0] * 4, abs=1e-6)


def test_the_house_edge_stays_where_it_is():
    p = parameters()
    true = racked(p)
    moved = true @ np.array([[math.cos(0.02), -math.sin(0.02)], [math.sin(0.02), math.cos(0.02)]]) + (
        5,
        -3,
    )  # a tape does not see this
    _, report = as_built(with_survey(p, measured(p, moved)))
    assert np.allclose([c.built for c in report.corners], true, atol=1e-5)


def test_a_measurement_that_does_not_fit_is_named():
    p = parameters(outline={"points": ELL, "house": ["e5"]})
    survey = measured(p, racked(p))
    survey["diagonal"][3]["length"] += 0.75
    with pytest.raises(DesignError) as e:
        as_built(with_survey(p, survey))
    assert e.value.key == "survey.diagonal.3.length" and "does not fit the other measurements" in e.value.reason
    survey["tolerance"] = 1.5  # wanted coarser, it is taken and its residual told
    _, report = as_built(with_survey(p, survey))
    assert max(report.fits, key=lambda f: f.misfit).key == "survey.diagonal.3.length"
    assert any(worded(n).startswith("survey: the diagonal") for n in report.notes)


def test_with_one_check_alone_every_suspect_is_named():
    p = parameters()
    survey = measured(p, racked(p))
    survey["side"][0]["top"] += 1.0
    with pytest.raises(DesignError, match="the front side.*may as well be.*the diagonal"):
        as_built(with_survey(p, survey))


def test_three_lengths_that_make_no_triangle_are_named():
    p = parameters()
    survey = measured(p, corners(p))
    survey["diagonal"][0]["length"] = 340.0  # the two sides are 180 and 144
    with pytest.raises(DesignError, match="longer than .* together: no triangle") as e:
        as_built(with_survey(p, survey))
    assert e.value.key == "survey.diagonal.0.length"


def test_another_shape_is_not_taken_for_one_out_of_square():
    p = parameters()
    with pytest.raises(DesignError, match="turned .* degrees from the design"):
        as_built(with_survey(p, measured(p, racked(p, 0.09))))


def test_rims_out_of_plumb_are_told():
    p = parameters()
    _, report = as_built(with_survey(p, measured(p, corners(p), bottom=-0.25)))
    assert [r.lean for r in report.rims] == pytest.approx([0.25] * 4)
    assert 'left and right rims lean outwards at the top by 1/4"' in worded(report.rims[0].said)


def test_units_are_read_as_everywhere():
    p = parameters(survey={"side": [{"edge": "front", "top": "4578.35 mm"}, {"edge": "right", "top": "12' 1/4\""}]})
    assert [s.top for s in p.survey.side] == pytest.approx([180.25, 144.25])


def test_fit_of_a_triangle_against_the_law_of_cosines():
    p = Parameters.model_validate(
        {
            "levels": {"surface": 20},
            "outline": {"points": [[0, 0], [120, 0], [40, 90]], "house": ["e1"]},
            "frame": {"support": "free-standing"},
        }
    )
    a, b, c = 121.0, 119.5, 99.0
    points, fits = fit_outline(
        read_outline(p), [Distance("a", "a", 0, 1, a), Distance("b", "b", 1, 2, b), Distance("c", "c", 2, 0, c)], 0.25
    )
    x = (a**2 + c**2 - b**2) / (2 * a)
    assert np.allclose(points, [(0, 0), (a, 0), (x, math.sqrt(c**2 - x**2))], atol=1e-5)
    assert not any(f.checked for f in fits)  # three lengths and nothing over


FAULTS = {
    "side.0.edge": ({"side": [{"edge": "nowhere", "top": 180}]}, "no edge 'nowhere'"),
    "side.1.edge": ({"side": [{"edge": "front", "top": 180}, {"edge": "front", "top": 181}]}, "given twice"),
    "diagonal.0.start": (
        {"diagonal": [{"start": ["front", "back"], "end": ["right", "back"], "length": 200}]},
        "do not meet",
    ),
    "diagonal.0.end.1": (
        {"diagonal": [{"start": ["front", "left"], "end": ["right", "up"], "length": 200}]},
        "no edge 'up'",
    ),
    "diagonal.0.end": (
        {"diagonal": [{"start": ["front", "left"], "end": ["left", "front"], "length": 200}]},
        "both ends are the same",
    ),
    "post.0.at": ({"post": [{"edge": "left", "at": 40}]}, "no guard post within 12 in"),
    "post.0.inside": ({"post": [{"edge": "left", "at": 70, "inside": 1}]}, "stands in the rim"),
    "post.1.at": ({"post": [{"edge": "left", "at": 70}, {"edge": "left", "at": 71}]}, "gave already"),
    "joists.0.at": ({"joists": [{"edge": "back", "at": [16, 32]}]}, "got 2 joists"),
    "joists.0.edge": ({"joists": [{"edge": "left", "at": [16, 32]}]}, "runs along the joists"),
    "stair.0.stair": ({"stair": [{"stair": 2, "rises": [40, 40, 40, 40, 40]}]}, "no stair 2"),
    "stair.0.rises": ({"stair": [{"stair": 1, "rises": [40, 40]}]}, "2 rises; stair 1 stands on 5 stringers"),
}


@pytest.mark.parametrize("key", FAULTS)
def test_faults_name_their_key(key):
    survey, words = FAULTS[key]
    with pytest.raises(DesignError) as e:
        as_built(parameters(stair=[{"edge": "front"}], survey=survey))
    assert e.value.key == f"survey.{key}" and words in e.value.reason


@pytest.mark.parametrize("key", FAULTS)
def test_the_value_that_a_fault_names_passes_it(key):
    survey, words = FAULTS[key]
    given = {"stair": [{"edge": "front"}], "survey": survey}
    with pytest.raises(DesignError) as e:
        as_built(parameters(**given))
    try:
        as_built(parameters(**mended(given, str(e.value))))
    except DesignError as next_one:
        assert words not in next_one.reason


def test_the_tolerance_that_would_take_a_misfit_is_named():
    p = parameters()
    survey = measured(p, racked(p))
    survey["side"][0]["top"] += 1.0
    with pytest.raises(DesignError) as e:
        as_built(with_survey(p, survey))
    as_built(with_survey(p, mended({"survey": survey}, str(e.value))["survey"]))


def test_a_file_names_the_line_and_needs_no_kernel(tmp_path):
    text = SURVEYED.read_text()
    file = tmp_path / "deck.toml"
    file.write_text(text.replace('"19\' 3-1/2\\""', '"19\' 8\\""'))
    line = 1 + file.read_text().split("\n").index('length = "19\' 8\\""')
    with pytest.raises(InputError) as e:
        prepare(file)
    (fault,) = e.value.faults
    assert (fault.line, fault.key) == (line, "survey.diagonal.0.length")
    code = (
        "import sys\nfrom plumbcut.model.parameter_file import prepare\n"
        f"prepare({str(SURVEYED)!r})\nprint([m for m in ('cadquery', 'OCP') if m in sys.modules])"
    )
    assert (
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip() == "[]"
    )


# --- the deck
# ------------------------------------------------------------------------------------------------------------


@cache
def site(name: str):
    return build(parameters(**SITES[name]))


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize("rack", [RACK, -RACK], ids=["to the right", "to the left"])
def test_a_deck_out_of_square_has_the_same_pieces_and_holds_together(name, rack):
    design = site(name)
    built = build_as_built(with_survey(design.parameters, measured(design.parameters, racked(design.parameters, rack))))
    assert Counter(p.role for p in built.parts) == Counter(p.role for p in design.parts)
    assert not clashes(built.parts, 0.001)
    assert not [str(e) for e in hanging(built.parts)]
    assert not [p.id for p in built.parts if p.role not in ("footing", "pad", "ledger") and not p.carried_by]


def test_the_outer_edge_of_the_surface_and_the_mitres_follow_the_true_corners():
    p = parameters()
    true = racked(p)
    built = build_as_built(with_survey(p, measured(p, true)))
    out = built.layout.overhang(built.layout.outline["front"])
    rims = shapely.union_all([q.footprint.buffer(1e-6) for q in built.roles("rim", "ledger")])
    assert (
        rims.symmetric_difference(Polygon(true))
        .intersection(Polygon(true).exterior.buffer(0.5))
        .difference(Polygon(true).buffer(-0.5))
        .area
        < 0.01
    )
    corner = np.array(
        true[0]
    )  # left-front: the mitre's outer point lies out on the bisector, out / sin(half the angle) away
    to_back, to_right = (np.subtract(q, corner) / np.hypot(*np.subtract(q, corner)) for q in (true[3], true[1]))
    half = math.acos(float(to_back @ to_right)) / 2
    bisector = -(to_back + to_right) / np.hypot(*(to_back + to_right))
    tip = corner + bisector * out / math.sin(half)
    ends = np.vstack([q.vertices[:, :2] for q in built.roles("border")])
    assert np.hypot(*(ends - tip).T).min() < 1e-4


def test_boards_run_along_the_house_and_only_the_first_run_tapers():
    p = parameters(surface={"border": {"courses": 0}})
    true = corners(p)
    true[1, 1] -= 0.5  # the front's right end is half an inch too far out
    built = build_as_built(with_survey(p, measured(p, true)))
    boards = built.roles("board")
    assert all(abs(b.place.x[1]) < 1e-9 for b in boards)
    first = min(boards, key=lambda b: b.box[0, 1])
    ring = np.asarray(first.shape.outline)
    assert np.ptp(ring[:, 1]) > 5.4 and first.shape.polygon.area < 5.5 * np.ptp(ring[:, 0]) - 20


def test_surveyed_joists_lie_where_they_were_measured_and_blocks_fit_between():
    p = parameters()
    count = len(lay_out(p).joist_lines)
    at = sorted(180 - 16 * k for k in range(1, count + 1))  # from the right end of the back
    at[2] += 1.0  # the third is an inch off
    built = build_as_built(with_survey(p, {"joists": [{"edge": "back", "at": at}]}))
    middles = sorted(180 - (j.box[0, 0] + j.box[1, 0]) / 2 for j in built.roles("joist"))
    assert middles == pytest.approx(at, abs=1e-6)
    assert not clashes(built.parts, 0.001) and not hanging(built.parts)
    both = build_as_built(
        with_survey(
            p,
            {"joists": [{"edge": "back", "at": at}, {"edge": "front", "at": [16.0 * k for k in range(1, count + 1)]}]},
        )
    )
    slanted = [j for j in both.roles("joist") if abs(j.place.x[0]) > 1e-6]
    assert len(slanted) == 1  # marked an inch off on the ledger alone
    (joist,) = slanted
    assert math.degrees(math.atan(abs(joist.place.x[0] / joist.place.x[1]))) == pytest.approx(
        math.degrees(math.atan(1 / 144)), abs=0.01
    )
    assert not clashes(both.parts, 0.001) and not hanging(both.parts)


def test_butt_joints_follow_a_surveyed_joist():
    p = parameters(outline={"width": 300, "depth": 121})
    design = lay_out(p)
    at = [v for v, _ in design.joist_lines]
    joint = {round(b.box[1, 0] + 0.0625, 3) for b in build(p).roles("board") if 20 < b.box[1, 0] < 280}
    place = min(joint)
    moved = [a + 0.75 * (abs(a + 0.75 - place) < 0.01) for a in at]  # joints lie over the seam beside the joist
    assert moved != at
    built = build_as_built(with_survey(p, {"joists": [{"edge": "front", "at": moved}]}))
    now = {round(b.box[1, 0] + 0.0625, 3) for b in built.roles("board") if 20 < b.box[1, 0] < 280}
    assert place + 0.75 in now and place not in now
    assert not hanging(built.parts)


def test_a_surveyed_post_moves_its_notch():
    p = parameters()
    built = build_as_built(
        with_survey(p, {"post": [{"edge": "left", "at": 68.25, "size": 3.5625, "depth": 3.4375, "inside": 1.75}]})
    )
    post = next(q for q in built.roles("guard post") if 60 < q.box[0, 1] < 80)
    # the left edge runs from the back to the front: 144 - 68.25 and 144 - 68.25 - 3.5625
    assert post.box[:, :2] == pytest.approx(np.array([[1.75, 72.1875], [5.1875, 75.75]]))
    around = post.footprint.buffer(0.25 - 1e-6, join_style="mitre")
    surface = built.roles("board", "border")
    assert all(b.footprint.intersection(around).area < 1e-6 for b in surface)
    near = min(b.footprint.distance(post.footprint) for b in surface)
    assert near == pytest.approx(0.25, abs=1e-6)
    assert not clashes(built.parts, 0.001) and not hanging(built.parts)
    recut = {c.part.role for c in changes(build(p), built) if c.what == "cut differently"}
    assert {"border", "guard post", "top rail", "bottom rail"} <= recut
    rails = [r for r in built.roles("top rail") if r.edge == "left"]
    assert all(min(abs(r.box[:, 1][:, None] - post.box[:, 1]).ravel()) < 1e-6 for r in rails)


def test_a_surveyed_rise_divides_the_stair_again():
    p = parameters(stair=[{"edge": "front"}])
    rises = (40.5, 40.625, 40.75, 40.625, 41.0)
    built = build_as_built(with_survey(p, {"stair": [{"stair": 1, "rises": rises}]}))
    tops = sorted({round(float(t.box[1, 2]), 6) for t in built.roles("tread")}, reverse=True)
    total = sum(rises) / len(rises)
    count = math.ceil(total / 7.5)
    assert [40 - z for z in tops] == pytest.approx([total / count * k for k in range(1, count)])
    stringers = sorted(built.roles("stringer"), key=lambda s: s.box[0, 0])
    feet = [40 - s.box[0, 2] for s in stringers]
    assert feet == pytest.approx(rises)  # the right hand of someone walking down is at the left of the sheet
    pad = built.roles("pad")[0].id
    assert all(pad in s.carried_by for s in stringers)
    assert not clashes(built.parts, 0.001)
    assert any("stringers differ at the foot" in worded(n) for n in built.notes)
    thickness = built.parameters.stair[0].pad.thickness
    assert min(p.box[0, 2] for p in built.roles("pad")) == pytest.approx(40 - 41 - thickness)


# --- changes
# ---------------------------------------------------------------------------------------------------------------


def test_nothing_measured_changes_nothing():
    p = parameters(stair=[{"edge": "front"}])
    assert changes(build(p), build_as_built(p)) == []


def test_changes_of_the_whole_survey():
    p, layout = prepare(SURVEYED)
    built, report = as_built(p, layout)
    assert isinstance(built, AsBuilt) and report.redundancy == pytest.approx(1, abs=1e-3) and report.deviation < 1 / 16
    design, deck = build(p), build(built)
    assert Counter(q.role for q in deck.parts) == Counter(q.role for q in design.parts)
    assert not clashes(deck.parts, 0.001) and not hanging(deck.parts)
    assert not [q.id for q in deck.parts if q.role not in ("footing", "pad", "ledger") and not q.carried_by]
    found = changes(design, deck)
    roles = {c.role for c in found if c.what == "cut differently"}
    assert {"board", "border", "fascia", "stringer", "riser", "guard post", "top rail"} <= roles
    front = [c for c in found if c.role == "border" and c.part.edge == "front"]
    assert [c.longer for c in front] == pytest.approx([0.25], abs=0.02)
    marks = changed_marks(found)
    assert all(c.what != "moved" for rows in marks.values() for c in rows)
    assert {q.mark for q in design.roles("stringer")} <= set(marks)
    assert any(worded(line).startswith("stringer: 5 cut differently") for line in summary(found))
    assert all(c.what == "cut differently" for rows in marks.values() for c in rows if c.design and c.built)
