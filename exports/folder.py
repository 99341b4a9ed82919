"""The output folder of one build: written beside its place under another name and moved there whole at the end.

A build that fails, is interrupted or is killed leaves the earlier output as it was. A marker lists every file of a
build with its checksum: the next build takes away just those. Whatever else lies in the folder stays, and a file of the
build that somebody changed since is kept beside its new version.
"""

from __future__ import annotations

import contextlib
import ctypes
import glob
import hashlib
import json
import os
import re
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from ..shared.errors import InputError

FOLDER_NOTE = "written by plumbcut: the next build replaces the files listed here and no others"
SIGN = ".plumbcut"  # marks a folder as ours and lists what a build wrote into it
_BUSY = ".plumbcut-busy"  # held locked in a folder that a build is writing
_WORK = ".plumbcut-"  # in the name of every working folder, so that no other folder is taken for one
_JUST_MADE = 60.0  # seconds: an empty leftover younger than this may be of a build that has just begun


@contextlib.contextmanager
def output_folder(out: Path) -> Iterator[Path]:
    """A temporary folder that takes `out`'s place when the block ends well and vanishes when it does not.

    Raises InputError before any work where `out` is a file, a dangling link, or a folder with things in it that no
    build wrote. A link to a folder stays a link: the folder it leads to is replaced.
    """
    check_replaceable(out)
    out = _place(out)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        clear_leftovers(out)
        work = Path(tempfile.mkdtemp(prefix=f".{out.name}{_WORK}", dir=out.parent))
    except OSError as e:
        raise InputError(f"--out: cannot write beside {out}: {e.strerror}") from None
    with _held(work):
        try:
            yield work
            (work / SIGN).write_text(json.dumps({"note": FOLDER_NOTE, "files": _listed(work)}, indent=1) + "\n")
            umask = os.umask(0)
            os.umask(umask)
            work.chmod(0o777 & ~umask)
            _swap(work, out)
        except OSError as e:
            if not str(e.filename or "").startswith((str(work), str(out))):
                raise
            raise InputError(f"--out: cannot write {e.filename}: {e.strerror}") from None
        finally:
            if work.exists():
                _remove(work)


def check_replaceable(out: Path) -> None:
    """Raise InputError where a build must not take the place of what is there."""
    if out.is_symlink() and not out.exists():
        raise InputError(f"--out: {out} is a link to {os.readlink(out)}, which is not there; give a folder")
    if out.exists() and not out.is_dir():
        raise InputError(f"--out: {out} is a file; give a folder")
    folder = _place(out)
    _check_above(out, folder.parent)
    _check_mounts(folder)
    if folder.is_dir() and any(folder.iterdir()):
        if not (folder / SIGN).exists():
            raise InputError(f"--out: {out} holds files that no build wrote; give an empty or a new folder")
        if _written(folder) is None:
            raise InputError(
                f"--out: {out} was written by a build that kept no list of its files; move it away or give a new folder"
            )
        for path in _inside(folder):
            if not (path.is_symlink() or path.is_file() or path.is_dir()):
                raise InputError(f"--out: {path} is neither a file nor a folder; move it away or give a new folder")


def _check_above(out: Path, parent: Path) -> None:
    """Raise InputError where the folder that `out` is to lie in cannot be made or written."""
    while not os.path.lexists(parent):
        parent = parent.parent
    if not parent.is_dir():
        what = "is a file" if parent.exists() else "is a link that leads nowhere"
        raise InputError(f"--out: {out} cannot be made: {parent} {what}; give another folder")
    if not os.access(parent, os.W_OK | os.X_OK):
        raise InputError(f"--out: {out} cannot be written: permission denied in {parent}")


def _check_mounts(folder: Path) -> None:
    """Raise InputError where a folder is, or holds, one that is mounted there: it cannot change its place, and what was
    taken away with it would be gone from where it comes from."""
    here = os.path.realpath(folder)
    for point in sorted(_mounts()):
        if point == here:
            raise InputError(f"--out: {folder} is a mounted folder; give a folder inside it")
        if point.startswith(f"{here}/"):
            raise InputError(f"--out: {point} is mounted there; unmount it or give another folder")


