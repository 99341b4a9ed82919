"""Pictures without a screen, PNG and SVG: the deck from four corners, exploded by layer, and each flight of stairs side
on."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from ...model.solid.part import Part
from ...model.solid.roles import GROUPS
from ..drafting.cautions import SENTENCES
from ..linework.eye import Eye
from ..linework.shading import visible
from .canvas import Lettering, Picture, Stroke, save
from .outline_picture import outline_picture
from .shades import name_of, shaded
from .stair_picture import stair_pictures

CORNERS = {
    "front-left": (1, 1),
    "front-right": (-1, 1),
    "back-right": (-1, -1),
    "back-left": (1, -1),
}  # which way the eye looks
_TILT = np.degrees(np.arctan(1 / np.sqrt(2)))  # isometric: the three axes equally foreshortened (textbook identity)
PICTURE_NOTE = " ".join(SENTENCES)


def write_pictures(deck, folder: str | Path, measured: Sequence | None = None) -> list[Path]:
    """Every picture of a deck into `folder` (made if need be); the paths written. `measured` as from
    `measure_all(deck.parts)`."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    pictures = {f"iso-{name}": isometric(deck, name) for name in CORNERS}
    pictures["exploded"] = exploded(deck)
    pictures |= stair_pictures(deck, measured)
    if (plan := getattr(deck, "layout", None)) is not None:
        metric = plan.parameters.drawing.units == "metric"
        pictures["plan"] = outline_picture(plan, f"{name_of(deck)}, plan of the outline", metric)
    return [path for name, picture in pictures.items() for path in save(picture, folder / name)]


def looking_down(dx: float, dy: float, tilt: float = _TILT) -> Eye:
    """A view along the plan direction (dx, dy), tilted down by `tilt` degrees."""
    level = np.array([dx, dy]) / np.hypot(dx, dy)
    t = np.radians(tilt)
    toward = np.array([*(-level * np.cos(t)), np.sin(t)])
    right = np.array([level[1], -level[0], 0.0])
    up = np.cross(toward, right)
    return Eye(tuple(map(float, right)), tuple(map(float, up)), tuple(map(float, toward)))


def isometric(deck, corner: str) -> Picture:
    """The deck seen from one of `CORNERS`."""
    picture = Picture(f"{name_of(deck)}, isometric from the {corner.replace('-', ' ')}", PICTURE_NOTE)
    picture.add(*shaded(visible(deck.parts, looking_down(*CORNERS[corner]))))
    return picture


def exploded(deck, corner: str = "front-left") -> Picture:
    """The layers lifted apart, footings at the foot and guards at the top, each with its name."""
    view = looking_down(*CORNERS[corner])
    lifts = layer_lifts(deck.parts)
    picture = Picture(f"{name_of(deck)}, exploded by layer", PICTURE_NOTE)
    seen = visible(deck.parts, view, lambda p: (0.0, 0.0, lifts[p.group]))
    picture.add(*shaded(seen))
    for group in lifts:
        pieces = [p for p in deck.parts if p.group == group]
        flat = np.vstack([view.flat(p.vertices + (0, 0, lifts[group])) for p in pieces])
        left = flat[:, 0].min()
        whole = min(float(s.region.bounds[0]) for s in seen)
        edge = flat[np.argmin(flat[:, 0])]
        at = (whole - 14.0, float(edge[1]))
        picture.add(
            Stroke((at, (float(left) - 2, float(edge[1]))), weight=0.8, dash=True),
            Lettering((at[0] - 3, at[1]), group, 17, "end"),
        )
    x0, y0, x1, y1 = picture.bounds
    picture.window = (x0 - 0.13 * (x1 - x0), y0, x1, y1)
    return picture


def layer_lifts(parts: Sequence[Part]) -> dict[str, float]:
    """How far each layer is lifted (inches): each stands clear above the one before, with air that grows with the
    deck."""
    if not parts:
        return {}
    size = np.ptp(np.vstack([p.box[:, :2] for p in parts]), axis=0)
    air = 0.22 * float(np.hypot(*size))
    lifts, top = {}, None
    for group in GROUPS:
        boxes = [p.box for p in parts if p.group == group]
        if boxes:
            low, high = min(b[0][2] for b in boxes), max(b[1][2] for b in boxes)
            lifts[group] = 0.0 if top is None else top + air - low
            top = high + lifts[group]
    return lifts
