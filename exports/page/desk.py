"""The parameter file at work: read as a form, written from it, gone back and forth in.

The file is the one truth. Whoever writes says which version of it was before their eyes: a write against another one
is refused, so that an editor and two open pages lose nothing. What is written is the file's text with the value's own
bytes changed, tried first as a design, and put in its place whole.
"""

from __future__ import annotations

import contextlib
import hashlib
import math
import os
import shutil
import tempfile
import threading
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ...model.input.fault_wording import hint_of
from ...model.input.key_lines import places
from ...model.input.outline_table import CAN_BE_CLIPPED, Outline, edge_names
from ...model.input.parameters import Parameters
from ...model.input.rewrite import rewritten
from ...model.parameter_file import path_of, prepare
from ...shared.errors import DesignError, Fault, InputError, LengthError
from ...shared.units import parse_length
from .form import groups, length_as_there, typed

MOST_KEPT = 200  # versions to go back to; our own
MOST_AT_ONCE = 50  # values in one write; our own
CHANGED_MEANWHILE = (
    "the file was changed meanwhile, in an editor or on another page: nothing was written. What it says now stands here"
)


class Refused(Exception):
    """A write that was not done. `stale`: the file is not what the writer saw. `faults`: what is wrong, by key."""

    def __init__(self, message: str, faults: Sequence[Fault] = (), stale: bool = False):
        self.faults, self.stale = list(faults), stale
        super().__init__(message)


def version_of(text: bytes) -> str:
    """What a version of the file is called: any other text has another name."""
    return hashlib.sha256(text).hexdigest()[:20]


