"""From a parameter file to a validated design: every fault with its file, line and key, before any solid is made.

Nothing here needs the geometry kernel, so a file that fails answers at once.
"""

from __future__ import annotations

import json
import math
import re
import tomllib
import typing
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from pydantic import BaseModel, ValidationError

from ..shared.as_toml import up_to
from ..shared.errors import DesignError, Fault, InputError
from ..shared.file_beside import file_beside
from .as_built.check_survey import check_survey
from .input.as_written import as_written
from .input.dxf_outline import drawn_in
from .input.fault_wording import is_lumber, wording
from .input.key_lines import key_lines, line_of
from .input.makers_sheet import MakersSheet
from .input.outline_table import Taped, edge_names
from .input.parameters import Parameters
from .input.taped_outline import laid_out
from .input.text_bounds import out_of_bounds
from .input.toml_slips import as_toml_line
from .pieces.bound import MOST_PIECES
from .pieces.guards import check_guard, check_kit
from .plan.edges import FrameOutline
from .plan.joist_spacing import USUAL
from .plan.layout import drawn_outline, lay_out
from .plan.stages import LevelPlan
from .plan.would_do import with_value

LARGEST_FILE = 1_000_000  # bytes: a parameter file is a page or two of text


def read(path: str | Path) -> Parameters:
    """The parameters of a TOML file. Raises InputError with one fault for each thing wrong with it (see `prepare`)."""
    return prepare(path)[0]


def prepare(
    path: str | Path, changes: Mapping[str, object] | None = None, source: bytes | None = None
) -> tuple[Parameters, LevelPlan]:
    """The parameters of a TOML file and their plan. `changes` by dotted key (`stair.0.width`) stand in for the file's
    own, `source` for all its text, as it would be if it were written.

    Raises InputError for a file that cannot be read, is not TOML, does not fit the schema, or asks for a design that
    cannot be drawn or has more than MOST_PIECES pieces. Each fault names file, line and key.
    """
    source = _source(Path(path)) if source is None else source
    data = _parsed(path, source)
    faults = [f for key, value in (changes or {}).items() if (f := _set(data, key, value))]
    if faults:
        raise _faults(path, source, faults)
    data = as_written(data)
    office = _of_office(Path(path), data, source)
    if (printed := _printed(Path(path), data, source)) is not None:
        data["maker"] = printed
    _drawn(Path(path), data, source)
    _taped(Path(path), data, source)
    try:
        # by way of JSON: there a list may stand for a point, and yet no text for a number
        parameters = Parameters.model_validate_json(json.dumps(data, default=str), strict=True)
    except ValidationError as e:
        found = [wording(error, error["loc"]) for error in e.errors(include_url=False)]
        told = [(tuple(where), message) for where, message in found]
        raise _of_both(_faults(path, source, told), path, source, told, office) from None
    faults = _odd_names(parameters)
    if faults:
        raise _faults(path, source, faults)
    try:
        outline = drawn_outline(parameters)
        _refuse_absurd(parameters, outline)
        layout = lay_out(parameters)
        check_guard(layout)
        check_kit(layout)
        if parameters.survey.taken:
            check_survey(parameters, layout)
    except DesignError as e:
        raise _faults(path, source, [(path_of(e.key), e.reason)]) from None
    return parameters, layout


@dataclass(frozen=True)
class _Office:
    """An office's file: where it lies, its text, and the keys whose values it gave."""

    path: Path
    source: bytes
    gave: frozenset[tuple]


_OFFICES = ("local", "loads", "drawing", "site", "house", "project")  # the tables that an office may speak in


def _of_office(path: Path, data: dict, source: bytes) -> _Office | None:
    """Put what the office's file says into a file's data where that says nothing; None where it names none. Raises
    InputError with the file at fault."""
    local = data.get("local")
    name = local.get("profile") if isinstance(local, dict) else None
    if (
        not isinstance(local, dict) or not isinstance(name, str) or not name
    ):  # the schema says what is wrong with another
        return None
    try:
        beside = file_beside(path, "local.profile", name, "put a copy of the office's file beside it")
    except DesignError as e:
        raise _faults(path, source, [(path_of(e.key), e.reason)]) from None
    text = _source(beside)
    found = as_written(_parsed(beside, text))
    odd: list[tuple[tuple, str]] = [
        ((t,), f"has no place in an office's file; wanted {', '.join(_OFFICES)}") for t in found if t not in _OFFICES
    ]
    own = found.get("local")
    if isinstance(own, dict) and "profile" in own:
        odd.append((("local", "profile"), "an office's file names no other"))
    if odd:
        raise _faults(beside, text, odd)
    notes = own.get("notes") if isinstance(own, dict) else None
    if isinstance(notes, list) and isinstance(local.get("notes"), list):
        local["notes"] = [*notes, *local["notes"]]
    return _Office(beside, text, frozenset(_put_under(data, found, ())))


