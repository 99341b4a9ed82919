"""On which line of a TOML file each key stands: wanted only when something is wrong with it.

The parser of the standard library keeps no positions; a concrete syntax tree does. `tree_sitter` is imported when the
first fault is reported and never for a good file.
"""

from __future__ import annotations

import ast

Path = tuple[str | int, ...]


def key_lines(source: bytes) -> dict[Path, int]:
    """Line (from 1) of every key, section and list item of a well-formed TOML text, by its path (`("stair", 0,
    "width")`)."""
    import tree_sitter
    import tree_sitter_toml

    tree = tree_sitter.Parser(tree_sitter.Language(tree_sitter_toml.language())).parse(source)
    index = _Index()
    for node in tree.root_node.named_children:
        if node.type == "pair":
            index.pair((), node)
        elif node.type in ("table", "table_array_element"):
            index.table(node)
    return index.lines


def line_of(lines: dict[Path, int], path: Path) -> int:
    """The line of a path, or of the nearest thing around it that is written down; 1 where nothing is."""
    for n in range(len(path), 0, -1):
        if path[:n] in lines:
            return lines[path[:n]]
    return 1


class _Index:
    def __init__(self) -> None:
        self.lines: dict[Path, int] = {}
        self._count: dict[Path, int] = {}  # tables so far in each list of tables

    def note(self, path: Path, node) -> None:
        self.lines.setdefault(path, node.start_point[0] + 1)

    def table(self, node) -> None:
        head, *body = node.named_children
        path: Path = ()
        keys = _keys(head)
        for i, key in enumerate(keys):
            path += (key,)
            self.note(path, node)
            if node.type == "table_array_element" and i == len(keys) - 1:
                self._count[path] = self._count.get(path, 0) + 1
            if path in self._count:  # [stair.pad] belongs to the [[stair]] last begun
                path += (self._count[path] - 1,)
                self.note(path, node)
        for child in body:
            if child.type == "pair":
                self.pair(path, child)

    def pair(self, prefix: Path, node) -> None:
        head, *rest = [c for c in node.named_children if c.type != "comment"]
        for key in _keys(head):
            prefix += (key,)
            self.note(prefix, node)
        if rest:
            self.value(prefix, rest[0])

    def value(self, path: Path, node) -> None:
        if node.type == "inline_table":
            for child in node.named_children:
                if child.type == "pair":
                    self.pair(path, child)
        elif node.type == "array":
            items = [c for c in node.named_children if c.type != "comment"]
            for i, item in enumerate(items):
                self.note((*path, i), item)
                self.value((*path, i), item)


def _keys(node) -> list[str]:
    if node.type == "dotted_key":
        return [k for child in node.named_children for k in _keys(child)]
    text = node.text.decode()
    return [_unquoted(text) if node.type == "quoted_key" else text]


def _unquoted(text: str) -> str:
    if text.startswith("'"):
        return text[1:-1]
    try:
        return ast.literal_eval(text)  # TOML's basic strings escape as Python's do, but for \e and the like
    except (ValueError, SyntaxError):
        return text[1:-1]
