"""An edition is rows: one more of them serves every rule without a line of code."""

from __future__ import annotations

import math
import re
import tomllib
from collections import Counter

import pytest
from conftest import PARAMS, demo_checks

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.parameter_file import read
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.structure.structure import analyse
from plumbcut.shared import standards
from plumbcut.shared.errors import DesignError, InputError

NEW = "County code 2031"
TERRACE = Parameters.model_validate(tomllib.loads((PARAMS / "terrace.toml").read_text()))


@pytest.fixture
def one_more(monkeypatch):
    """An invented edition that has a rise of its own and takes all else from IRC 2021."""
    plain = standards.table

    def table(name: str):
        rows = plain(name)
        if name == "editions":
            rows += ({"edition": NEW, "in_force": "yes", "takes_from": "IRC 2021", "how": "memory", "note": ""},)
        if name == "limits":
            own = next(r for r in rows if r["item"] == "riser_height_max")
            rows += ({**own, "value": "7", "editions": NEW, "source": "County code 9.9", "how": "seen"},)
        return rows

    caches = [f for f in vars(standards).values() if hasattr(f, "cache_clear") and f is not plain]
    monkeypatch.setattr(standards, "table", table)
    for f in caches:
        f.cache_clear()
    yield
    for f in caches:
        f.cache_clear()


def test_its_own_row_counts_and_all_else_comes_from_the_one_it_takes_from(one_more):
    assert NEW in standards.editions_in_force()
    own = standards.limit("riser_height_max", NEW)
    assert own.value == 7 and own.citation == "County code 9.9"
    taken = standards.limit("tread_depth_min", NEW)
    assert taken.value == standards.limit("tread_depth_min", "IRC 2021").value and taken.how == "memory"
    span = standards.joist_span("southern pine", "2x8", 16, NEW)
    assert span.value == standards.joist_span("southern pine", "2x8", 16, "IRC 2021").value and span.how == "memory"
    assert standards.clause("joist hangers", NEW).source == f"{NEW} R507.6.1"


def without(monkeypatch, *items: str) -> None:
    """Takes the rows of these limits from every edition."""
    plain = standards.table
    rows = tuple({**r, "editions": ""} if r["item"] in items else r for r in plain("limits"))
    monkeypatch.setattr(standards, "table", lambda name: rows if name == "limits" else plain(name))
    for f in vars(standards).values():
        if hasattr(f, "cache_clear"):
            f.cache_clear()


def test_an_edition_without_a_row_that_a_deck_needs_is_refused_with_its_key(one_more, monkeypatch):
    """Guards cannot be planned without the height from which they are asked for."""
    without(monkeypatch, "guard_required_height_above_grade")
    with pytest.raises(DesignError, match="guard required height above grade") as e:
        lay_out(TERRACE)
    assert e.value.key == "local.edition"


@pytest.mark.parametrize(
    "item, rule",
    [
        ("guard_height_min", "guard height"),
        ("guard_opening_sphere", "guard opening"),
        ("guard_triangle_sphere", "triangle under a stair guard"),
        ("ground_contact_use_category_min", "treatment category"),
        ("bearing_on_wood_min", "bearing on wood"),
        ("soil_unit_weight", "soil bearing (calculation)"),
        ("landing_length_min", "landing length"),
        ("nosing_projection_min", "nosing, least"),
        ("stringer_stock", "stringer stock"),
        ("ledger_row_spacing_min", "ledger fastener rows"),
    ],
)
def test_a_rule_that_an_edition_has_no_row_for_is_not_checked(one_more, monkeypatch, item, rule):
    """One limit less: the deck is built, every rule is still spoken of, and none is met or missed that was not."""
    whole = Counter((r.rule, r.result) for r in demo_checks("terrace") if r.result != "not checked")
    without(monkeypatch, item)
    found = check_deck(build(TERRACE))
    assert not Counter((r.rule, r.result) for r in found if r.result != "not checked") - whole
    silent = {r.rule for r in demo_checks("terrace")} - {r.rule.replace(", hung", "") for r in found}
    assert not silent  # a member that hangs has no seat of its own length: that check bears a name of its own
    said = [r for r in found if r.rule == rule]
    assert said and any(r.result == "not checked" and "local.edition" in worded(r.why) for r in said)
    assert not any(math.isnan(x) for r in found for x in (r.measured, r.limit, r.margin) if x is not None)
    assert not any(re.search(r"\bnan\b", worded(r.why)) for r in found)


def test_an_edition_without_a_share_for_overhangs_leaves_them_unchecked(one_more, monkeypatch):
    without(monkeypatch, "joist_overhang_ratio_max", "beam_overhang_ratio_max")
    found = {t.check: t.result for m in analyse(build(TERRACE)).results for t in m.table}
    assert found["joist overhang, share of span"] == found["beam overhang"] == "not checked"


def test_a_table_that_an_edition_does_not_print_is_named_as_the_other_one():
    """IRC 2015 prints no footing table (`shared/data/tables.csv`)."""
    row = standards.footing("IRC 2015", 1500, 40).round
    assert "2018" in row.source and row.value == standards.footing("IRC 2018", 1500, 40).round.value


@pytest.mark.parametrize(
    "key, value, wanted",
    [('edition = "IRC 1066"', "local.edition", "IRC 2021"), ('treatment = "UCX"', "lumber.treatment", "UC4A")],
)
def test_what_the_rows_do_not_have_is_refused_with_line_and_key(tmp_path, key, value, wanted):
    text = (PARAMS / "terrace.toml").read_text()
    section = value.split(".")[0]
    at = f"\n[{section}]\n"
    text = text.replace(at, f"{at}{key}\n") if at in text else f"{text}{at}{key}\n"
    file = tmp_path / "deck.toml"
    file.write_text(text)
    with pytest.raises(InputError) as e:
        read(file)
    line = next(n for n, l in enumerate(text.splitlines(), 1) if l == key)
    assert f":{line}: {value}" in str(e.value) and wanted in str(e.value)


def test_categories_are_ranked_and_not_compared_as_text():
    order = standards.use_categories()
    assert order.index("UC3B") < order.index("UC4A") < order.index("UC4C") < order.index("UC5A")
    assert Parameters.model_fields["lumber"].default_factory().treatment in order
