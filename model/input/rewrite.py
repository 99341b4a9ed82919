"""A value written into the text of a parameter file: its own bytes change and no others, so that comments, order,
spacing and line ends stay as the builder has them.

The text is cut where the syntax tree says that the value stands. What comes out is parsed again and held against what
it should say; where the two differ nothing is written.
"""

from __future__ import annotations

import copy
import json
import re
import tomllib
from collections.abc import Iterable
from typing import Any

from ...shared.errors import DesignError
from .key_lines import Path, Written, keys_of, places

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_MARK = b"\xef\xbb\xbf"  # of byte order, as some editors begin a file


def rewritten(source: bytes, changes: Iterable[tuple[Path, str | None]]) -> bytes:
    """The text with values written one after the other: each a path and the value as TOML (`'"2x8"'`, `16`), None to
    leave the key, the table or the item out.

    A key that stands there as a comment (`#joist = "2x8"  # why`), as in the starter file, becomes one again; a key
    left out becomes such a comment where its line holds a remark, else its line goes. Sections that are missing are
    made. Raises DesignError, naming the key, for what is no TOML or has no place to stand.
    """
    mark, text = (_MARK, source.removeprefix(_MARK)) if source.startswith(_MARK) else (b"", source)
    for path, value in changes:
        value = None if value is None else _told(path, value)
        wanted = _expected(tomllib.loads(text.decode()), path, value)
        text = _set(text, path, value) if value is not None else _without(text, path)
        try:
            good = tomllib.loads(text.decode()) == wanted
        except tomllib.TOMLDecodeError:
            good = False
        if not good:
            raise DesignError(_dotted(path), "cannot be written in this place; change it in an editor")
    return mark + text


def _dotted(path: Path) -> str:
    return ".".join(map(str, path))


def _told(path: Path, value: str) -> str:
    """The value's text, where it is one value and nothing more."""
    try:
        if list(tomllib.loads(f"x = {value}\n")) == ["x"] and (b"comment" not in _kinds(value)):
            return value.strip()
    except tomllib.TOMLDecodeError:
        pass
    raise DesignError(_dotted(path), f"got {value[:60]}; wanted one value as TOML writes it")


def _kinds(value: str) -> set[bytes]:
    node = places(f"x = {value}\n".encode()).pairs.get(("x",))
    return {c.type.encode() for c in node.children} if node is not None else {b"comment"}


def _expected(data: Any, path: Path, value: str | None) -> Any:
    """What the text should say after it. Raises DesignError where there is no such place."""
    whole = copy.deepcopy(data)
    here: Any = whole
    absent = DesignError(_dotted(path), "is not there to change")
    for step, then in zip(path, (*path[1:], None)):
        if not _has_steps(here, step):
            raise absent
        there = step < len(here) if isinstance(step, int) else step in here
        if then is None:
            break
        if not there:
            if value is None:
                return whole
            fresh: Any = [] if isinstance(then, int) else {}
            if not isinstance(step, int):
                here[step] = fresh
            elif step == len(here):
                here.append(fresh)
            else:
                raise absent
        here = here[step]
    last = path[-1]
    if value is None:
        if there:
            del here[last]
            _drop_empty(whole, path[:-1])
        return whole
    new = tomllib.loads(f"x = {value}\n")["x"]
    if isinstance(last, int) and last == len(here):
        here.append(new)
    elif isinstance(last, int) and last > len(here):
        raise absent
    else:
        here[last] = new
    return whole


def _has_steps(here: Any, step: str | int) -> bool:
    return isinstance(here, list if isinstance(step, int) else dict)


def _drop_empty(whole: Any, path: Path) -> None:
    """A list of tables whose last one went is not there either."""
    if path:
        above = whole
        for step in path[:-1]:
            above = above[step]
        if above[path[-1]] == []:
            del above[path[-1]]


# --- writing ----------------------------------------------------------------------------------------------------------


def _set(text: bytes, path: Path, value: str) -> bytes:
    found = places(text)
    if path in found.values:
        return _put(text, found.values[path], value)
    *_, last = path
    parent = path[:-1]
    if last == 0 and parent not in found.keys:
        return _set(text, parent, f"[{value}]")
    if isinstance(last, int):
        return _append(text, found.values.get(parent), value, path)
    bared = _uncommented(text, found, parent, last)
    if bared is not None:
        return _set(bared, path, value)
    return _add(text, found, parent, f"{_key(last)} = {value}")


def _put(text: bytes, node: Any, value: str) -> bytes:
    """In the place of a value; of a list as long as before, in the places of the items that differ."""
    old = text[node.start_byte : node.end_byte].decode()
    if _same(old, value):
        return text
    if node.type == "array":
        fresh = places(f"x = {value}\n".encode())
        items = [c for c in node.named_children if c.type != "comment"]
        news = [fresh.values[("x", n)].text.decode() for n in range(len(items)) if ("x", n) in fresh.values]
        if len(news) == len(items) and ("x", len(items)) not in fresh.values and fresh.values[("x",)].type == "array":
            for item, new in zip(reversed(items), reversed(news)):
                text = _put(text, item, new)
            return text
    return text[: node.start_byte] + value.encode() + text[node.end_byte :]


