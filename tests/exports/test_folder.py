"""What a build does to files that are not its own, to links, and to leftovers; kills at random moments."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from conftest import PARAMS

from plumbcut.exports import folder
from plumbcut.exports.command import main
from plumbcut.exports.drafting.titleblock import block
from plumbcut.exports.folder import SIGN, check_file, output_folder
from plumbcut.shared.errors import InputError


def write(out: Path, **files: str) -> None:
    with output_folder(out) as work:
        for name, text in files.items():
            place = work / name.replace("__", "/").replace("_", ".")
            place.parent.mkdir(exist_ok=True)
            place.write_text(text)


def tree(place: Path) -> dict[str, str]:
    return {
        p.relative_to(place).as_posix(): os.readlink(p) if p.is_symlink() else p.read_text()
        for p in sorted(place.rglob("*"))
        if (p.is_symlink() or p.is_file()) and p.name not in (SIGN, folder._BUSY)
    }


def test_only_what_the_build_before_wrote_is_taken_away(tmp_path):
    out = tmp_path / "out"
    write(out, order_csv="one", sheets__a_png="one", gone_txt="one")
    (out / "deck.toml").write_text("mine")
    (out / "sheets" / "photo.jpg").write_text("mine")
    (out / "empty").mkdir()
    (out / "link").symlink_to("nowhere")
    write(out, order_csv="two", sheets__b_png="two")
    expected = {
        "order.csv": "two",
        "sheets/b.png": "two",
        "deck.toml": "mine",
        "sheets/photo.jpg": "mine",
        "link": "nowhere",
    }
    assert tree(out) == expected
    write(out, order_csv="three")
    assert tree(out) == {**{k: v for k, v in expected.items() if k != "sheets/b.png"}, "order.csv": "three"}
    assert (out / "empty").is_dir() and [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_file_changed_since_the_build_is_kept_beside_the_new_one(tmp_path):
    out = tmp_path / "out"
    write(out, order_csv="one")
    for note in ("first", "second"):
        (out / "order.csv").write_text(note)
        write(out, order_csv="new")
    assert tree(out) == {"order.csv": "new", "order.kept.csv": "first", "order.kept-2.csv": "second"}


def test_a_file_of_theirs_where_the_build_has_a_folder(tmp_path):
    out = tmp_path / "out"
    write(out, order_csv="one")
    (out / "sheets").write_text("mine")
    write(out, order_csv="two", sheets__a_png="two")
    assert tree(out) == {"order.csv": "two", "sheets/a.png": "two", "sheets.kept": "mine"}
    (out / "order.csv").unlink()
    (out / "order.csv").mkdir()
    (out / "order.csv" / "x").write_text("mine")
    write(out, order_csv="three")
    assert tree(out) == {"order.csv": "three", "order.csv.kept/x": "mine", "sheets.kept": "mine"}


def test_the_parameter_file_may_lie_in_its_own_output(tmp_path):
    out = tmp_path / "out"
    write(out, a="one")
    deck = out / "deck.toml"
    deck.write_text("[outline]\nwidth = 130\ndepth = 90\n[levels]\nsurface = 30\n")
    assert main(["picture", str(deck), "--out", str(out)], standalone_mode=False) is None
    assert deck.exists() and not (out / "a").exists() and list(out.glob("*.png"))


def test_a_folder_marked_without_a_list_is_left_alone(tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    (out / SIGN).write_text("written by plumbcut: replaced whole by the next build\n")
    (out / "order.csv").write_text("old")
    with pytest.raises(InputError, match="kept no list"):
        write(out, order_csv="new")
    assert (out / "order.csv").read_text() == "old"


def test_a_linked_output_keeps_its_link(tmp_path):
    (tmp_path / "disk" / "real").mkdir(parents=True)
    (tmp_path / "out").symlink_to(tmp_path / "disk" / "real")
    for text in ("one", "two"):
        write(tmp_path / "out", a=text)
        assert (tmp_path / "out").is_symlink() and (tmp_path / "disk" / "real" / "a").read_text() == text
    assert [p.name for p in (tmp_path / "disk").iterdir()] == ["real"]


def test_a_dangling_link_and_a_pipe_are_refused_before_the_work(tmp_path):
    (tmp_path / "out").symlink_to(tmp_path / "gone")
    with pytest.raises(InputError, match="is a link to .*gone, which is not there"):
        write(tmp_path / "out", a="x")
    write(tmp_path / "real", a="x")
    os.mkfifo(tmp_path / "real" / "pipe")
    with pytest.raises(InputError, match="pipe is neither a file nor a folder"):
        write(tmp_path / "real", a="y")
    assert (tmp_path / "real" / "a").read_text() == "x"


def test_a_csv_file_is_looked_at_before_the_work(tmp_path):
    deck = tmp_path / "deck.toml"
    deck.write_text("x")
    (tmp_path / "again.toml").symlink_to(deck)
    (tmp_path / "gone.csv").symlink_to(tmp_path / "not" / "there")
    for path, why in (
        (deck, "is the file that is read"),
        (tmp_path / "again.toml", "is the file that is read"),
        (tmp_path / "gone.csv", "which is not there"),
        (tmp_path / "no" / "x.csv", "there is no folder"),
        (tmp_path, "is no file"),
    ):
        with pytest.raises(InputError, match=why):
            check_file("--csv", path, deck)
    assert deck.read_text() == "x"
    check_file("--csv", tmp_path / "new.csv", deck)


WRITER = """
import sys, time
from pathlib import Path
from plumbcut.exports.folder import output_folder
out, text = Path(sys.argv[1]), sys.argv[2]
print("begun", flush=True)
while True:
    with output_folder(out) as work:
        for n in range(20):
            (work / f"{n}.txt").write_text(text * 1000)