class Desk:
    """One file under work. Whoever follows the file sees what is written as any other save."""

    def __init__(self, path: Path):
        self.path = Path(path)
        self.built: Parameters | None = None  # as last drawn
        self._lock = threading.RLock()
        self._history: list[bytes] = []
        self._at = -1
        self._judged: dict[str, tuple[list[Fault], Parameters | None]] = {}

    # --- reading

    def text(self) -> bytes:
        """The file as it is; empty where it cannot be read just now."""
        try:
            return self.path.read_bytes()
        except OSError:
            return b""

    def seen(self, text: bytes) -> str:
        """Take note of a text of the file, whoever wrote it; its version."""
        with self._lock:
            if text.strip() and (self._at < 0 or self._history[self._at] != text):
                del self._history[self._at + 1 :]
                self._history.append(text)
                del self._history[:-MOST_KEPT]
                self._at = len(self._history) - 1
        return version_of(text)

    def form(self) -> dict[str, Any]:
        """The file as it is now: its version, groups and keys, faults by key, the outline as a plan, and whether there
        is something to go back or forth to."""
        with self._lock:
            text = self.text()
            version = self.seen(text)
            self._judged.pop(version, None)  # a file that it names may have changed
            faults, parameters = self._judge(text)
            shown = {
                "version": version,
                "file": self.path.name,
                "faults": [_fault(f) for f in faults],
                "undo": self._at > 0,
                "redo": self._at + 1 < len(self._history),
            }
            try:
                found = groups(text, self.built)
            except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError):
                return shown | {"groups": [], "plan": None}
            return shown | {"groups": found, "plan": plan(parameters or self.built)}

    def _judge(self, text: bytes) -> tuple[list[Fault], Parameters | None]:
        """What is wrong with a text as a design, and its parameters where nothing is."""
        version = version_of(text)
        if version not in self._judged:
            if len(self._judged) > 8:
                self._judged.clear()
            try:
                self._judged[version] = [], prepare(self.path, source=text)[0]
            except InputError as e:
                self._judged[version] = e.faults, None
        return self._judged[version]

    # --- writing

    def write(self, version: str, changes: Sequence[dict[str, Any]]) -> None:
        """Write values: each change the number of an `edge` and its length as `text`, or a dotted `key` with `text` as
        typed, `toml` as the file would have it, `inches`, or nothing of these to leave it out. All of them or none.
        Raises Refused."""
        with self._lock:
            old = self._unchanged(version)
            if not 0 < len(changes) <= MOST_AT_ONCE:
                raise Refused(f"got {len(changes)} changes; wanted one to {MOST_AT_ONCE}")
            new = old
            for change in self._one_by_one(old, changes):
                key = str(change.get("key", ""))
                path = path_of(key)
                if not path or hint_of(path) is None:
                    raise Refused(f"{key}: no such key", [Fault("", 0, key, "no such key")])
                try:
                    new = rewritten(new, [(path, _value(new, path, change))])
                except DesignError as e:
                    raise Refused(str(e), [Fault("", 0, e.key, e.reason)]) from None
                except (tomllib.TOMLDecodeError, UnicodeDecodeError):
                    raise Refused("the file is no TOML as it stands; mend it in an editor first") from None
            self._put(old, new, {str(c.get("key")) for c in changes})

    def _one_by_one(self, text: bytes, changes: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
        """The changes with lengths of edges told as numbers of corners."""
        out: list[dict[str, Any]] = []
        for change in changes:
            if "edge" not in change:
                out.append(change)
                continue
            parameters = self._judge(text)[1]
            try:
                if parameters is None:
                    raise LengthError("the file has faults: mend these first")
                out += edge_length(parameters, int(change["edge"]), str(change.get("text", "")))
            except LengthError as e:
                raise Refused(str(e), [Fault("", 0, "outline", str(e))]) from None
        return out

    def back(self, version: str, step: int) -> None:
        """Write the file as it was before (`step` -1) or as it was again (1). Texts on the way that are no design are
        passed over. Raises Refused where there is none."""
        with self._lock:
            old = self._unchanged(version)
            at = self._at + step
            while 0 <= at < len(self._history) and self._judge(self._history[at])[0]:
                at += step
            if not 0 <= at < len(self._history):
                raise Refused("there is nothing further to go to")
            self._exchange(old, self._history[at])
            self._at = at

    def _unchanged(self, version: str) -> bytes:
        text = self.text()
        self.seen(text)
        if version_of(text) != version:
            raise Refused(CHANGED_MEANWHILE, stale=True)
        return text

    def _put(self, old: bytes, new: bytes, keys: set[str]) -> None:
        """Judge a new text and write it. In a file that has faults already, what mends a part of it is written too."""
        if new == old:
            return
        before, after = self._judge(old)[0], self._judge(new)[0]
        blamed = [f for f in after if _about(f.key, keys)]
        if after and (not before or blamed or not _is_toml(new)):
            raise Refused("\n".join(f"{f.key}: {f.message}" for f in after), after)
        self._exchange(old, new)
        self.seen(new)

    def _exchange(self, old: bytes, new: bytes) -> None:
        """The file's new text in its place, whole or not at all. Raises Refused where that cannot be, or where the file
        changed on the last few steps."""
        place = self.path.resolve()
        beside = ""
        try:
            handle, beside = tempfile.mkstemp(prefix=f".{place.name}.", dir=place.parent)
            with os.fdopen(handle, "wb") as out:
                out.write(new)
                out.flush()
                os.fsync(out.fileno())
            shutil.copymode(place, beside)
            if self.text() != old:
                raise Refused(CHANGED_MEANWHILE, stale=True)
            os.replace(beside, place)
        except OSError as e:
            raise Refused(f"{place.name} could not be written: {e.strerror or e}") from None
        finally:
            with contextlib.suppress(OSError):
                os.unlink(beside)


def _is_toml(text: bytes) -> bool:
    try:
        tomllib.loads(text.decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        return False
    return True


def _about(fault: str, keys: set[str]) -> bool:
    return any(fault == k or fault.startswith(f"{k}.") or k.startswith(f"{fault}.") for k in keys)


def _fault(f: Fault) -> dict[str, Any]:
    return {"key": f.key, "line": f.line, "message": f.message}


def _value(text: bytes, path: tuple[str | int, ...], change: dict[str, Any]) -> str | None:
    """What a change asks to be written, as TOML; None to leave the key out."""
    if isinstance(change.get("toml"), str):
        return change["toml"]
    inches = change.get("inches")
    if isinstance(inches, (int, float)) and not isinstance(inches, bool):
        node = places(text).values.get(path)
        return length_as_there(float(inches), node.text.decode() if node is not None else "")
    words = change.get("text")
    return typed(path, words) if isinstance(words, str) and words.strip() else None


def edge_length(p: Parameters, edge: int, text: str) -> list[dict[str, Any]]:
    """The changes that give an edge of the outline another length: its end moves along it, and where the next edge is
    square to it that one moves as a whole, so that square corners stay square. Raises LengthError."""
    length = parse_length(text)
    o = p.outline
    if o.clipped and 0 <= edge < len(o.names):
        return _of_clipped(o, edge, length)
    if o.points is None:
        return [{"key": f"outline.{'depth' if edge % 2 else 'width'}", "text": text}]
    n = len(o.points)
    if not 0 <= edge < n:
        raise LengthError(f"got edge {edge + 1}; the outline has {n}")
    (ax, ay), (bx, by), (cx, cy) = (o.points[(edge + k) % n] for k in range(3))
    long = math.hypot(bx - ax, by - ay)
    on = length / long - 1.0
    dx, dy = (bx - ax) * on, (by - ay) * on
    square = abs((bx - ax) * (cx - bx) + (by - ay) * (cy - by)) < 1e-6 * long * max(math.hypot(cx - bx, cy - by), 1.0)
    moved = [(edge + 1) % n] + ([(edge + 2) % n] if square and n > 3 else [])
    return [
        {"key": f"outline.points.{i}.{axis}", "inches": o.points[i][axis] + step}
        for i in moved
        for axis, step in enumerate((dx, dy))
        if abs(step) > 1e-9
    ]


def _of_clipped(o: Outline, edge: int, length: float) -> list[dict[str, Any]]:
    """Of a rectangle with clipped corners: the side as long as it is with what is cut off, or what is cut off."""
    name = list(edge_names(None, None, o.clipped))[edge]
    if name in CAN_BE_CLIPPED:
        return [{"key": f"outline.clip.{name.replace('-', '_')}", "inches": length / math.sqrt(2)}]
    corners = o.corners
    key = "outline.width" if name in ("front", "back") else "outline.depth"
    size = o.width if key == "outline.width" else o.depth
    return [
        {"key": key, "inches": (size or 0.0) + length - math.dist(corners[edge], corners[(edge + 1) % len(corners)])}
    ]


def plan(p: Parameters | None) -> dict[str, Any] | None:
    """The outline as the file gives it, with the keys of its numbers: corners, edges, and stairs along them, inches."""
    if p is None:
        return None
    o = p.outline
    points, names = o.corners, list(o.names)
    house = o.house if o.house is not None else (["back"] if o.points is None else [])
    return {
        "points": [list(c) for c in points],
        "rectangle": o.points is None,
        "clipped": bool(o.clipped or o.dxf or o.taped),
        "edges": [{"name": n, "house": n in house} for n in names],
        "stairs": [{"edge": s.edge, "at": s.at, "width": s.width} for s in p.stair],
        "snap": 10 / 25.4 if p.drawing.units == "metric" else 1.0,
    }