def _same(a: str, b: str) -> bool:
    one, two = (tomllib.loads(f"x = {v}\n")["x"] for v in (a, b))
    return type(one) is type(two) and one == two


def _key(*names: str | int) -> str:
    """Names with dots between, quoted where they must be."""
    return ".".join(n if _BARE.fullmatch(n) else json.dumps(n) for n in map(str, names))


def _names(path: Path) -> list[str]:
    return [k for k in path if isinstance(k, str)]


def _line_end(text: bytes) -> bytes:
    first = text.find(b"\n")
    return b"\r\n" if first > 0 and text[first - 1 : first] == b"\r" else b"\n"


def _end_of_line(text: bytes, at: int) -> int:
    """Past the end of the line that a place is on."""
    end = text.find(b"\n", at)
    return len(text) if end < 0 else end + 1


def _start_of_line(text: bytes, at: int) -> int:
    return text.rfind(b"\n", 0, at) + 1


def _insert_line(text: bytes, after: int, line: str, indent: bytes = b"") -> bytes:
    """A line of its own behind the line that ends at `after`."""
    end = _line_end(text)
    if after and text[after - 1 : after] != b"\n":
        return text[:after] + end + indent + line.encode() + text[after:]
    return text[:after] + indent + line.encode() + end + text[after:]


def _indent(text: bytes, at: int) -> bytes:
    start = _start_of_line(text, at)
    return text[start:at] if not text[start:at].strip() else b""


def _add(text: bytes, found: Written, parent: Path, line: str) -> bytes:
    """A key with its value, `line`, in the table `parent`, which is made where it is missing."""
    node = found.values.get(parent)
    if node is not None and node.type == "inline_table":
        pairs = [c for c in node.named_children if c.type == "pair"]
        if pairs:
            return text[: pairs[-1].end_byte] + f", {line}".encode() + text[pairs[-1].end_byte :]
        return text[: node.start_byte] + f"{{ {line} }}".encode() + text[node.end_byte :]
    if parent in found.tables or not parent:
        own = [p for path, p in found.pairs.items() if _body(path, p) == parent and p.parent.type != "inline_table"]
        if own:
            last = max(own, key=lambda p: p.end_byte)
            return _insert_line(text, _end_of_line(text, last.end_byte - 1), line, _indent(text, last.start_byte))
        if not parent:
            return _insert_line(text, 0, line)
        heading = _heading(found.tables[parent])
        return _insert_line(text, _end_of_line(text, heading.end_byte), line)
    if parent in found.dotted:
        path = found.dotted[parent][-1]
        pair = found.pairs[path]
        base = path[: len(path) - len(keys_of(pair.named_children[0]))]
        whole = f"{_key(*parent[len(base) :])}.{line}"
        if pair.parent.type == "inline_table":
            return text[: pair.end_byte] + f", {whole}".encode() + text[pair.end_byte :]
        return _insert_line(text, _end_of_line(text, pair.end_byte - 1), whole, _indent(text, pair.start_byte))
    return _made(text, found, parent, line)


def _body(path: Path, pair: Any) -> Path:
    """The table in whose body a pair is written."""
    return path[: len(path) - len(keys_of(pair.named_children[0]))]


def _heading(table: Any) -> Any:
    """The bracket that ends a table's header."""
    return next(c for c in table.children if c.type in ("]", "]]"))


def _made(text: bytes, found: Written, parent: Path, line: str) -> bytes:
    """A table that is not there yet, with its first key."""
    above, name = parent[:-1], parent[-1]
    if isinstance(name, int):
        if above in found.values:
            return _append(text, found.values[above], f"{{ {line} }}", parent)
        if not _takes_headers(found, above[:-1]):
            return _add(text, found, above[:-1], f"{_key(above[-1])} = [{{ {line} }}]")
        beside = [p for p in found.tables if p[: len(above)] == above] or _under(found, above[:-1])
        return _new_table(text, found, beside, f"[[{_key(*_names(above))}]]", line)
    if not _takes_headers(found, above):
        return _add(text, found, above, f"{_key(name)} = {{ {line} }}")
    deeper = _under(found, parent)
    if deeper:  # its own tables are there: it stands before them, as people write it
        first = min(deeper, key=lambda p: found.tables[p].start_byte)
        at = _above_remarks(text, found.tables[first].start_byte)
        end = _line_end(text)
        fresh = f"[{_key(*_names(parent))}]".encode() + end + line.encode() + end + end
        return text[:at] + fresh + text[at:]
    return _new_table(text, found, _under(found, above), f"[{_key(*_names(parent))}]", line)


