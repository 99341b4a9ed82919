"""A file that a parameter file names, in its own folder."""

from __future__ import annotations

from pathlib import Path

from .errors import DesignError


def file_beside(source: Path | None, key: str, name: str, otherwise: str) -> Path:
    """The file that `key` names, in the folder of the parameter file `source` or under it.

    Raises DesignError for a name that leads out of that folder (a file from somebody else reads nothing there;
    `otherwise` says what to do) and for one that is not there.
    """
    folder = (source.parent if source else Path()).resolve()
    try:
        path = (folder / name).resolve()
        there = path.is_file()
    except (OSError, ValueError):  # a name that no file can have
        raise DesignError(key, f"{name!r} is no name of a file") from None
    if not path.is_relative_to(folder):
        raise DesignError(key, f"{name} lies outside the folder of this file; {otherwise}")
    if not there:
        raise DesignError(key, f"no file {name} in the folder of this file")
    return path