def _mounts() -> list[str]:
    """Where anything is mounted, bound folders among them (Linux says; elsewhere none are known)."""
    try:
        rows = Path("/proc/self/mountinfo").read_text().splitlines()
    except OSError:
        return []
    # a blank or a backslash in the name stands there as its octal number
    return [re.sub(r"\\(\d{3})", lambda m: chr(int(m[1], 8)), row.split()[4]) for row in rows]


def check_file(option: str, path: Path, *inputs: Path) -> None:
    """Raise InputError where one file cannot be written before the work starts, or where writing it would destroy one
    of the `inputs`."""
    if any(path.exists() and other.exists() and os.path.samefile(path, other) for other in inputs):
        raise InputError(f"{option}: {path} is the file that is read; give another name")
    if path.is_symlink() and not path.exists():
        raise InputError(f"{option}: {path} is a link to {os.readlink(path)}, which is not there")
    if path.exists() and not path.is_file():
        raise InputError(f"{option}: {path} is no file; give a file's name")
    folder = path.parent
    if not folder.is_dir():
        raise InputError(f"{option}: there is no folder {folder}; make it, or give another")
    if not os.access(path if path.exists() else folder, os.W_OK):
        raise InputError(f"{option}: {path} cannot be written: permission denied")
    if not path.exists():  # a folder may refuse new files though its permissions do not say so
        try:
            tempfile.TemporaryFile(dir=folder).close()
        except OSError as e:
            raise InputError(f"{option}: {path} cannot be written: {(e.strerror or str(e)).lower()}") from None


def clear_leftovers(out: Path) -> None:
    """Take away the working folders of builds of `out` that were killed. One whose build still runs is left alone, and
    so is every folder that does not say of itself that it is one: somebody's copy has another name than it says."""
    for path in sorted(out.parent.glob(f".{glob.escape(out.name)}{_WORK}*")):
        if path.is_symlink() or not path.is_dir():
            continue
        try:
            if not any(path.iterdir()):
                if time.time() - path.stat().st_mtime > _JUST_MADE:
                    path.rmdir()
            elif _claimed(path) and _free(path / _BUSY):
                if out.exists() or not (path / SIGN).is_file():
                    _remove(path)
                else:  # killed between two renames, where there is no exchange in one step
                    path.rename(out)
                    (out / _BUSY).unlink()
        except OSError:
            continue  # gone already


def _place(out: Path) -> Path:
    """Where the folder itself lies: behind a link, where that leads."""
    return Path(os.path.realpath(out) if out.is_symlink() else os.path.abspath(out))


@contextlib.contextmanager
def _held(work: Path) -> Iterator[None]:
    """The working folder marked as in use for as long as this process lives."""
    with open(work / _BUSY, "w") as busy:
        if sys.platform != "win32":
            import fcntl

            fcntl.flock(busy, fcntl.LOCK_EX)
        busy.write(_claim(work))
        busy.flush()
        yield


def _claimed(path: Path) -> bool:
    """Whether a folder says that it is a working folder, or was killed while it was about to."""
    if not (path / _BUSY).is_file():
        return False
    said = (path / _BUSY).read_text()
    return said == _claim(path) or (not said and len(list(path.iterdir())) == 1)


def _claim(folder: Path) -> str:
    """What the file that holds a working folder says."""
    return f"{folder.name} is a working folder of plumbcut; the next build clears it away\n"


def _free(busy: Path) -> bool:
    """Whether the build that made this file has ended."""
    if sys.platform == "win32":
        try:
            os.replace(busy, busy)  # refused while another process has it open
        except OSError:
            return False
        return True
    import fcntl

    with open(busy) as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
    return True


def _inside(folder: Path) -> list[Path]:
    """Everything below a folder; links are not followed."""
    found = []
    for base, folders, files in os.walk(folder):
        found += [Path(base, name) for name in (*folders, *files)]
    return sorted(found)


def _sum(path: Path) -> str:
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _listed(folder: Path) -> dict[str, str]:
    """Checksum of every file below a working folder, by its path with forward slashes."""
    return {
        p.relative_to(folder).as_posix(): _sum(p)
        for p in _inside(folder)
        if p.is_file() and p.name not in (_BUSY, SIGN)
    }


