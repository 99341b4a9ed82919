"""What was given and what is allowed, in plain words, from what the schema found wrong."""

from __future__ import annotations

import difflib
import re
import types
import typing
from typing import Annotated, Any, Literal, Union

from pydantic import BaseModel, BeforeValidator
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from ...shared.units import parse_density, parse_length, parse_stress
from .parameters import Parameters
from .section import LumberSize

LONG_VALUE = 60  # characters of a given value that are repeated


def given(value: Any) -> str:
    """A value as the file has it, cut short."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = '"' + value.replace("\n", " ") + '"'
    elif isinstance(value, dict):
        return "a table"
    else:
        text = str(value)
    return text if len(text) <= LONG_VALUE else text[: LONG_VALUE - 3] + "..."


def wording(error: ErrorDetails, path: tuple) -> tuple[tuple, str]:
    """(path to blame, message) of one entry of pydantic's `ValidationError.errors()`."""
    kind, value, context = error["type"], error["input"], error.get("ctx", {})
    hint, field = _hint(path)
    got = f"got {given(value)}"
    if kind == "extra_forbidden":
        return path, _unknown(path)
    if kind == "missing":
        if isinstance(path[-1], int):
            return path[:-1], f"got {len(value)} values; item {path[-1] + 1} is missing"
        about = f": {field.description}" if field is not None and field.description else ""
        return path, f"is missing{about}"
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        return path, f"{got}; wanted {_range(hint, field)}"
    if kind == "literal_error":
        return path, f"{got}; wanted one of {', '.join(given(c) for c in choices(hint))}{_did_you_mean(value, hint)}"
    if kind == "string_pattern_mismatch":
        return path, f"{got}; wanted a nominal size like 2x8 or 5/4x6"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        name = ".".join(str(k) for k in path if isinstance(k, str))
        return path, f"{got}; wanted a section, [{name}]"
    if kind in ("list_type", "tuple_type"):
        if isinstance(value, dict):
            return path, f"got one table; wanted a list of them, written [[{path[-1]}]]"
        return path, f"{got}; wanted a list, [ ... ]{_written_as(kind, value, str(path[-1]))}"
    if kind == "value_error":
        text = str(context["error"]) if "error" in context else error["msg"].removeprefix("Value error, ")
        return _blamed(path, text)
    if kind == "finite_number":
        return path, f"{got}, which is not a finite number"
    if kind in ("too_long", "too_short", "string_too_short", "string_too_long"):
        return path, _of_length(kind, value, context)
    plain = {
        "string_type": "text in quotes",
        "bool_type": "true or false",
        "int_type": "a whole number",
        "int_from_float": "a whole number",
        "float_type": "a number",
    }
    if kind in plain:
        return path, f"{got}; wanted {plain[kind]}{_written_as(kind, value, str(path[-1]))}"
    return path, f"{got}; {error['msg'][:1].lower()}{error['msg'][1:]}"


_TRUTHS = {"yes": "true", "on": "true", "true": "true", "no": "false", "off": "false", "false": "false"}
_BARE = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*([A-Za-z]*)")  # a number, and perhaps its unit


def _written_as(kind: str, value: Any, key: str) -> str:
    """How a text would be written where its meaning is plain and its form is not what the key takes."""
    if not isinstance(value, str):
        return ""
    text = value.strip()
    if kind == "bool_type" and text.lower() in _TRUTHS:
        return f"; write {_TRUTHS[text.lower()]}, without quotes"
    if kind in ("int_type", "float_type") and (number := _BARE.fullmatch(text)):
        its_own = number[2].lower() in ("", *key.split("_"))  # live_psf = "40 psf"
        if its_own and (kind == "float_type" or "." not in number[1]):
            return f"; write {number[1].lstrip('+')}, without quotes"
    if kind == "list_type" and text and not text.startswith("["):
        return f"; write [{given(text)}]"
    return ""


def _of_length(kind: str, value: Any, context: dict) -> str:
    """Of a list or a text with too many or too few items or characters."""
    if isinstance(value, str):
        if not value:
            return 'got ""; wanted a text that is not empty'
        return f"got {given(value)}, {len(value)} characters; wanted at most {context.get('max_length')}"
    if kind == "too_short":
        return f"got {len(value)} items; wanted at least {context.get('min_length')}"
    return f"got {len(value)} items; wanted at most {context.get('max_length')}"


def _blamed(path: tuple, text: str) -> tuple[tuple, str]:
    """A section's own rule names the key it blames first ("edge_gap of 6 in is not ...")."""
    first = text.split(" ", 1)[0]
    if not path:  # of two sections: its key in full
        return tuple(first.split(".")), text.removeprefix(first).lstrip()
    section = section_of(_hint(path)[0])
    return ((*path, first), text) if section is not None and first in section.model_fields else (path, text)


def _did_you_mean(value: Any, hint: Any) -> str:
    """The choice that a text comes near to."""
    allowed = [c for c in choices(hint) if isinstance(c, str)]
    near = difflib.get_close_matches(value.lower(), allowed, 1, 0.6) if isinstance(value, str) else []
    return f"; did you mean {given(near[0])}?" if near else ""


