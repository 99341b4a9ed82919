"""The list of planted faults follows the code, and each was caught; `mutations.py` plants them."""

from __future__ import annotations

import re

import pytest
from mutations import MUTATIONS, ROOT, Mutation, place_of, read_table


@pytest.mark.parametrize("mutation", MUTATIONS, ids=lambda m: m.name)
def test_every_patch_still_applies(mutation):
    changed = place_of(mutation).read_text().replace(mutation.old, mutation.new)
    compile(changed, "changed", "exec")
    assert mutation.old not in changed or mutation.old in mutation.new


def test_a_patch_whose_text_has_gone_says_so():
    with pytest.raises(LookupError, match=r"nowhere; it must stand once"):
        place_of(Mutation("x", "this text stands nowhere in the model", "", ()))
    with pytest.raises(LookupError, match=r"times in .*; it must stand once"):
        place_of(Mutation("x", "import", "", ()))


def test_each_fault_was_caught_by_a_test_that_is_there():
    """`mutations.csv` as the last run wrote it."""
    table = read_table()
    assert list(table) == [m.name for m in MUTATIONS] and len(table) >= 30
    for fault, test in table.items():
        file, _, name = test.partition("::")
        assert name, f"nothing catches: {fault}"
        assert re.search(rf"^def {name}\(", (ROOT / file).read_text(), re.M), f"{fault}: {test} is not there"
