"""Where in a TOML file each key stands: its line where something is wrong with it, its bytes where it is written anew.

The parser of the standard library keeps no positions; a concrete syntax tree does. `tree_sitter` is imported when the
first fault is reported or the first value written, and never for a good file that is only read.
"""

from __future__ import annotations

import ast
from typing import Any

Path = tuple[str | int, ...]


def key_lines(source: bytes) -> dict[Path, int]:
    """Line (from 1) of every key, section and list item of a well-formed TOML text, by its path (`("stair", 0,
    "width")`)."""
    return {path: node.start_point[0] + 1 for path, node in places(source).keys.items()}


def places(source: bytes) -> Written:
    """Where everything of a well-formed TOML text stands; bytes are counted from its start."""
    import tree_sitter
    import tree_sitter_toml

    tree = tree_sitter.Parser(tree_sitter.Language(tree_sitter_toml.language())).parse(source)
    found = Written()
    for node in tree.root_node.named_children:
        if node.type == "pair":
            found.pair((), node)
        elif node.type in ("table", "table_array_element"):
            found.table(node)
    return found


def line_of(lines: dict[Path, int], path: Path) -> int:
    """The line of a path, or of the nearest thing around it that is written down; 1 where nothing is."""
    for n in range(len(path), 0, -1):
        if path[:n] in lines:
            return lines[path[:n]]
    return 1


class Written:
    """Nodes of the syntax tree by path: `keys` where a path is first written, `pairs` and `values` of `key = value`,
    `tables` whose header is written, in order. `dotted` are the tables that keys with dots make."""

    def __init__(self) -> None:
        self.keys: dict[Path, Any] = {}
        self.pairs: dict[Path, Any] = {}
        self.values: dict[Path, Any] = {}
        self.tables: dict[Path, Any] = {}
        self.dotted: dict[Path, list[Path]] = {}  # the pairs of each, in order
        self._count: dict[Path, int] = {}  # tables so far in each list of tables

    def note(self, path: Path, node: Any) -> None:
        self.keys.setdefault(path, node)

    def table(self, node: Any) -> None:
        head, *body = node.named_children
        path: Path = ()
        keys = keys_of(head)
        for i, key in enumerate(keys):
            path += (key,)
            self.note(path, node)
            if node.type == "table_array_element" and i == len(keys) - 1:
                self._count[path] = self._count.get(path, 0) + 1
            if path in self._count:  # [stair.pad] belongs to the [[stair]] last begun
                path += (self._count[path] - 1,)
                self.note(path, node)
        self.tables[path] = node
        for child in body:
            if child.type == "pair":
                self.pair(path, child)

    def pair(self, prefix: Path, node: Any) -> None:
        head, *rest = [c for c in node.named_children if c.type != "comment"]
        base = len(prefix)
        for key in keys_of(head):
            prefix += (key,)
            self.note(prefix, node)
        for n in range(base + 1, len(prefix)):
            self.dotted.setdefault(prefix[:n], []).append(prefix)
        self.pairs[prefix] = node
        if rest:
            self.value(prefix, rest[0])

    def value(self, path: Path, node: Any) -> None:
        self.values[path] = node
        if node.type == "inline_table":
            for child in node.named_children:
                if child.type == "pair":
                    self.pair(path, child)
        elif node.type == "array":
            items = [c for c in node.named_children if c.type != "comment"]
            for i, item in enumerate(items):
                self.note((*path, i), item)
                self.value((*path, i), item)


def keys_of(node: Any) -> list[str]:
    """The parts of a key, dots between them, without their quotes."""
    if node.type == "dotted_key":
        return [k for child in node.named_children for k in keys_of(child)]
    text = node.text.decode()
    return [_unquoted(text) if node.type == "quoted_key" else text]


def _unquoted(text: str) -> str:
    if text.startswith("'"):
        return text[1:-1]
    try:
        return ast.literal_eval(text)  # TOML's basic strings escape as Python's do, but for \e and the like
    except (ValueError, SyntaxError):
        return text[1:-1]
