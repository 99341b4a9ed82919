"""The starter file that `plumbcut new` prints, and the schema as JSON: both made from the fields of `parameters.py`.

A small deck that builds as it stands. Every other key is there too, commented out at its default, with its reason.
"""

from __future__ import annotations

import textwrap
import typing

from pydantic import BaseModel

from ...shared.as_toml import as_toml
from .fault_wording import choices, given, section_of
from .parameters import Parameters

COMMENT_WIDTH = 118
# what the starter deck sets itself; every other key is commented out
CHOSEN: dict[str, str] = {
    "project.name": '"Back deck"',
    "outline.width": '"17\' 6\\""',
    "outline.depth": '"10\' 9\\""',
    "levels.surface": '"3\' 2\\""',
    "stair.edge": '"front"',
}
# keys whose default is worked out, or that are absent: a value that could stand there
COULD_BE: dict[str, str] = {
    "revision.issued": '"issued.toml"',
    "outline.points": '[[0, 0], ["13\'", 0], [210, "4\' 6\\""], [210, 129], [0, 129]]',
    "outline.dxf": '"survey.dxf"',
    "outline.layer": '"DECK"',
    "outline.house_layer": '"HOUSE"',
    "outline.lot_layer": '"LOT"',
    "outline.clip.front_left": '"3\'"',
    "outline.clip.front_right": "36",
    "outline.clip.back_right": "24",
    "outline.clip.back_left": "24",
    "outline.edges": '["front", "right", "back", "left"]',
    "outline.house": '["back"]',
    "frame.ledger": '"2x8"',
    "frame.beam_lines": '["1\' 6\\""]',
    "frame.beam_overhang": "12",
    "frame.footing.size": "18",
    "frame.footing.depth": "42",
    "frame.post_spacing": '"7\'"',
    "surface.direction": "0",
    "surface.border.width": "5.5",
    "trim.height": "7.25",
    "stair.at": '"4\'"',
    "stair.total_rise": '"3\' 2\\""',
    "stair.landings.after_risers": "3",
    "stair.landings.space": "3.5",
    "stair.landings.post_spacing": "60",
    "guard.top_rail_lies": '"flat"',
    "guard.edges": '["left", "front", "right"]',
    "local.profile": '"office.toml"',
    "local.frost_depth": "42",
    "local.wind_exposure": '"B"',
    "local.wind_speed_mph": "115",
    "local.guard_height": "42",
    "local.guard_post_load_lb": "200",
    "local.riser_height": "7.5",
    "local.tread_depth": "11",
    "local.stair_width": "42",
    "site.lot": '[["-30\'", "-40\'"], ["50\'", "-40\'"], ["50\'", "60\'"], ["-30\'", "60\'"]]',
    "site.house": '[["-10\'", 129], ["30\'", 129], ["30\'", "40\'"], ["-10\'", "40\'"]]',
    "site.door": '["back", "6\'", "3\'"]',
    "gaps.temperature_f": "60",
    "gaps.moisture": "19",
    "gaps.coefficient": "1.9e-5",
    "gaps.trim_coefficient": "3.1e-5",
    "survey.side.edge": '"front"',
    "survey.side.top": '"17\' 6-1/4\\""',
    "survey.side.bottom": '"17\' 6-1/8\\""',
    "survey.diagonal.start": '["left", "front"]',
    "survey.diagonal.end": '["right", "back"]',
    "survey.diagonal.length": '"20\' 6-1/2\\""',
    "survey.post.edge": '"left"',
    "survey.post.at": '"5\' 10 1/2\\""',
    "survey.post.size": '"3 9/16"',
    "survey.post.depth": '"3 9/16"',
    "survey.post.inside": "1.5",
    "survey.joists.edge": '"back"',
    "survey.joists.at": '[18, 34, "4\' 2 1/8\\"", 66, 79.75, 84.75, 98, 114, 122, 130.25, 146, 162, 178, 194]',
    "survey.stair.stair": "1",
    "survey.stair.rises": '[38, "38 1/8", "38 1/8", "38 1/4", "38 1/4"]',
    "order.prices": '"prices.csv"',
}
OPENING_WORDS = """\
# A deck for plumbcut. Lengths as you write them: 12' 3-1/2", 12 ft 3 1/2 in, 95 mm; a bare number is inches.
# A line that starts with # followed at once by a key shows that key at its default, or an example where the default is
# worked out or absent: take the # away to change it.
# Not a substitute for the local code, an engineer or the authority having jurisdiction. Verify on site. Call before
# digging. Wear protection when cutting.
"""


def json_schema() -> dict:
    """The JSON schema of a parameter file (draft 2020-12, as pydantic writes it)."""
    return Parameters.model_json_schema()


def starter() -> str:
    """The commented starter file, TOML."""
    lines = [OPENING_WORDS]
    for name in Parameters.model_fields:
        lines += _section(name, Parameters, name)
    return "\n".join(lines).rstrip("\n") + "\n"


def sections(model: type[BaseModel] = Parameters) -> dict[str, tuple[type[BaseModel], bool, bool]]:
    """The keys of a section that are sections themselves: the model, whether it is a list of them, whether it may be
    absent."""
    found = {}
    for name, hint in typing.get_type_hints(model, include_extras=True).items():
        inner = section_of(hint)
        if name in model.model_fields and inner is not None:
            found[name] = inner, typing.get_origin(hint) is list, model.model_fields[name].default is None
    return found


def _section(name: str, owner: type[BaseModel], path: str, off: bool = False) -> list[str]:
    model, many, absent = sections(owner)[name]
    off = off or absent or (many and path != "stair")  # an empty table would switch an absent section on
    header = f"[[{path}]]" if many else f"[{path}]"
    about = owner.model_fields[name].description or " ".join((model.__doc__ or "").split())
    lines = ([f"# {line}" for line in textwrap.wrap(about, COMMENT_WIDTH - 2, break_on_hyphens=False)]) + [
        f"{'#' if off else ''}{header}"
    ]
    inner = sections(model)
    for key in model.model_fields:
        if key not in inner:
            lines += _key(model, key, f"{path}.{key}", off)
    lines.append("")
    for key in inner:
        lines += _section(key, model, f"{path}.{key}", off)
    return lines


def _key(model: type[BaseModel], key: str, path: str, off: bool) -> list[str]:
    field = model.model_fields[key]
    chosen = path in CHOSEN
    example = as_toml(field.examples[0]) if field.examples else None  # where the class gives its own
    default = example or as_toml(field.get_default(call_default_factory=True))
    value = CHOSEN.get(path) or COULD_BE.get(path) or default
    about = field.description or ""
    allowed = choices(typing.get_type_hints(model, include_extras=True)[key])
    if allowed:
        about = f"{about + '; ' if about else ''}one of {', '.join(given(a) for a in allowed)}"
    text = f"{'' if chosen and not off else '#'}{key} = {value}"
    beside = f"{text:<34}  # {about}" if about else text
    if len(beside) <= COMMENT_WIDTH:
        return [beside]
    return [f"# {line}" for line in textwrap.wrap(about, COMMENT_WIDTH - 2, break_on_hyphens=False)] + [text]
