"""Listed faults planted in the model one by one: the suite must catch each.

`python tests/long/mutations.py [NAME ...]` plants each fault (or those named) in a scratch copy of the project, runs
the tests listed with it and, where those pass, all the others, and writes into `mutations.csv` beside this script the
first test that failed. A fault that nothing catches is printed and ends the run with 1: write the test that does.

A patch is a text to search and what to put in its place; it is looked for in the whole of `model`, so that it survives
the moving of a file. A text that is not found exactly once is an error: the list has to follow the code.
"""

from __future__ import annotations

import csv
import importlib
import multiprocessing
import os
import re
import shutil
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TABLE = Path(__file__).with_name("mutations.csv")
LOADED = ("cadquery", "trimesh", "scipy.optimize", "shapely", "hypothesis", "pydantic", "ezdxf")  # before forking
COPIED = ("model", "exports", "shared", "params", "tests", "README.md", "DEVELOPERS.md", "pyproject.toml", ".gitignore")
FRAME, SURFACE, STAIRS = "model/pieces/test_frame.py", "model/pieces/test_surface.py", "model/pieces/test_stairs.py"
GUARDS, SUPPORT = "model/pieces/test_guards.py", "model/pieces/test_support.py"
STRUCTURE = "model/structure/test_structure.py"
WRAPPED, HIP = "model/plan/test_wrap_plan.py", "model/pieces/test_hip_stringer.py"


@dataclass(frozen=True)
class Mutation:
    """One fault: its `name` in words, the text `old` of the model that `new` replaces, the tests asked first."""

    name: str
    old: str
    new: str
    tests: tuple[str, ...]


def _m(name: str, old: str, new: str, *tests: str) -> Mutation:
    return Mutation(name, old, new, tests)


