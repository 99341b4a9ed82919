"""The parameter file as a form: its groups and keys from the schema, what the file says of each as it is written there,
and what is typed into a field as the file should have it.

There is no second list of keys: what the schema has, the form has.
"""

from __future__ import annotations

import math
import re
import tomllib
import typing
from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel

from ...model.input.fault_wording import choices, hint_of, is_lumber, kind_of, unit_of
from ...model.input.key_lines import Path, Written, places
from ...model.input.parameters import Parameters
from ...model.input.starter import sections
from ...shared.as_toml import as_toml
from ...shared.units import INCH_PER_MM, feet_inches, sixteenths

_NUMBER = re.compile(r"[+-]?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d+)?")
_METRIC = re.compile(r"(mm|cm|m)\s*$")
_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0}
_PLAIN: dict[type, str] = {bool: "truth", int: "number", float: "number", str: "text"}
LISTED = "list"  # the kind of a key whose value is typed as the file writes it


def groups(source: bytes, built: Parameters | None = None) -> list[dict[str, Any]]:
    """Every section of a well-formed file, those of lists one by one, with their keys. `built`: the deck as it was last
    drawn, whose values stand greyed where the file leaves a key to the program."""
    found = places(source)
    data = tomllib.loads(source.decode("utf-8-sig"))
    return [g for name in Parameters.model_fields for g in _groups(Parameters, name, (), data, found, built)]


def _groups(
    owner: type[BaseModel], name: str, above: Path, data: Any, found: Written, built: Any
) -> list[dict[str, Any]]:
    """The section of that name, or each table of its list and a place for one more."""
    model, many, _ = sections(owner)[name]
    about = owner.model_fields[name].description or " ".join((model.__doc__ or "").split())
    here = _of(data, name)
    made = getattr(built, name, None)
    if not many:
        return [_group(model, name, (*above, name), about, here, found, made)]
    listed = here if isinstance(here, list) else []
    of_each: Sequence[Any] = made if isinstance(made, list) and len(made) == len(listed) else [None] * len(listed)
    tables = [
        _group(model, f"{name} {n + 1}", (*above, name, n), about, table, found, one) | {"removable": True}
        for n, (table, one) in enumerate(zip(listed, of_each))
    ]
    first = next((k for k, f in model.model_fields.items() if f.is_required()), next(iter(model.model_fields)))
    more = {"path": ".".join(map(str, (*above, name))), "title": name, "about": about, "keys": [], "groups": []}
    hint = typing.get_type_hints(model, include_extras=True)[first]
    return [
        *tables,
        more | {"one_more": _field(model, first, hint, (*above, name, len(listed), first), None, found, None)},
    ]


def _group(
    model: type[BaseModel], title: str, path: Path, about: str, data: Any, found: Written, built: Any
) -> dict[str, Any]:
    inner, hints = sections(model), typing.get_type_hints(model, include_extras=True)
    return {
        "path": ".".join(map(str, path)),
        "title": title.replace("_", " "),
        "about": about,
        "keys": [
            _field(model, key, hints[key], (*path, key), _of(data, key), found, built)
            for key in model.model_fields
            if key not in inner
        ],
        "groups": [g for key in inner for g in _groups(model, key, path, data, found, built)],
    }


def _of(data: Any, key: str) -> Any:
    return data.get(key) if isinstance(data, dict) else None


def _field(
    model: type[BaseModel], key: str, hint: Any, path: Path, value: Any, found: Written, built: Any
) -> dict[str, Any]:
    """A key: what it may be, what the file says, and what holds where it says nothing."""
    field = model.model_fields[key]
    standing = None if field.is_required() else field.get_default(call_default_factory=True)
    chosen = getattr(built, key, None) if value is None else None
    chosen = None if chosen == standing else chosen
    return {
        "path": ".".join(map(str, path)),
        "key": key,
        "kind": _kind(hint),
        "about": field.description or "",
        "choices": [str(c) for c in choices(hint)],
        "value": _shown(value, path, found),
        "given": value is not None,
        "default": _as_trade(standing if chosen is None else chosen, hint),
        "chosen": chosen is not None,
    }


def _kind(hint: Any) -> str:
    if choices(hint):
        return "choice"
    if is_lumber(hint):
        return "size"
    kind = kind_of(hint)
    return unit_of(hint) or (_PLAIN[kind] if kind is not None else LISTED)


def _shown(value: Any, path: Path, found: Written) -> str:
    """As the file has it: a text without its quotes, anything else in its own signs."""
    if isinstance(value, str):
        return value
    if value is None:
        return ""
    node = found.values.get(path)
    return node.text.decode() if node is not None else as_toml(value)


def _as_trade(value: Any, hint: Any) -> str:
    """A default as one would type it: lengths in feet and inches where they are whole sixteenths."""
    if value is None or isinstance(value, (list, dict, tuple)):
        return as_toml(list(value) if isinstance(value, tuple) else value) if value else ""
    if isinstance(value, float) and unit_of(hint) == "in":
        return feet_and_inches(value)
    return as_toml(value).strip('"')


def feet_and_inches(value: float) -> str:
    """`147.5` as `12' 3 1/2"`; what is no whole sixteenth in inches with its decimals."""
    if abs(sixteenths(value) / 16 - value) > 1e-6:
        return f"{value:g} in"
    return feet_inches(value).replace("'-", "' ")


# --- from the field into the file -------------------------------------------------------------------------------------


def typed(path: Path, text: str) -> str:
    """What was typed into the field of a key, as the file should have it. What it may be is the schema's to say."""
    hint, text = hint_of(path), text.strip()
    kind = _kind(hint)
    if kind == LISTED:
        return text
    if kind == "truth":
        return {"yes": "true", "no": "false"}.get(text.lower(), text.lower() if text else as_toml(text))
    if kind in ("text", "size", "choice"):
        return as_toml(next((c for c in choices(hint) if str(c) == text), text))
    if _NUMBER.fullmatch(text):
        return text
    return as_toml(text.rstrip('"”″') if kind == "in" else text)  # the inch mark may be left off, and reads better so


def length_as_there(value: float, old: str) -> str:
    """A length in inches, as TOML, in the manner of the text that it takes the place of: a bare number of inches, feet
    and inches, or metric. A value that this manner cannot write is a bare number."""
    plain = f"{round(value, 5) + 0.0:.10g}"
    if not old.startswith(('"', "'")):
        return plain
    metric = _METRIC.search(old.strip("\"'"))
    if metric:
        return as_toml(f"{round(value / INCH_PER_MM / _MM[metric[1]], 6):.10g} {metric[1]}")
    if math.isclose(sixteenths(value) / 16, value, abs_tol=1e-6):
        return as_toml(feet_and_inches(value).rstrip('"'))
    return plain
