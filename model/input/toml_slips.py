"""How to write a line that is no TOML: what slips in when lengths are typed as the trade writes them."""

from __future__ import annotations

import re
import tomllib

from ...shared.units import plain_marks

_LINE = re.compile(r"\s*(?P<key>[A-Za-z_][\w.-]*)(?:\s*[=:]\s*|\s+(?=[\"'“\d]))(?P<value>[^\[{].*?)\s*(?:#[^\"'“”]*)?$")
_COMMA = re.compile(r"(\d+),(\d{1,2}|\d{4,})")  # three figures after it could be thousands
_TRUTHS = {"yes": "true", "on": "true", "true": "true", "no": "false", "off": "false", "false": "false"}
_TEXT = re.compile(r"[\w.'/ ×+-]+")  # a length, a size, a word


def as_toml_line(line: str) -> str | None:
    """The line with its value as a text in straight quotes, the inch mark that would end it left off; None where that
    is no TOML either, or is what stands there already."""
    found = _LINE.match(line)
    if found is None:
        return None
    text = plain_marks(found["value"]).strip()
    if len(text) > 1 and text[0] == text[-1] == "'":
        text = text[1:-1]
    text = text.removeprefix('"').rstrip('"').strip()
    if comma := _COMMA.fullmatch(text):
        written = f"{found['key']} = {comma[1]}.{comma[2]}"
    elif text.lower() in _TRUTHS:
        written = f"{found['key']} = {_TRUTHS[text.lower()]}"
    else:
        written = f'{found["key"]} = "{text}"'
    if not (comma or _TEXT.fullmatch(text)) or written == line.strip():
        return None
    try:
        tomllib.loads(written)
    except tomllib.TOMLDecodeError:
        return None
    return written
