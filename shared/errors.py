"""The few exceptions a user can meet. The command line turns each into one clear message and exit code 2."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .as_toml import as_toml


class PlumbcutError(Exception):
    """Anything the user can mend: the message says what was given and what is allowed."""


class LengthError(PlumbcutError, ValueError):
    """A length, slope, angle, stress or density that cannot be read. Also a ValueError so that pydantic reports it by
    key."""


def seen(text: str) -> str:
    """`text` with what a terminal would obey or not show written out, as in `\\u001b`."""
    return "".join(c if c.isprintable() or c == "\n" else f"\\u{ord(c):04x}" for c in text)


def counted_from_one(key: str) -> str:
    """The tables of lists that a dotted key goes through, as people count them: `stair 1 landing 2` of
    `stair.0.landings.1.turn`; empty where it goes through none."""
    steps = key.split(".")
    counted = zip(steps, steps[1:], steps[2:])
    return " ".join(
        f"{name.removesuffix('s').replace('_', ' ')} {int(n) + 1}"
        for name, n, then in counted
        if n.isdecimal() and not name.isdecimal() and not then.isdecimal()
    )


@dataclass(frozen=True)
class Fault:
    """One fault in a parameter file: `key` is dotted (`stair.0.width`), `line` counts from 1, 0 where unknown. As text
    the tables of a list are counted from 1 beside the key, as drawings and tables do."""

    file: str
    line: int
    key: str
    message: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        counted = counted_from_one(self.key)
        key = f"{self.key} ({counted})" if counted else self.key
        return seen(": ".join(t for t in (place, key, self.message) if t))


class InputError(PlumbcutError):
    """A parameter file (or a file it names) that cannot be used. `faults` holds one entry a fault."""

    def __init__(self, faults: list[Fault] | Fault | str):
        if isinstance(faults, str):
            faults = Fault("", 0, "", faults)
        self.faults = [faults] if isinstance(faults, Fault) else list(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


class DesignError(PlumbcutError):
    """A design that is well written but cannot be drawn (a stair off its edge, a border wider than the deck).

    `key` is the dotted key to blame, so that the command line can add file and line. `would_do`: the key of a value and
    the value with which this would not be refused, where there is one; `values`: several, where it takes as many. The
    message ends with them as the file writes them; `plain` is without.
    """

    def __init__(
        self,
        key: str,
        message: str,
        would_do: tuple[str, object] | None = None,
        values: Sequence[tuple[str, object]] = (),
    ):
        self.key, self.plain = key, message
        self.values = (would_do,) if would_do is not None else tuple(values)
        if self.values:
            message += f"; {' and '.join(f'{k} = {as_toml(v)}' for k, v in self.values)} would do"
        self.reason = message
        super().__init__(f"{key}: {message}")


class MissingLibrary(PlumbcutError):
    """A system library is missing; the message names the package to install."""
