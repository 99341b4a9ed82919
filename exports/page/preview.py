"""`preview.html`: one file to walk round the model with, on a desk or a phone, with no network.

The page's sources lie in `page/`; here the model becomes data for it. Everything from a parameter file reaches the page
as JSON and is shown as text: a name with markup in it stays a name, and a content security policy lets no other script
run.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from ...model.design.advised import NAMED
from ...model.measuring.measure import Measured
from ...model.rules.check_result import CheckResult
from ...model.solid.kernel import Shape
from ...model.solid.part import Part
from ...model.solid.roles import GROUPS
from ...shared.as_toml import as_toml
from ...shared.units import feet_inches, inches
from ..drafting.cautions import SENTENCES
from ..drafting.wording import limit_text, measured_text, source_text, worded
from ..linework.mesh import by_shape, rings
from ..pictures.colours import colour

_SCRIPTS = ("lengths.js", "slice.js", "model.js", "stage.js", "saw.js", "main.js")
_WORKING = (*_SCRIPTS[:-1], "desk.js", "plan.js", "main.js")  # of a page that writes into the file
MeasuredRow = Mapping[str, Any]


def write_preview(
    deck, measured: Iterable[MeasuredRow | Measured], checks: Iterable[MeasuredRow | CheckResult], path: str | Path
) -> None:
    """Write the page. `measured` are measurements or rows of `measured.json` (`id`, `length`, `long_point`,
    `short_point`, `width`, `thickness`, `ends` with `end`, `mitre`, `bevel`); `checks` are results or rows (`rule`,
    `source`, `piece`, `measured`, `limit`, `result`, `why`, and `ids` of the pieces)."""
    Path(path).write_text(page(model_data(deck, measured, checks)), encoding="utf-8")


def page(data: dict[str, Any], live: Mapping[str, str] | None = None) -> str:
    """The page as text. `live` (`{"events": url, "model": url}`) makes it follow a server on its own origin; with
    `file`, `write`, `back` (urls) and `token` it has the parameter file beside the model, to work on.

    The server sends events named `model` (fetch the new data) and `broken` (its data a JSON string to show).
    """
    desk = bool(live and live.get("file"))
    script = _script(_WORKING if desk else _SCRIPTS)
    whole = dict(data, live=dict(live)) if live else data
    fill = {
        "HASH": base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
        "CONNECT": "'self'" if live else "'none'",
        "TITLE": html.escape(str(data["name"])),
        "STYLE": _read("page.css") + (_read("desk.css") if desk else ""),
        "DATA": _json(whole),
        "SCRIPT": script,
    }
    pieces = _read("page.html").split("@@")  # text, key, text, key, ...: what is filled in is never searched again
    return "".join(p if i % 2 == 0 else fill[p] for i, p in enumerate(pieces))


def model_data(
    deck, measured: Iterable[MeasuredRow | Measured], checks: Iterable[MeasuredRow | CheckResult]
) -> dict[str, Any]:
    """What the page shows, as plain data: shapes, pieces, checks, ground, cautions. Inches, z up."""
    parts: Sequence[Part] = deck.parts
    facts = {row["id"]: row for row in map(_measured_row, measured)}
    meshes = by_shape(parts)
    known = {p.id for p in parts} | {p.mark for p in parts}
    number = {shape: i for i, shape in enumerate(meshes)}
    project = getattr(getattr(deck, "parameters", None), "project", None)
    return {
        "name": getattr(project, "name", None) or "Deck",
        "cautions": list(SENTENCES),
        "groups": list(GROUPS),
        "shapes": [
            {"corners": _short(v.ravel()), "faces": f.ravel().tolist(), "edges": _edges(shape)}
            for shape, (v, f) in meshes.items()
        ],
        "pieces": [_piece(part, number[part.shape], facts.get(part.id)) for part in parts],
        "checks": [_check(row, known) for row in map(_check_row, checks)],
        "ground": _ground(deck),
    }


def _piece(part: Part, shape: int, row: MeasuredRow | None) -> dict[str, Any]:
    place = part.place
    return {
        "id": part.id,
        "mark": part.mark,
        "role": part.role,
        "group": part.group,
        "where": part.where,
        "stock": part.stock.name + (f", {part.stock.material}" if part.stock.material else ""),
        "colour": list(colour(part)),
        "shape": shape,
        "place": [*_short(place.origin), *(float(c) for c in place.x), *(float(c) for c in place.y)],
        "facts": _facts(row) if row else [["length", "not measured"]],
        "carried_by": list(part.carried_by),
    }


def _facts(row: MeasuredRow) -> list[list[str]]:
    """The measured row as name and value for a person: lengths in feet and inches, cuts as saw settings."""
    out = [["length", feet_inches(row["length"])]]
    long, short = row.get("long_point"), row.get("short_point")
    if long is not None and short is not None and abs(long - short) > 1 / 32:
        out += [["long point", feet_inches(long)], ["short point", feet_inches(short)]]
    if row.get("width") is not None and row.get("thickness") is not None:
        out.append(["section", f"{inches(row['thickness'])} x {inches(row['width'])}"])
    out += [[f"end {cut.get('end') or 'AB'[i]}", cut_words(cut)] for i, cut in enumerate(row.get("ends") or ())]
    return out


def cut_words(cut: MeasuredRow) -> str:
    """An end cut (`mitre`, `bevel` in degrees, signs as the measuring room defines them) in words."""
    words = []
    mitre, bevel = float(cut.get("mitre") or 0), float(cut.get("bevel") or 0)
    if abs(mitre) >= 0.05:
        words.append(f"mitre {abs(mitre):.1f}°, long point on the {'near' if mitre > 0 else 'far'} edge")
    if abs(bevel) >= 0.05:
        words.append(f"bevel {abs(bevel):.1f}°, long point {'underneath' if bevel > 0 else 'on top'}")
    return "; ".join(words) or "square"


def _measured_row(m: MeasuredRow | Measured) -> MeasuredRow:
    if isinstance(m, Mapping):
        return m
    return {
        "id": m.id,
        "length": m.length,
        "long_point": m.long_point,
        "short_point": m.short_point,
        "width": m.width,
        "thickness": m.thickness,
        "ends": [{"end": e.end, "mitre": e.mitre, "bevel": e.bevel} for e in m.ends],
    }


def _check_row(c: MeasuredRow | CheckResult) -> MeasuredRow:
    if isinstance(c, Mapping):
        return c
    return {
        "rule": c.rule,
        "source": source_text(c),
        "piece": worded(c.place),
        "measured": measured_text(c),
        "limit": limit_text(c),
        "result": c.result,
        "why": worded(c.why),
        "ids": c.ids,
        "mends": [{"key": key, "toml": as_toml(value)} for key, value in c.mends],
    }


def _check(row: MeasuredRow, known: set[str]) -> dict[str, Any]:
    """A check as texts, and the ids and marks of the pieces it is about: `ids`, or else what `piece` names."""
    names = list(row.get("ids") or str(row.get("piece") or "").replace(";", ",").split(","))
    return {key: _value(row.get(key)) for key in ("rule", "source", "piece", "measured", "limit", "result", "why")} | {
        "pieces": [n.strip() for n in names if n.strip() in known],
        "mends": list(row.get("mends") or ()),
        "keys": [m.group().rstrip(".") for m in NAMED.finditer(_value(row.get("why")))]
        if row.get("result") == "not met"
        else [],
    }


def _value(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def _edges(shape: Shape) -> list[int]:
    """Pairs of mesh corners to draw as edges: both end rings and the arrises between (none on a round piece)."""
    loops = rings(shape)
    n = sum(len(r) for r in loops)
    pairs, start = [], 0
    for ring in loops:
        a = np.arange(start, start + len(ring))
        b = np.roll(a, -1)
        pairs += [np.column_stack([a, b]), np.column_stack([a + n, b + n])]
        if shape.circle is None:
            pairs.append(np.column_stack([a, a + n]))
        start += len(ring)
    return np.vstack(pairs).ravel().tolist()


def _ground(deck) -> list[list[float]] | None:
    """Four corners of the grade around the deck, where the deck has a grade."""
    grade = getattr(getattr(deck, "planes", None), "grade", None)
    if grade is None or not deck.parts:
        return None
    low = np.min([p.box[0] for p in deck.parts], axis=0)
    high = np.max([p.box[1] for p in deck.parts], axis=0)
    out = 0.35 * float(max(high[:2] - low[:2]))
    corners = [
        (low[0] - out, low[1] - out),
        (high[0] + out, low[1] - out),
        (high[0] + out, high[1] + out),
        (low[0] - out, high[1] + out),
    ]
    return [_short((x, y, float(grade(x, y)))) for x, y in corners]


def _short(values) -> list[float]:
    """Rounded to a hundred-thousandth of an inch, which keeps the file small and no reader can see."""
    return [round(float(v), 5) + 0.0 for v in values]


def _json(data: Any) -> str:
    """JSON that cannot end the script element it stands in."""
    text = json.dumps(data, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _read(name: str) -> str:
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


@lru_cache(maxsize=2)
def _script(names: tuple[str, ...]) -> str:
    own = "\n".join(_read(name) for name in names)
    licence = _read("three.LICENSE.txt").replace("*/", "* /")
    return f"\n/*\n{licence}*/\n{_read('three.bundle.js')}\n(() => {{\n'use strict';\n{own}\n}})();\n"