def _written(folder: Path) -> dict[str, str] | None:
    """What the marker lists; None for one without a list."""
    try:
        found = json.loads((folder / SIGN).read_text())["files"]
    except (OSError, ValueError, TypeError, KeyError):
        return None
    return found if isinstance(found, dict) else None


def _foreign(folder: Path) -> list[Path]:
    """What the build that wrote a folder did not write, as paths below it: files, links and empty folders of others,
    and files of the build that have been changed since."""
    listed = _written(folder) or {}
    found = []
    for path in _inside(folder):
        inner = path.relative_to(folder)
        if path.is_symlink() or not path.is_dir():
            ours = inner.as_posix() in (SIGN, _BUSY) or (
                not path.is_symlink() and inner.as_posix() in listed and _sum(path) == listed[inner.as_posix()]
            )
            if not ours:
                found.append(inner)
        elif not any(path.iterdir()):
            found.append(inner)
    return found


def _free_name(place: Path) -> Path:
    """`order.csv`, or `order.kept.csv`, `order.kept-2.csv`, ... where a new file took the name."""
    n, path = 1, place
    while os.path.lexists(path):
        path = place.with_name(f"{place.stem}.kept{'' if n == 1 else f'-{n}'}{place.suffix}")
        n += 1
    return path


def _bring(inner: Path, out: Path, work: Path) -> None:
    """One foreign file, link or empty folder of `out` into `work` as well; a file is one and the same in both until the
    old folder goes."""
    old, place = out / inner, work / inner
    if old.is_dir() and not old.is_symlink():
        place.mkdir(parents=True, exist_ok=True)
        return
    # a file of theirs where the new build has a folder, or the other way round: it goes beside
    for above in reversed(place.relative_to(work).parents[:-1]):
        if os.path.lexists(work / above) and not (work / above).is_dir():
            place = work / f"{above.name}.kept" / place.name
            break
    place.parent.mkdir(parents=True, exist_ok=True)
    place = _free_name(place)
    if old.is_symlink():
        place.symlink_to(os.readlink(old))
        return
    try:
        os.link(old, place)
    except OSError:
        shutil.copy2(old, place)


def _swap(work: Path, out: Path) -> None:
    """`work` becomes `out` in one step where the system has one, and what of `out` is not the build's goes along."""
    if not out.exists():
        work.rename(out)
        (out / _BUSY).unlink(missing_ok=True)
        return
    _check_mounts(out)  # one may have come since the build began
    brought = _foreign(out)
    for inner in sorted(brought, key=lambda p: os.path.lexists(work / p)):  # what keeps its name first
        _bring(inner, out, work)
    old = work
    (out / _BUSY).write_text(
        _claim(old)
    )  # before it goes, so that a kill leaves nothing that the next build does not know
    if not _exchanged(work, out):
        old = out.with_name(f"{work.name}-old")
        (out / _BUSY).write_text(_claim(old))
        out.rename(old)
        try:
            work.rename(out)
        except OSError:
            old.rename(out)
            raise
    (out / _BUSY).unlink(missing_ok=True)
    for inner in set(_foreign(old)) - set(brought):  # came while the build ended
        _bring(inner, old, out)
    _remove(old)


def _remove(old: Path) -> None:
    for path in _inside(old):
        if path.is_dir() and not path.is_symlink():  # a folder made read-only would keep its files
            path.chmod(path.stat().st_mode | stat.S_IRWXU)
    for path in old.iterdir():  # what says whose the folder is goes last, should this be killed
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path, ignore_errors=True)
        elif path.name != _BUSY:
            path.unlink()
    shutil.rmtree(old, ignore_errors=True)


def _exchanged(a: Path, b: Path) -> bool:
    """Whether two folders could be exchanged in one step (Linux): then not even a kill finds neither in place."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        call = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):
        return False
    here, exchange = -100, 2  # AT_FDCWD, RENAME_EXCHANGE of linux/fs.h
    return call(here, os.fsencode(a), here, os.fsencode(b), exchange) == 0
