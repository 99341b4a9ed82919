"""What no parameter file needs, found in its text before it is parsed: numbers and keys of thousands of characters, and
brackets or dotted keys so deep that a reader runs out of stack.

A scan over words, strings, comments and brackets; whether they make good TOML is the parser's to say.
"""

from __future__ import annotations

import re

LONGEST_WORD = 100  # characters of a number or a bare key: the longest key has some twenty
MOST_NESTED = 16  # brackets in brackets, and parts of a dotted key: a file has four

_TOKEN = re.compile(
    r"""(?P<string>\"\"\"(?:\\.|(?!\"\"\").)*\"\"\"|'''(?:(?!''').)*'''|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
    r"""|(?P<comment>\#[^\n]*)|(?P<open>[\[{])|(?P<close>[\]}])|(?P<line>\n)|(?P<equals>=)|(?P<word>[\w+\-:.]+)""",
    re.DOTALL,
)


def out_of_bounds(text: str) -> tuple[int, str, str] | None:
    """(line, key, message) of the first such thing in a TOML text; None where there is none."""
    line, depth, dots = 1, 0, 0
    head: list[str] = []  # words of the key, or of the section's name, of the line begun
    section, key, valued = "", "", False
    for token in _TOKEN.finditer(text):
        kind, found = token.lastgroup, token.group()
        if kind == "open":
            section = section if valued or head else ""  # of a section's own heading
            depth += 1
        elif kind == "close":
            depth = max(0, depth - 1)
        elif kind == "equals" and not valued:
            key, valued = "".join(head), True
        elif kind == "line" and depth == 0:
            if head and not valued:
                section = "".join(head)
            head, key, valued, dots = [], "", False, 0
        elif kind in ("word", "string") and not valued:
            head.append(found.strip("\"'"))
        if kind == "word":
            dots = dots + found.count(".") if not valued or found == "." else dots
            if len(found) > LONGEST_WORD:
                said = f"got {found[:20]}..., {len(found):,} characters; wanted at most {LONGEST_WORD}"
                return line, _named(section, key), said
        if depth > MOST_NESTED:
            return line, _named(section, key), f"got brackets in brackets; wanted at most {MOST_NESTED} deep"
        if dots >= MOST_NESTED:
            return (
                line,
                _named(section, key),
                f"got a dotted key of more parts than {MOST_NESTED}; wanted at most {MOST_NESTED}",
            )
        line += found.count("\n")
    return None


def _named(section: str, key: str) -> str:
    """The key that a place in the text belongs to, as far as it is one to show."""
    whole = ".".join(part for part in (section, key) if part)
    return whole if len(whole) <= LONGEST_WORD else ""