def _under(found: Written, path: Path) -> list[Path]:
    """The tables with headers in a table; of the whole file, none: what is new then comes last."""
    return [p for p in found.tables if p[: len(path)] == path] if path else []


def _takes_headers(found: Written, path: Path) -> bool:
    """Whether a table in this one may have a header: this is the file, has one itself, or is there by one below it."""
    return not path or path in found.tables or bool(_under(found, path))


def _new_table(text: bytes, found: Written, beside: list[Path], header: str, line: str) -> bytes:
    end = _line_end(text)
    at = len(text)
    if beside:
        last = max(found.tables[p].start_byte for p in beside)
        later = [t.start_byte for t in found.tables.values() if t.start_byte > last]
        at = _above_remarks(text, min(later)) if later else at
    fresh = header.encode() + end + line.encode() + end
    if at < len(text):
        return text[:at] + fresh + end + text[at:]
    gap = b"" if not text else end if text.endswith(b"\n") else end + end
    return text + gap + fresh


def _above_remarks(text: bytes, at: int) -> int:
    """Before the comment lines right above a header, which speak of it."""
    at = _start_of_line(text, at)
    while at and text[_start_of_line(text, at - 1) : at].lstrip().startswith(b"#"):
        at = _start_of_line(text, at - 1)
    return at


def _append(text: bytes, array: Any, value: str, path: Path) -> bytes:
    """One more item of a list that is written in brackets."""
    items = [c for c in array.named_children if c.type != "comment"] if array is not None else []
    if array is None or array.type != "array" or path[-1] != len(items):
        raise DesignError(_dotted(path), "is not there to change")
    if items:
        at = items[-1].end_byte
        return text[:at] + f", {value}".encode() + text[at:]
    return text[: array.start_byte + 1] + value.encode() + text[array.start_byte + 1 :]


def _uncommented(text: bytes, found: Written, parent: Path, key: str) -> bytes | None:
    """The text with the line `#key = ...` of a table made one that counts; None where there is none."""
    table = found.tables.get(parent)
    if table is None:
        return None
    for remark in (c for c in table.named_children if c.type == "comment"):
        line = remark.text.decode().rstrip()
        if line.startswith(("#[", "# [")):  # from here on another section is spoken of
            return None
        if (
            not re.match(rf"#\s*{re.escape(key)}\s*=", line)
            or text[_start_of_line(text, remark.start_byte) : remark.start_byte].strip()
        ):
            continue
        try:
            if list(tomllib.loads(line[1:])) == [key]:
                return text[: remark.start_byte] + text[remark.start_byte + 1 :]
        except tomllib.TOMLDecodeError:
            continue
    return None


# --- leaving out ------------------------------------------------------------------------------------------------------


def _without(text: bytes, path: Path) -> bytes:
    found = places(text)
    if path in found.pairs:
        pair = found.pairs[path]
        return _out_of_list(text, pair) if pair.parent.type == "inline_table" else _no_line(text, pair)
    if path in found.values:
        return _out_of_list(text, found.values[path])
    tables = [found.tables[p] for p in found.tables if p[: len(path)] == path]
    pairs = [found.pairs[p] for p in found.dotted.get(path, ())]
    for node in sorted([*tables, *pairs], key=lambda n: -n.start_byte):
        text = _no_table(text, found, node) if node.type != "pair" else _no_line(text, node)
    return text


def _no_line(text: bytes, pair: Any) -> bytes:
    """A key's line taken out, or made a remark where it holds one."""
    start = _start_of_line(text, pair.start_byte)
    end = _end_of_line(text, pair.end_byte - 1)
    if _has_remark(pair) or b"#" in text[pair.end_byte : end]:
        lines = text[start:end].splitlines(keepends=True)
        return text[:start] + b"".join(b"#" + line for line in lines) + text[end:]
    return text[:start] + text[end:]


def _has_remark(node: Any) -> bool:
    return node.type == "comment" or any(map(_has_remark, node.children))


def _no_table(text: bytes, found: Written, table: Any) -> bytes:
    later = [t.start_byte for t in found.tables.values() if t.start_byte > table.start_byte]
    end = _above_remarks(text, min(later)) if later else len(text)
    return text[: _start_of_line(text, table.start_byte)] + text[end:]


def _out_of_list(text: bytes, node: Any) -> bytes:
    """An item of a list, or a pair in braces, with one comma beside it."""
    after, before = node.next_sibling, node.prev_sibling
    if after is not None and after.type == ",":
        then = after.next_sibling
        stop = then.start_byte if then is not None and then.type not in ("comment", "]", "}") else after.end_byte
        return text[: node.start_byte] + text[stop:]
    start = before.start_byte if before is not None and before.type == "," else node.start_byte
    return text[:start] + text[node.end_byte :]