"""


def test_kills_at_random_moments_leave_a_whole_output_and_the_next_build_clears_up(tmp_path, monkeypatch):
    out = tmp_path / "out"
    write(out, **{f"{n}_txt": "a" * 1000 for n in range(20)})
    (out / "mine.txt").write_text("mine")
    lot = random.Random(7)
    for text in "bcdefgh":
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(out), text], stdout=subprocess.PIPE)
        writer.stdout.readline()
        time.sleep(lot.uniform(0.0, 0.2))
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        found = tree(out)
        assert found.pop("mine.txt") == "mine"
        assert sorted(found) == sorted(f"{n}.txt" for n in range(20)) and len(set(found.values())) == 1
    monkeypatch.setattr(folder, "_JUST_MADE", -1.0)  # one may have been killed with its folder still empty
    write(out, a="last")
    assert tree(out) == {"a": "last", "mine.txt": "mine"}
    assert not (out / folder._BUSY).exists()
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_the_folder_of_a_build_that_still_runs_is_left_alone(tmp_path):
    with output_folder(tmp_path / "out") as first:
        (first / "a").write_text("first")
        write(tmp_path / "out", b="second")
        assert (first / "a").read_text() == "first"
    assert tree(tmp_path / "out") == {"a": "first"}


def test_a_copy_of_an_output_is_nobodys_leftover(tmp_path):
    out = tmp_path / "out"
    write(out, a="one")
    for name in (".out.plumbcut-backup", ".out.plumbcut-abcdefgh"):
        shutil.copytree(out, tmp_path / name)
        (tmp_path / name / "mine.txt").write_text("mine")
    with output_folder(out) as work:
        shutil.copytree(work, tmp_path / ".out.plumbcut-12345678")
    write(out, a="two")
    for name in (".out.plumbcut-backup", ".out.plumbcut-abcdefgh"):
        assert (tmp_path / name / "mine.txt").read_text() == "mine"
    assert (tmp_path / ".out.plumbcut-12345678").is_dir()


PARENT = """
import os, sys, time
from plumbcut.exports.beside import beside
def work():
    print(os.getpid(), flush=True)
    while True:
        pass
with beside(work, print):
    time.sleep(600)
"""


def test_the_second_process_ends_with_the_first(tmp_path):
    parent = subprocess.Popen([sys.executable, "-c", PARENT], stdout=subprocess.PIPE)
    child = int(parent.stdout.readline())
    parent.send_signal(signal.SIGKILL)
    parent.wait()
    end = time.monotonic() + 60
    while time.monotonic() < end:
        try:
            state = Path(f"/proc/{child}/stat").read_text().rsplit(")", 1)[1].split()[0]
        except OSError:
            return
        if state == "Z":
            return
        time.sleep(0.05)
    os.kill(child, signal.SIGKILL)
    raise AssertionError("the second process still runs")


def test_a_text_of_many_lines_is_lettered_smaller():
    cell = next(c for c in block("letter").cells if c.tag == "address")
    found = [text for _, text in cell.texts("one\ntwo\nthree\nfour")]
    _left, bottom, _right, top = cell.box
    assert [t.text for t in found] == ["one", "two", "three", "four"]
    assert all(bottom < t.at[1] and t.at[1] + t.height < top for t in found)


def test_a_price_list_outside_the_files_folder_is_given_on_the_command_line(tmp_path, capsys):
    (tmp_path / "job").mkdir()
    deck, prices = tmp_path / "job" / "deck.toml", tmp_path / "prices.csv"
    prices.write_text((PARAMS / "prices.csv").read_text())
    deck.write_text('[outline]\nwidth = 130\ndepth = 90\n[levels]\nsurface = 30\n[order]\nprices = "../prices.csv"\n')
    with pytest.raises(SystemExit) as ended:
        main(["build", str(deck), "--out", str(tmp_path / "out")])
    assert ended.value.code == 2 and not (tmp_path / "out").exists()
    said = capsys.readouterr().err
    assert f"{deck}:7: order.prices" in said and "--prices ../prices.csv" in said and said.count("\n") == 1
    main(["build", str(deck), "--out", str(tmp_path / "out"), "--prices", str(prices)], standalone_mode=False)
    assert "price" in (tmp_path / "out" / "order.csv").read_text()