def _put_under(data: dict, found: dict, above: tuple) -> Iterator[tuple]:
    """Values put where there is none; the paths of those that were."""
    for key, value in found.items():
        if isinstance(value, dict) and isinstance(data.setdefault(key, {}), dict):
            yield from _put_under(data[key], value, (*above, key))
        elif key not in data:
            data[key] = value
            yield (*above, key)


def _of_both(
    fault: InputError, path, source: bytes, told: list[tuple[tuple, str]], office: _Office | None
) -> InputError:
    """The faults, each with the file that gave the value: this one or the office's."""
    if office is None:
        return fault
    theirs = [t for t in told if any(t[0][: len(g)] == g for g in office.gave)]
    if not theirs:
        return fault
    ours = [t for t in told if t not in theirs]
    return InputError([*_faults(path, source, ours).faults, *_faults(office.path, office.source, theirs).faults])


def _says(table: object) -> bool:
    """Whether a table holds any value: headers alone say nothing."""
    return any(map(_says, table.values())) if isinstance(table, dict) else table is not None


def _printed(path: Path, data: dict, source: bytes) -> dict | None:
    """The tables of the maker's sheet that a file names, None where it names none. Raises InputError with the file at
    fault: this one, or the sheet."""
    surface = data.get("surface")
    name = surface.get("maker") if isinstance(surface, dict) else None
    if not isinstance(name, str) or not name:  # the schema says what is wrong with another
        return None
    try:
        if _says(data.get("maker")):
            raise DesignError("surface.maker", "names a sheet, and [maker] is one too: leave one of them out")
        beside = file_beside(path, "surface.maker", name, "put a copy of the sheet beside it")
    except DesignError as e:
        raise _faults(path, source, [(path_of(e.key), e.reason)]) from None
    sheet = _source(beside)
    found = as_written(_parsed(beside, sheet))
    try:
        MakersSheet.model_validate_json(json.dumps(found, default=str), strict=True)
    except ValidationError as e:
        worded = (wording(error, ("maker", *error["loc"])) for error in e.errors(include_url=False))
        raise _faults(beside, sheet, [(tuple(where[1:]), message) for where, message in worded]) from None
    return found


_OF_A_DRAWING = ("dxf", "layer", "house_layer", "lot_layer", "dxf_units")


def _drawn(path: Path, data: dict, source: bytes) -> None:
    """Put the outline of the drawing that a file names into its data, and the edges along the house and the lot where
    layers are named for them. Raises InputError with the key at fault."""
    o = data.get("outline")
    if not isinstance(o, dict):
        return
    names = {k: o[k] for k in _OF_A_DRAWING if k in o}
    if any(not isinstance(v, str) or not v for v in names.values()):  # the schema says what is wrong with these
        return
    try:
        if "dxf" not in names:
            if names:
                raise DesignError(f"outline.{next(iter(names))}", "is for a drawing, and outline.dxf names none")
            return
        for key in ("points", "width", "depth"):
            if key in o:
                raise DesignError(f"outline.{key}", "is given, and outline.dxf names a drawing: leave one of them out")
        beside = file_beside(path, "outline.dxf", names["dxf"], "put a copy of the drawing beside it")
        layers = (names.get(k) for k in ("layer", "dxf_units", "house_layer", "lot_layer"))
        found = drawn_in(beside, *layers)
        o["points"] = [list(q) for q in found.points]
        if "house" not in o and found.house:
            called = edge_names(o.get("edges"), found.points)
            o["house"] = [called[n] for n in found.house if n < len(called)]
        if found.lot and isinstance(data.setdefault("site", {}), dict):
            data["site"].setdefault("lot", [list(q) for q in found.lot])
    except DesignError as e:
        raise _faults(path, source, [(path_of(e.key), e.reason)]) from None