MUTATIONS = (
    _m("the gap between boards forgotten", "pitch = width + gap\n", "pitch = width\n", SURFACE),
    _m(
        "the gap between the border's courses forgotten",
        "step = course * (width + s.edge_gap) + (width if inner else 0.0)",
        "step = course * width + (width if inner else 0.0)",
        SURFACE,
    ),
    _m(
        "half the gap in a tread's joint forgotten",
        "[*(c - gap / 2 for c in cuts), s1]",
        "[*cuts, s1]",
        STAIRS,
    ),
    _m(
        "the boards' notches round posts without their clearance",
        "[notch_round(q, clear) for q in stands]",
        "stands",
        SURFACE,
    ),
    _m(
        "a tread's notch on the wrong side",
        's = (-reach - 1, c) if side == "start" else',
        's = (-reach - 1, c) if side == "end" else',
        STAIRS,
        GUARDS,
    ),
    _m(
        "the mitre at a handrail's upper end mirrored",
        "[(u0, far), (u0 + size, near), (u1 - size, near), (u1, far)]",
        "[(u0 + size, far), (u0, near), (u1 - size, near), (u1, far)]",
        GUARDS,
    ),
    _m(
        "the mitre of a bordered tread's return mirrored",
        "left = Polygon([(f - m, high), (b, high), (b, high - w), (f - w - m, high - w)])",
        "left = Polygon([(f - w - m, high), (b, high), (b, high - w), (f - m, high - w)])",
        STAIRS,
    ),
    _m(
        "the opening left in the border's mitres forgotten",
        "border.mitre_gap\n    if not gap",
        "border.mitre_gap\n    if gap",
        SURFACE,
    ),
    _m("a breaker's second half borne by nothing", '        (high - t, "breaker"),\n', "", SURFACE, FRAME),
    _m("a riser too many", "            return n, total\n", "            return n + 1, total\n", STAIRS),
    _m(
        "goings counted from the rim, not from the edge of the surface",
        "return k * self.going + self.lead - self.nosing",
        "return k * self.going - self.nosing",
        f"{STAIRS}::test_rises_and_goings_off_the_solids",
        STAIRS,
    ),
    _m(
        "the stringer's seats not dropped by the tread's thickness",
        "return self.level(k) - self.thickness",
        "return self.level(k)",
        STAIRS,
    ),
    _m(
        "the riser board's thickness not taken off the stringer",
        "self.riser_face(k) - (self.trim if self.closed else 0.0)",
        "self.riser_face(k)",
        f"{STAIRS}::test_stringer_volume_in_closed_form",
        STAIRS,
    ),
    _m(
        "stringers wider apart than the spacing",
        "count = max(1, math.ceil((high - low) / self.spacing - SAME))",
        "count = max(1, math.floor((high - low) / self.spacing + SAME))",
        f"{STAIRS}::test_no_clash_with_landings",
        STAIRS,
    ),
    _m(
        "steps that go round a corner mitred off its bisector",
        "first, second, math.tan(math.radians(turn) / 2)",
        "first, second, math.tan(math.radians(turn) / 3)",
        WRAPPED,
        HIP,
    ),
    _m("a hip stringer as steep as its flights", "going=flight.going / sine", "going=flight.going", HIP),
    _m(
        "a landing turned the other way",
        'if landing.turn == "left":',
        'if landing.turn == "right":',
        f"{STAIRS}::test_landing_carries_and_is_carried",
        STAIRS,
    ),
    _m(
        "the cleats of a stair's header forgotten",
        "for outline in cleats:",
        "for outline in ():",
        f"{STAIRS}::test_stringers_hang_at_the_header_and_stand_on_the_pad",
        STAIRS,
    ),
    _m(
        "the foot pad poured above grade",
        "PadSpot(plan.index, plan.pad, plan.pad_top, ",
        "PadSpot(plan.index, plan.pad, plan.pad_top + 4, ",
        f"{STAIRS}::test_stringers_hang_at_the_header_and_stand_on_the_pad",
        STAIRS,
    ),
    _m(
        "a skirt not cut round the posts",
        "found = [(x0, x1, -FAR, FAR) for x0, x1 in post_stretches(plan, flight, side)]",
        "found = []",
        f"{STAIRS}::test_notches_clear_the_guard_posts",
        STAIRS,
        GUARDS,
    ),
    _m(
        "footings that overlap not merged",
        "< (plan[1] + side) / 2 - 1e-6",
        "< 0",
        f"{SUPPORT}::test_footings_too_close_become_one_of_no_less_area",
        SUPPORT,
    ),
    _m(
        "a merged footing no larger than one for a single post",
        "even(max(across + size, size * math.sqrt(len(group))))",
        "even(size)",
        f"{SUPPORT}::test_footings_too_close_become_one_of_no_less_area",
        SUPPORT,
    ),
    _m(
        "footings not dug to the depth asked for",
        "low = lowest_ground(layout, centre, size) - layout.parameters.footing_depth",
        "low = lowest_ground(layout, centre, size) - 12.0",
        f"{SUPPORT}::test_heights_and_volumes_of_posts_and_footings",
        SUPPORT,
    ),
    _m(
        "a footing sized without the dead load",
        '+ loads.dead_psf + estimate("own weight of posts and beams")',
        '+ estimate("own weight of posts and beams")',
        f"{SUPPORT}::test_a_footing_bears_the_dead_load_as_well",
        SUPPORT,
    ),
    _m(
        "the joist on one side of a guard post forgotten",
        "for w in _sides(hit, layout.across, layout.joist.thickness)[:: layout.ahead(layout.across)]:",
        "for w in _sides(hit, layout.across, layout.joist.thickness)[:1]:",
        f"{FRAME}::test_double_joists_are_plies_beside_a_post_in_the_way",
        FRAME,
    ),
    _m(
        "bays wider than the spacing left so",
        "more = _in_wide_bays(layout, lines, obstacles, rim_footprints)",
        "more = []",
        f"{FRAME}::test_no_bay_is_wider_than_the_spacing",
        FRAME,
    ),
    _m(
        "joists set out from their edges, not their middles",
        "wanted = [start + k * step for k",
        "wanted = [start + t / 2 + k * step for k",
        f"{FRAME}::test_joists_stand_on_centre_from_the_outer_face_of_the_starting_rim",
        FRAME,
    ),
    _m(
        "the mitres of a rim's plies mirrored",
        "return ply * t, (ply + 1) * t",
        "return (ply + 1) * t, ply * t",
        f"{FRAME}::test_mitred_rims_fill_the_outline_s_edge_once",
        FRAME,
    ),
    _m(
        "no blocks over the beams",
        "claims.claim(_over_beam(layout, claims, run))",
        "claims.claim([])",
        f"{FRAME}::test_blocking_is_counted_bay_by_bay",
        FRAME,
    ),
    _m(
        "both plies of a beam spliced over one post",
        "cuts = joints(low, high, inner, longest, trim=trim, beside=cuts, backwards=turned)",
        "cuts = joints(low, high, inner, longest, trim=trim, backwards=turned)",
        f"{SUPPORT}::test_the_plies_of_a_long_beam_are_spliced_over_different_posts",
        SUPPORT,
    ),
    _m(
        "a baluster too few",
        "math.ceil((clear - gap) / (baluster + gap) - 1e-9)",
        "math.floor((clear - gap) / (baluster + gap) - 1e-9)",
        f"{GUARDS}::test_openings_are_equal_within_the_gap_and_the_count_is_the_least",
        GUARDS,
    ),
    _m(
        "the top rail an inch and a half too low",
        "z_top, z_low = level + guard.height, level + guard.bottom_gap",
        "z_top, z_low = level + guard.height - 1.5, level + guard.bottom_gap",
        f"{GUARDS}::test_heights_of_a_level_bay",
        GUARDS,
    ),
    _m(
        "the live load that a joist hands to its beam dropped",
        "self.moving.append(PointLoad(x, brought.most))",
        "pass",
        f"{STRUCTURE}::test_the_beam_posts_and_footings_by_hand",
        "model/structure",
    ),
    _m(
        "the load of the stairs dropped",
        "for part, point, area in stair_loads(parts, touching):",
        "for part, point, area in ():",
        f"{STRUCTURE}::test_every_square_foot_of_a_deck_reaches_the_ground_or_the_house",
        "model/structure",
    ),
    _m(
        "the snow load dropped",
        "self.live * design.live_psf + self.snow * design.ground_snow_psf",
        "self.live * design.live_psf",
        f"{STRUCTURE}::test_combinations_are_those_of_allowable_stress_design",
        "model/strength",
        "model/structure",
    ),
    _m(
        "live load taken on all spans at once",
        "high = tuple(sum((np.maximum(c[k], 0) for c in cases)",
        "high = tuple(sum((c[k] for c in cases)",
        f"{STRUCTURE}::test_patterns_are_the_worst_of_all_there_are",
        "model/strength",
        "model/structure",
    ),
    _m(
        "the gap of the day reckoned with winter for summer",
        "gaps.summer_f - temperature_f))\n    shrinks",
        "temperature_f - gaps.winter_f))\n    shrinks",
        "model/measuring/test_gaps.py",
    ),
)