def _alike(a: str, b: str) -> int:
    """Letters that two words begin with alike."""
    return next((n for n, (x, y) in enumerate(zip(a, b)) if x != y), min(len(a), len(b)))


def _unknown(path: tuple) -> str:
    key = str(path[-1])
    section = section_of(_hint(path[:-1])[0]) if len(path) > 1 else Parameters
    known = list(section.model_fields) if section is not None else []
    near = difflib.get_close_matches(key.lower(), known, 2, 0.6)
    if near:
        near.sort(key=lambda k: -_alike(k, key.lower()))
        return f"unknown key; did you mean {near[0]}?"
    homes = [name for name, hint in _sections() if key in hint.model_fields and hint is not section]
    if homes:
        return f"unknown key here; {key} belongs in {' or '.join(homes)}"
    return f"unknown key; the keys here are {', '.join(known)}"


def _sections() -> list[tuple[str, type[BaseModel]]]:
    found = []
    for name, hint in typing.get_type_hints(Parameters, include_extras=True).items():
        model = section_of(hint)
        if model is None:
            continue
        found.append((f"[[{name}]]" if typing.get_origin(hint) is list else f"[{name}]", model))
        for inner, sub in typing.get_type_hints(model, include_extras=True).items():
            if (inside := section_of(sub)) is not None:
                found.append((f"[{name}.{inner}]", inside))
    return found


def _parts(hint) -> tuple:
    """A hint's alternatives without Annotated and None."""
    origin = typing.get_origin(hint)
    if origin is Annotated:
        return _parts(typing.get_args(hint)[0])
    if origin in (Union, types.UnionType):
        return tuple(p for a in typing.get_args(hint) if a is not type(None) for p in _parts(a))
    return (hint,)


def section_of(hint: Any) -> type[BaseModel] | None:
    """The section a hint is, or is a list of."""
    for part in _parts(hint):
        if isinstance(part, type) and issubclass(part, BaseModel):
            return part
        if typing.get_origin(part) is list:
            return section_of(typing.get_args(part)[0])
    return None


def _hint(path: tuple) -> tuple[Any, FieldInfo | None]:
    """The type hint, with its annotations, and the field of a path in a parameter file."""
    hint, field = Parameters, None
    for key in path:
        (part,) = _parts(hint)[:1] or (None,)
        args = typing.get_args(part)
        if isinstance(part, type) and issubclass(part, BaseModel):
            if key not in part.model_fields:
                return None, None
            field, hint = part.model_fields[key], typing.get_type_hints(part, include_extras=True)[key]
        elif typing.get_origin(part) is tuple and isinstance(key, int) and key < len(args):
            hint = args[key]
        elif typing.get_origin(part) in (list, dict):
            hint = args[-1]
        else:
            return None, None
    return hint, field


def hint_of(path: tuple) -> Any:
    """The type hint of a path in a parameter file; None where there is no such key."""
    return _hint(path)[0]


def _metadata(hint) -> list:
    if typing.get_origin(hint) is Annotated:
        base, *extras = typing.get_args(hint)
        return extras + _metadata(base)
    if typing.get_origin(hint) in (Union, types.UnionType):
        return [m for a in typing.get_args(hint) for m in _metadata(a)]
    return []


_UNITS = {parse_length: " in", parse_stress: " psi", parse_density: " pcf"}


def _read_by(hint, parse) -> bool:
    return any(isinstance(m, BeforeValidator) and m.func is parse for m in _metadata(hint))


def unit_of(hint: Any) -> str:
    """`in`, `psi` or `pcf` where a key is read as a length, a stress or a density; else nothing."""
    return next((u.strip() for parse, u in _UNITS.items() if _read_by(hint, parse)), "")


def kind_of(hint: Any) -> type | None:
    """The one plain type (bool, int, float, str) that a hint allows beside nothing at all."""
    found = _parts(hint)
    return found[0] if len(found) == 1 and found[0] in (bool, int, float, str) else None


def is_lumber(hint: Any) -> bool:
    return hint == LumberSize or LumberSize in typing.get_args(hint)


def choices(hint: Any) -> tuple:
    return next((typing.get_args(p) for p in _parts(hint) if typing.get_origin(p) is Literal), ())


def _range(hint, field: FieldInfo | None) -> str:
    """The bounds of a number in words, with inches where it is a length."""
    flat = list(field.metadata) if field is not None else []
    for m in _metadata(hint):
        flat += list(m.metadata) if isinstance(m, FieldInfo) else [m]
    words = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}
    found = {n: getattr(m, n) for m in flat for n in words if getattr(m, n, None) is not None}
    unit = f" {unit_of(hint)}".rstrip()
    return " and ".join(f"{word} {_plain(found[n])}{unit}" for n, word in words.items() if n in found)


def _plain(number: float) -> str:
    return f"{number:,.0f}" if number >= 1e6 else f"{number:g}"