def _taped(path: Path, data: dict, source: bytes) -> None:
    """Put the outline of the sides and diagonals that a file gives into its data, where these are what the schema
    takes. Raises InputError with the key at fault."""
    o = data.get("outline")
    if not isinstance(o, dict) or "taped" not in o:
        return
    try:
        taped = Taped.model_validate_json(json.dumps(o["taped"], default=str), strict=True)
    except ValidationError:  # the schema says what is wrong with it
        o.setdefault("points", [[0, 0], [1, 0], [0, 1]])
        return
    try:
        for key in ("points", "width", "depth", "dxf"):
            if key in o:
                raise DesignError(f"outline.{key}", "is given, and outline.taped too: leave one of them out")
        o["points"] = [list(q) for q in laid_out(taped.sides, taped.diagonals).points]
    except DesignError as e:
        raise _faults(path, source, [(path_of(e.key), e.reason)]) from None


def locate(path: str | Path, error: DesignError) -> InputError:
    """A design's fault with the file and line of the key it blames; the nearest line above where the key is a
    default."""
    source = Path(path).read_bytes()
    return _faults(path, source, [(path_of(error.key), error.reason)])


def given_line(path: str | Path, key: str) -> int | None:
    """The line on which a file gives a key, None where it leaves it out."""
    return key_lines(Path(path).read_bytes()).get(path_of(key))


def _set(data: dict, key: str, value: object) -> tuple[tuple, str] | None:
    """Put a value in its place; the fault where there is no such place. Sections that the file leaves out are made."""
    where, here = path_of(key), data
    for step, then in zip(where, (*where[1:], None)):
        if isinstance(here, list):
            if not isinstance(step, int) or step >= len(here):
                return where, f"is not there to change; the file has {len(here)} of them, counted from 0"
        elif not isinstance(here, dict):
            return where, "is not there to change: what is above it is a value"
        elif then is not None and step not in here:
            here[step] = {}
        if then is None:
            here[step] = value
            return None
        here = here[step]
    return where, "is no key"


def path_of(key: str) -> tuple[str | int, ...]:
    """The steps of a dotted key: `("stair", 0, "width")`."""
    return tuple(int(k) if k.isdigit() else k for k in key.split(".") if k)


def _faults(path, source: bytes, found: list[tuple[tuple, str]]) -> InputError:
    lines = key_lines(source)
    faults = [
        Fault(str(path), line_of(lines, where), ".".join(map(str, where)), " ".join(message.split()))
        for where, message in found
    ]
    return InputError(sorted(faults, key=lambda f: f.line))


def _source(path: Path) -> bytes:
    def fault(message: str) -> InputError:
        return InputError(Fault(str(path), 0, "", message))

    try:
        if path.is_dir():
            raise fault("is a folder; give a parameter file (TOML)")
        if path.exists() and not path.is_file():
            raise fault("is no file on a disk (a pipe or a device); give a parameter file (TOML)")
        with path.open("rb") as file:
            source = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise fault("no such file") from None
    except (OSError, ValueError) as e:
        raise fault(f"cannot be read: {getattr(e, 'strerror', None) or e}") from None
    if len(source) > LARGEST_FILE:
        raise fault(f"is larger than {LARGEST_FILE:,} bytes; this is no parameter file")
    if not source.strip():
        raise fault("is empty; `plumbcut new` writes a file to start from")
    return source


def _parsed(path, source: bytes) -> dict:
    try:
        text = source.decode()
    except UnicodeDecodeError as e:
        line = source[: e.start].count(b"\n") + 1
        raise InputError(Fault(str(path), line, "", f"is not UTF-8 text: byte 0x{source[e.start]:02x}")) from None
    if beyond := out_of_bounds(text):
        raise InputError(Fault(str(path), *beyond))
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as e:
        message = str(e)
        at = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", message)
        line = int(at[1]) if at and at[1] else text.rstrip("\n").count("\n") + 1
        where = f" at column {at[2]}" if at and at[2] else " at the end of the file" if at else ""
        plain = message[: at.start()] if at else message
        lines = text.splitlines()
        better = as_toml_line(lines[line - 1]) if line <= len(lines) else None
        written = f"; write {better}" if better else ""
        told = f"is not TOML{where}: {plain[:1].lower()}{plain[1:]}{written}"
        raise InputError(Fault(str(path), line, "", told)) from None
    except (ValueError, RecursionError) as e:
        raise InputError(Fault(str(path), 1, "", f"is not TOML that can be read: {e}")) from None