def place_of(mutation: Mutation, root: Path = ROOT) -> Path:
    """The one file of the model that holds the text. Raises LookupError where none or several places do."""
    found = [(p, p.read_text().count(mutation.old)) for p in sorted((root / "model").rglob("*.py"))]
    found = [(p, n) for p, n in found if n]
    if len(found) != 1 or found[0][1] != 1:
        where = ", ".join(f"{n} times in {p.relative_to(root)}" for p, n in found) or "nowhere"
        raise LookupError(f"{mutation.name}: the text {mutation.old!r} stands {where}; it must stand once")
    return found[0][0]


def copy(folder: Path) -> dict[str, str]:
    """The project copied into `folder`; the environment in which Python takes its modules from the copy."""
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(ROOT / name, folder)
    package = folder / "lib" / "plumbcut"
    shutil.copytree(ROOT / ".package", package)
    for name in ("model", "exports", "shared", "params"):
        (package / name).symlink_to(folder / name)
    return {**os.environ, "PYTHONPATH": str(folder / "lib"), "PYTHONDONTWRITEBYTECODE": "1"}


def first_failure(folder: Path, env: dict[str, str], tests: list[str]) -> str | None:
    """The first test that fails in the copy; None where all pass. In a process forked from this one, which has loaded
    what the tests import but the project itself."""
    said = folder / "said.txt"
    pid = os.fork()
    if pid == 0:
        for n in (1, 2):
            os.dup2(os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), n)
        sys.stdout, sys.stderr = (os.fdopen(n, "w", closefd=False) for n in (1, 2))
        os.chdir(folder)
        os.environ.update(env)
        sys.path[:] = [str(folder / "lib"), *(p for p in sys.path if Path(p or ".").resolve() != TABLE.parent)]
        code = pytest.main(["-q", "-x", "-n", "0", "--benchmark-disable", "--tb=no", "-rfE", *tests])
        sys.stdout.flush()
        os._exit(int(code))
    code, text = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]), said.read_text()
    found = re.search(r"^(?:FAILED|ERROR) (\S+?)(?:\[.*)?(?: - .*)?$", text, re.M)
    if code not in (0, 1) and not found:
        raise RuntimeError(f"pytest ended with {code}: {text[-2000:]}")
    return found[1] if found else None


def caught_by(mutation: Mutation) -> str | None:
    """The first test of the suite that catches a fault: those listed with it are asked first. Raises RuntimeError where
    that test fails without the fault as well."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        env = copy(folder)
        place = place_of(mutation, folder)
        whole = place.read_text()
        place.write_text(whole.replace(mutation.old, mutation.new))
        rooms = [f"tests/{t}" for t in mutation.tests]
        others = [f"--deselect={t}" for t in rooms] + [f"--ignore={f}" for f in ("tests/long", "tests/benchmarks")]
        asked = [*([t] for t in rooms), ["tests/model", *others], ["tests", "--ignore=tests/model", *others]]
        found = next(filter(None, (first_failure(folder, env, tests) for tests in asked)), None)
        place.write_text(whole)
        if found and first_failure(folder, env, [found]):
            raise RuntimeError(f"{found} fails without the fault as well: mend that first")
        return found


def read_table() -> dict[str, str]:
    with TABLE.open(newline="") as file:
        return {row["fault"]: row["caught_by"] for row in csv.DictReader(file)}


def main(names: list[str]) -> int:
    wanted = [m for m in MUTATIONS if not names or m.name in names]
    for m in wanted:
        place_of(m)
    known = read_table() if TABLE.exists() else {}
    for name in LOADED:
        importlib.import_module(name)
    with multiprocessing.get_context("fork").Pool(2, maxtasksperchild=1) as pool:
        for m, found in pool.imap_unordered(_with_catch, wanted):
            known[m.name] = found
            print(f"{m.name}: {found or 'NOTHING CATCHES IT'}", flush=True)
            with TABLE.open("w", newline="") as file:
                rows = [(m.name, known[m.name]) for m in MUTATIONS if m.name in known]
                csv.writer(file, lineterminator="\n").writerows([("fault", "caught_by"), *rows])
    return 0 if all(known[m.name] for m in wanted) else 1


def _with_catch(mutation: Mutation) -> tuple[Mutation, str]:
    return mutation, caught_by(mutation) or ""


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
