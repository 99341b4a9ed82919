"""What a build does to files that are not its own, to links, and to leftovers; kills at random moments."""

from __future__ import annotations

import contextlib
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

LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc, asks the system of Linux")


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


def test_a_folder_that_cannot_be_made_is_refused_before_the_work(tmp_path):
    (tmp_path / "file").write_text("mine")
    (tmp_path / "gone").symlink_to(tmp_path / "not" / "there")
    for place, why in (("file/sub", "file is a file"), ("gone/a/b", "gone is a link that leads nowhere")):
        with pytest.raises(InputError, match=why):
            folder.check_replaceable(tmp_path / place)
    folder.check_replaceable(tmp_path / "new" / "sub")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["file", "gone"]


@pytest.mark.parametrize("call", ["compare", "compare two", "build", "picture"])
def test_every_command_refuses_it_without_the_kernel(call, tmp_path):
    """An output folder below a file; `--csv` and `--out` of a sweep too, before any variant is built."""
    deck = tmp_path / "deck.toml"
    deck.write_text((PARAMS / "terrace.toml").read_text().replace('prices = "prices.csv"', ""))
    sweep = ["compare", str(deck), "--vary", "frame.joist_spacing=12,16,24"]
    call = {"compare": sweep, "compare two": [*sweep[:-1], "frame.joist_spacing=12,16"]}.get(call, [call, str(deck)])
    code = (
        f"import sys\nfrom plumbcut.exports.command import main\ntry:\n    main({[*call, '--out', f'{deck}/sub']!r})\n"
        "except SystemExit as e:\n    print(e.code, 'OCP' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path)
    assert done.stdout.split() == ["2", "False"] and done.stderr.startswith("--out: ") and done.stderr.count("\n") == 1
    assert [p.name for p in tmp_path.iterdir()] == ["deck.toml"]


LIST = (PARAMS / "prices.csv").read_text()


@pytest.mark.parametrize(
    "call",
    [
        ["check", "a.toml", "--csv", "prices.csv"],
        ["compare", "b.toml", "a.toml", "--csv", "prices.csv"],
        ["compare", "b.toml", "b.toml", "--prices", "prices.csv", "--csv", "again.csv"],
        ["compare", "a.toml", "--vary", "levels.surface=30,32", "--csv", "prices.csv"],
        ["compare", "b.toml", "--vary", "levels.surface=30,32", "--out", ".", "--csv", "./sweep.csv"],
    ],
    ids=["check", "compare", "given list", "sweep", "the sweep's own"],
)
def test_a_csv_is_not_written_over_the_price_list_nor_where_the_sweep_writes(call, tmp_path, monkeypatch, capsys):
    (tmp_path / "prices.csv").write_text(LIST)
    (tmp_path / "again.csv").symlink_to("prices.csv")
    design = "[outline]\nwidth = 130\ndepth = 90\n[levels]\nsurface = 30\n"
    (tmp_path / "b.toml").write_text(design)
    (tmp_path / "a.toml").write_text(f'{design}[order]\nprices = "prices.csv"\n')
    (tmp_path / SIGN).write_text('{"files": {}}')  # as if an earlier build had written here
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as ended:
        main(call)
    said = capsys.readouterr().err
    assert ended.value.code == 2 and said.startswith("--csv: ") and said.count("\n") == 1
    assert (tmp_path / "prices.csv").read_text() == LIST and not (tmp_path / "sweep.csv").exists()


def test_a_mounted_folder_inside_the_output_is_left_alone(tmp_path, monkeypatch):
    out = tmp_path / "an out"
    write(out, a="one")
    (out / "photos").mkdir()
    (out / "photos" / "b.jpg").write_text("mine")
    monkeypatch.setattr(folder, "_mounts", lambda: ["/", f"{out}er", str(out / "photos")])
    with pytest.raises(InputError, match=r"photos is mounted there"):
        write(out, a="two")
    monkeypatch.setattr(folder, "_mounts", lambda: ["/", str(out)])
    with pytest.raises(InputError, match="is a mounted folder"):
        write(out, a="two")
    assert tree(out) == {"a": "one", "photos/b.jpg": "mine"}


BOUND = """
import sys
from pathlib import Path
from plumbcut.exports.folder import output_folder
from plumbcut.shared.errors import InputError
try:
    with output_folder(Path(sys.argv[1])) as work:
        (work / "a").write_text("two")
except InputError as e:
    print(e)
"""


@LINUX
def test_a_folder_really_bound_inside_the_output_keeps_its_files(tmp_path):
    """A mount in a name space of its own, where the system lets us make one."""
    out, photos = tmp_path / "an out", tmp_path / "photos"
    write(out, a="one")
    photos.mkdir()
    (photos / "b.jpg").write_text("mine")
    (out / "bound here").mkdir()
    script = 'mount --bind "$1" "$2/bound here" && echo bound && exec "$3" -c "$4" "$2"'
    call = ["unshare", "-rm", "sh", "-c", script, "sh", str(photos), str(out), sys.executable, BOUND]
    try:
        done = subprocess.run(call, capture_output=True, text=True)
    except FileNotFoundError:
        pytest.skip("no unshare here")
    if not done.stdout.startswith("bound"):
        pytest.skip("this system lets nobody mount")
    assert done.stdout.splitlines()[1:] == [
        f"--out: {out}/bound here is mounted there; unmount it or give another folder"
    ]
    assert (photos / "b.jpg").read_text() == "mine" and (out / "a").read_text() == "one"


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
import ctypes, os, sys, time
from plumbcut.exports.beside import beside
def work(later):
    print(os.getpid(), flush=True)
    if sys.argv[1] == "python":
        while True:
            pass
    ctypes.PyDLL(None).sleep(600)  # PyDLL keeps the interpreter to itself: no thread of this process runs
with beside(print) as second:
    second.begin(work)
    time.sleep(600)
"""
SWEEP = """
import sys
from pathlib import Path
from plumbcut.exports.comparing import sweep
if __name__ == "__main__":
    values = [(("levels.surface", f"{n}in"),) for n in range(20, 60)]
    sweep.sweep(Path(sys.argv[1]), values, print, processes=2)
"""


def running(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def of_session(session: int) -> list[int]:
    """Every process of a session that still runs."""
    found = []
    for entry in Path("/proc").iterdir():
        with contextlib.suppress(OSError, ValueError):
            fields = (entry / "stat").read_text().rsplit(")", 1)[1].split()
            if int(fields[3]) == session and fields[0] != "Z":
                found.append(int(entry.name))
    return found


def assert_all_end(session: int, seconds: float = 30.0) -> None:
    end = time.monotonic() + seconds
    while left := of_session(session):
        if time.monotonic() > end:
            for pid in left:
                os.kill(pid, signal.SIGKILL)
            raise AssertionError(f"{len(left)} still run")
        time.sleep(0.02)


@pytest.mark.parametrize("holds", ["python", pytest.param("library", marks=LINUX)])
def test_the_second_process_ends_with_the_first(holds):
    parent = subprocess.Popen([sys.executable, "-c", PARENT, holds], stdout=subprocess.PIPE, start_new_session=True)
    child = int(parent.stdout.readline())
    time.sleep(0.2)  # it is in its call
    assert running(child)
    parent.send_signal(signal.SIGKILL)
    parent.wait()
    assert_all_end(parent.pid)


@LINUX
def test_the_processes_of_a_sweep_end_with_it(tmp_path):
    script = tmp_path / "job.py"
    script.write_text(SWEEP)
    parent = subprocess.Popen(
        [sys.executable, script, PARAMS / "terrace.toml"], stdout=subprocess.PIPE, start_new_session=True, bufsize=0
    )
    parent.stdout.read(1)  # one variant is done
    assert len(of_session(parent.pid)) >= 3
    parent.send_signal(signal.SIGKILL)
    parent.wait()
    assert_all_end(parent.pid)


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
    with pytest.raises(SystemExit) as checked:  # a check needs no prices, but the frame is chosen by them
        main(["check", str(deck)])
    said = [line for line in capsys.readouterr().err.splitlines() if "order.prices" in line]
    assert checked.value.code in (0, 1) and len(said) == 1 and said[0].startswith(f"{deck}:7: order.prices")
    assert said[0].endswith("without prices here")
    with pytest.raises(SystemExit) as checked:
        main(["check", str(deck), "--prices", str(prices)])
    assert checked.value.code in (0, 1)
    main(["build", str(deck), "--out", str(tmp_path / "out"), "--prices", str(prices)], standalone_mode=False)
    assert "price" in (tmp_path / "out" / "order.csv").read_text()


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="no folder that refuses new files whoever asks")
def test_a_folder_that_takes_no_new_file_is_told_before_the_work():
    """Its permissions let the system's own user write there, and it refuses all the same."""
    with pytest.raises(InputError, match="--csv: /proc/x.csv cannot be written: "):
        check_file("--csv", Path("/proc/x.csv"))
