"""A few mutated demo files; `fuzz.py` does as many as wanted."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import fuzz
import pytest


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="forks, reads /proc")
def test_mutated_files_are_drawn_or_refused_in_clear_lines(tmp_path):
    """In a process of its own: it forks for every file."""
    script = Path(__file__).with_name("fuzz.py")
    done = subprocess.run([sys.executable, script, "25", "1", tmp_path / "broke"], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.startswith("25 files: ") and not (tmp_path / "broke").exists()


def raises(arguments, prog_name):
    raise KeyError("width")


def writes_outside(arguments, prog_name):
    Path("../beside.txt").write_text("x")


def leaves_half(arguments, prog_name):
    Path(".out.work").mkdir()
    print("deck.toml:3: outline.width: got -1; wanted more", file=sys.stderr)
    sys.exit(2)


def says_no_key(arguments, prog_name):
    print("width must be positive", file=sys.stderr)
    sys.exit(2)


def takes_all_memory(arguments, prog_name):
    print(len(bytearray(1 << 40)))


def never_ends(arguments, prog_name):
    while True:
        pass


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="forks, reads /proc")
@pytest.mark.parametrize(
    "planted, told",
    [
        (raises, "traceback: KeyError: 'width'"),
        (writes_outside, "outside its folder: open "),
        (leaves_half, "lies about: .out.work"),
        (says_no_key, "not a line with line and key"),
        (takes_all_memory, "traceback: MemoryError"),
        (never_ends, "no end within 1 s"),
    ],
    ids=lambda v: getattr(v, "__name__", ""),
)
def test_what_is_planted_is_found(planted, told, tmp_path, monkeypatch):
    from plumbcut.exports import command

    monkeypatch.setattr(command, "main", planted)
    monkeypatch.setattr(fuzz, "CPU_SECONDS", 1)
    outcome = fuzz.run_file(tmp_path / "0", b"", built=False)
    assert any(told in fault for fault in outcome.faults), outcome
