"""The output folder of one build: written beside its place under another name and moved there whole at the end.

A build that fails or is interrupted leaves the earlier output as it was.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from ..shared.errors import InputError

NOTE = "written by plumbcut: replaced whole by the next build"
_SIGN = ".plumbcut"  # marks a folder as ours, so that a build never replaces a folder of somebody else's


@contextlib.contextmanager
def output_folder(out: Path) -> Iterator[Path]:
    """A temporary folder that takes `out`'s place when the block ends well and vanishes when it does not.

    Raises InputError before any work where `out` is a file, or a folder with things in it that no build wrote.
    """
    out = Path(os.path.abspath(out))
    check_replaceable(out)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        work = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
    except OSError as e:
        raise InputError(f"--out: cannot write beside {out}: {e.strerror}") from None
    try:
        yield work
        (work / _SIGN).write_text(NOTE + "\n")
        umask = os.umask(0)
        os.umask(umask)
        work.chmod(0o777 & ~umask)
        _swap(work, out)
    finally:
        shutil.rmtree(work, ignore_errors=True)


def check_replaceable(out: Path) -> None:
    """Raise InputError where a build must not take the place of what is there."""
    if out.is_file() or (out.exists() and not out.is_dir()):
        raise InputError(f"--out: {out} is a file; give a folder")
    if out.is_dir() and any(out.iterdir()) and not (out / _SIGN).exists():
        raise InputError(f"--out: {out} holds files that no build wrote; give an empty or a new folder")


def _swap(work: Path, out: Path) -> None:
    old = None
    if out.exists():
        old = out.with_name(f"{work.name}-old")
        out.rename(old)
    try:
        work.rename(out)
    except OSError:
        if old is not None:
            old.rename(out)
        raise
    if old is not None:
        shutil.rmtree(old, ignore_errors=True)