def _odd_names(parameters: Parameters) -> list[tuple[tuple, str]]:
    """Names the schema cannot know: nominal sizes, and edges named outside the layout."""
    faults = []
    for where, size in _sizes(parameters, ()):
        try:
            parameters.stock(size)
        except InputError as e:
            faults.append((where, str(e)))
    faults += _own_sizes(parameters)
    door, o = parameters.site.door, parameters.outline
    names = o.names
    if door is not None and door[0] not in names:
        faults.append((("site", "door", 0), f"no edge {door[0]!r}; the edges are {', '.join(names)}"))
    return faults


def _own_sizes(parameters: Parameters) -> list[tuple[tuple, str]]:
    """Sizes of the file's own that stand there twice, or where their shape does not fit."""
    rows = parameters.lumber.stock
    faults: list[tuple[tuple, str]] = []
    for n, row in enumerate(rows):
        if row.name in [r.name for r in rows[:n]]:
            faults.append((("lumber", "stock", n, "name"), f"got {row.name} a second time; wanted each name once"))
    post = next((r for r in rows if r.name == parameters.frame.post), None)
    if post is not None and abs(post.width - post.thickness) > 1e-9:
        faults.append((("frame", "post"), f"got {post.name}, which is not square; wanted a square size for posts"))
    return faults


def _sizes(section: BaseModel, prefix: tuple):
    for name, hint in typing.get_type_hints(type(section), include_extras=True).items():
        if name not in type(section).model_fields:
            continue
        value = getattr(section, name)
        if isinstance(value, BaseModel):
            yield from _sizes(value, (*prefix, name))
        elif isinstance(value, list):
            for i, item in enumerate(value):
                if isinstance(item, BaseModel):
                    yield from _sizes(item, (*prefix, name, i))
        elif value is not None and is_lumber(hint):
            yield (*prefix, name), value


def pieces_expected(parameters: Parameters, outline: FrameOutline) -> dict[str, float]:
    """Roughly how many pieces of each kind a design will have, by the key that asks for most of them.

    From the outline's area and length alone: an estimate to refuse a slip of the pen with, not a quantity.
    """
    s, f, g = parameters.surface, parameters.frame, parameters.guard
    area, perimeter = outline.polygon.area, outline.polygon.length
    x0, y0, x1, y1 = outline.polygon.bounds
    lines = math.sqrt(area) / (s.board_width + s.edge_gap) + 1
    joists = max(x1 - x0, y1 - y0) / (f.joist_spacing or USUAL) + 1
    expected = {
        "surface.board_width": lines * (math.sqrt(area) / s.board_length + 1),
        "frame.joist_spacing": joists * (2 + f.blocking_rows + 2 * s.border.courses),
        "guard.gap": perimeter / (g.gap + g.baluster),
        "frame.post_spacing": area / 144 / (f.post_spacing / 12 if f.post_spacing else 6) / 8 * (3 + f.beam_plies),
    }
    for i, stair in enumerate(parameters.stair):
        rise = stair.total_rise or max(parameters.surface_level - parameters.levels.grade, 0) + 1
        risers = rise / stair.rise + 1
        expected[f"stair.{i}"] = (
            risers * (3 + stair.going / (s.board_width + s.edge_gap))
            + stair.width / stair.stringer_spacing
            + 2 * risers * stair.going / (g.gap + g.baluster)
        )
    return expected


def _refuse_absurd(parameters: Parameters, outline) -> None:
    expected = pieces_expected(parameters, outline)
    total = sum(expected.values())
    if total > MOST_PIECES:
        key = max(expected, key=lambda k: expected[k])
        raise DesignError(
            key,
            f"the deck would have some {total:,.0f} pieces, {expected[key]:,.0f} of them for this; wanted at most"
            f" {MOST_PIECES:,}",
            _fewer(parameters, outline, key),
        )


def _fewer(parameters: Parameters, outline: FrameOutline, key: str) -> tuple[str, object] | None:
    """The key that asks for most pieces and a value with which there are few enough: twice the one given, or twice
    that, and so on."""
    s, f, g = parameters.surface, parameters.frame, parameters.guard
    value = {
        "surface.board_width": s.board_width,
        "frame.joist_spacing": f.joist_spacing or USUAL,
        "guard.gap": g.gap,
        "frame.post_spacing": f.post_spacing,
    }.get(key)
    while value is not None:
        value = up_to(2 * value)
        try:
            changed = with_value(parameters, key, value)
        except (ValueError, InputError):  # past what the key may be
            return None
        if sum(pieces_expected(changed, outline).values()) <= MOST_PIECES:
            return key, value
    return None
