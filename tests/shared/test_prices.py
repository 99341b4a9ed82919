"""Price lists that are none: a pipe, a device, what the CSV format does not know, mutated lists."""

from __future__ import annotations

import os
import random
import sys
from pathlib import Path

import pytest
from conftest import PARAMS

from plumbcut.shared import prices
from plumbcut.shared.errors import InputError

HEAD = "item,material,length_ft,unit,price\n"


def refused(path: Path) -> str:
    with pytest.raises(InputError) as told:
        prices.read_prices(path)
    assert str(told.value).startswith(str(path)) and len(str(told.value)) < 300
    assert str(told.value).count("\n") == 0
    return str(told.value)


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes in the file system")
def test_a_pipe_and_a_device_are_not_read(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    assert "no file on a disk" in refused(tmp_path / "pipe")
    assert "no file on a disk" in refused(Path("/dev/zero"))
    assert "no file on a disk" in refused(tmp_path)


@pytest.mark.parametrize(
    "text, said",
    [
        (HEAD + "2x4,,,ft,0.7\x00\n", ":2: 2x4: got the price '0.7"),
        (HEAD + '"' + "x" * 200_000 + '",,,ft,1\n', "is no price list (CSV): field larger than"),
        (HEAD + "x" * 1000 + ",,,yard,1\n", "got the unit 'yard'; allowed are each, ft"),
        (HEAD + "2x4,,,ft," + "9" * 1000 + "\n", ":2: 2x4: got the price '999"),
        (HEAD + "2x4,,,ft,-1\n", ":2: 2x4: got the price '-1'"),
        (HEAD + "x" * prices.LARGEST_LIST, "is larger than 5,000,000 bytes"),
        ("", "has no column item"),
    ],
    ids=["nul", "long field", "long item", "many digits", "below nothing", "large", "empty"],
)
def test_what_is_no_price_list_gets_one_line(tmp_path, text, said):
    path = tmp_path / "list.csv"
    path.write_text(text)
    assert said in refused(path)


def test_mutated_lists_are_read_or_refused(tmp_path):
    """A thousand lists with bytes changed, dropped and put in by lot: rows, or a line for each fault."""
    lot, source, path = random.Random(5), (PARAMS / "prices.csv").read_bytes(), tmp_path / "list.csv"
    told = 0
    for _ in range(1000):
        text = bytearray(source)
        for _ in range(lot.randint(1, 5)):
            at = lot.randrange(len(text))
            text[at : at + lot.choice([0, 1, 1, 5, 200])] = lot.choice(
                [b"", b",", b'"', b"\n", b"\x00", b"\xff", b"nan"]
            )
        path.write_bytes(text)
        try:
            assert prices.read_prices(path).rows
        except InputError as e:
            told += 1
            assert all(line.startswith(str(path)) for line in str(e).splitlines())
    assert 100 < told < 1000
