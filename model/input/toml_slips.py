"""How to write a line that is no TOML: what slips in when lengths are typed as the trade writes them."""

from __future__ import annotations

import re
import tomllib

from ...shared.units import plain_marks

_LINE = re.compile(r"\s*(?P<key>[A-Za-z_][\w.-]*)\s*=\s*(?P<value>[^\[{].*?)\s*(?:#[^\"'“”]*)?$")
_TEXT = re.compile(r"[\w.'/ ×+-]+")  # a length, a size, a word


def as_toml_line(line: str) -> str | None:
    """The line with its value as a text in straight quotes, the inch mark that would end it left off; None where that
    is no TOML either, or is what stands there already."""
    found = _LINE.match(line)
    if found is None:
        return None
    text = plain_marks(found["value"]).strip()
    text = text.removeprefix('"').rstrip('"').strip()
    written = f'{found["key"]} = "{text}"'
    if not _TEXT.fullmatch(text) or written == line.strip():
        return None
    try:
        tomllib.loads(written)
    except tomllib.TOMLDecodeError:
        return None
    return written
