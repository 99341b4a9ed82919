"""Values tried for rows that are not met: what a build with each says, and lines that mend the file when pasted."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from click.testing import CliRunner

from plumbcut.exports.command import main
from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.report import _pasted
from plumbcut.model.deck import build
from plumbcut.model.design.advised import checked_with_mends, values_of
from plumbcut.model.design.member_mends import member_mends
from plumbcut.model.design.trials import _tried
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.rules.check_result import CheckResult
from plumbcut.model.structure.structure import analyse

FILE = """[outline]
width = "6 ft"
depth = "5 ft"
[levels]
surface = "34 in"
[guard]
height = 34
"""


def test_pasting_what_check_mend_names_mends_the_file(tmp_path):
    """Exit code as `check`; the row says whether its value mends it; with the lines in their places `check` has no row
    that is not met."""
    path = tmp_path / "deck.toml"
    path.write_text(FILE)
    done = CliRunner().invoke(main, ["check", str(path), "--mend"])
    assert done.exit_code == 1
    told = re.sub(r"\s+", " ", done.output.split("MEND (3)")[1])
    assert "guard height; front edge" in told
    assert "guard.height = 36: met then; guard height, right edge TR1: met (was not met);" in told
    assert "LINES TO PASTE [guard] height = 36 # in place of line 7 " in told
    assert told.endswith("with all of these at once every row that was checked is met ")
    path.write_text(FILE.replace("height = 34", "height = 36"))
    after = CliRunner().invoke(main, ["check", str(path), "--mend"])
    assert after.exit_code == 0 and "MEND: no row is not met" in after.output


def test_lines_to_paste_name_their_table():
    """A table of a list has no head of its own that could be pasted: its number and its line are told."""
    values = {"stair.1.landings.0.depth": 40.0, "stair.1.going": 10.0, "frame.footing.size": 22.0, "frame.joist": "2x8"}
    lines = {"stair.1": 30, "stair.1.landings.0": 34, "stair.1.going": 31}
    assert _pasted(values, lines.get) == [
        "# in stair 2, landings 1, begun on line 34:",
        "depth = 40  # the file leaves it out",
        "# in stair 2, begun on line 30:",
        "going = 10  # in place of line 31",
        "[frame.footing]",
        "size = 22  # the file leaves it out",
        "[frame]",
        'joist = "2x8"  # the file leaves it out',
    ]


def row(rule, place, result):
    return CheckResult(rule, "a source", place, 1.0, 2.0, 1.0, "in", "at most", result)


def test_a_trial_is_read_off_the_rows_of_the_deck_built():
    """Marks are given anew with every deck: a row is the same by its rule and its place without them."""
    before = [
        row("joist span (table)", "joist J3, field", "not met"),
        row("beam span (table)", "beam BM1, behind the front edge", "met"),
        row("rise", "stair 1 riser 6", "met"),
        row("rise", "stair 2 riser 3", "met"),
    ]
    after = [
        replace(before[0], place="joist J1, field", result="met"),
        replace(before[1], place="beam BM2, behind the front edge", result="not met"),
        replace(before[2], place="stair 1 riser 4", result="met"),
        replace(before[3], place="stair 2 riser 1", result="not checked"),
        row("notch depth", "joist J2", "not met"),
    ]
    found = _tried(before[0], ("frame.joist", "2x10"), before, after)
    assert found.met and not found.refused
    assert [(o.row.rule, o.before, o.after) for o in found.others] == [
        ("beam span (table)", "met", "not met"),
        ("notch depth", "", "not met"),
        ("rise", "met", "not checked"),
    ]
    still = [replace(before[0], place="joist J1, field"), *after[1:]]
    assert not _tried(before[0], ("frame.joist", "2x8"), before, still).met
    one_left = _tried(before[0], ("frame.joist", "2x8"), [before[0], before[0]], [before[0]])
    assert one_left.met  # of two alike one is mended
    assert _tried(before[0], ("frame.joist", "2x4"), before, "no such size").refused == "no such size"


def test_the_spacing_that_a_ledger_s_row_names_is_tried():
    """By the published table, and by the yield equations under a load outside it: a quarter nearer is met."""
    given = {"outline": {"width": 150, "depth": 130}, "levels": {"surface": 40}}
    for loads in ({}, {"ground_snow_psf": 90}):
        said = {"ledger_fastener": "bolt", "ledger_spacing": 48}
        deck = build(Parameters.model_validate({**given, "loads": loads, "hardware": said}))
        found = next(r for r in checked_with_mends(deck) if r.rule.startswith("ledger, bolt"))
        assert found.result == "not met"
        ((key, value),) = values_of(found, deck, [])
        assert key == "hardware.ledger_spacing" and f"{value:g} in on centre" in worded(found.why)
        near = build(
            Parameters.model_validate({**given, "loads": loads, "hardware": {**said, "ledger_spacing": value}})
        )
        assert next(r for r in checked_with_mends(near) if r.rule.startswith("ledger, bolt")).result == "met"


def test_a_rail_sheared_too_much_is_told_a_larger_one():
    """700 lb beside a post: 1.5 x 700 / 5.25 = 200 psi in a 2x4, whatever the distance to the next post."""
    given = {"outline": {"width": 150, "depth": 130}, "levels": {"surface": 60}, "local": {"guard_post_load_lb": 700}}
    deck = build(Parameters.model_validate(given))
    rails = [r for r in analyse(deck).of("top rail") for v in r.calculation if v.check == "shear"]
    sheared = next(v for v in rails[0].calculation if v.check == "shear")
    assert sheared.demand == pytest.approx(200) and sheared.result == "not met"
    assert [*member_mends(rails[0], sheared, deck)] == [("guard.top_rail", "2x6")]
    wide = build(Parameters.model_validate({**given, "guard": {"top_rail": "2x6"}}))
    assert {v.result for r in analyse(wide).of("top rail") for v in r.calculation if v.check == "shear"} == {"met"}
