"""A picture as data (filled regions, lines, words) and its two writers: SVG and PNG, both without a screen.

Regions and lines are in model inches, y up; weights, text and margins in points of the finished picture. The SVG keeps
words as text; the PNG is drawn three times too large and reduced, so that its lines are smooth.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
import shapely
import shapely.ops
from shapely.geometry import Polygon

from .colours import RGB

PAPER: RGB = (250, 248, 243)
INK: RGB = (43, 49, 51)
SOFT: RGB = (100, 106, 104)
_FINER = 3
_MARGIN, _FOOT = 36, 58
_MIDDLE = 0.36  # of the text size: from the middle of a line of text down to its baseline


@dataclass(frozen=True)
class Region:
    polygon: Polygon
    fill: RGB
    edge: RGB | None = None
    weight: float = 0.7


@dataclass(frozen=True)
class Stroke:
    points: tuple[tuple[float, float], ...]
    colour: RGB = INK
    weight: float = 1.0
    dash: bool = False


@dataclass(frozen=True)
class Lettering:
    """`at` is the middle of the text's height; `anchor` start, middle or end; `angle` counter-clockwise degrees."""

    at: tuple[float, float]
    text: str
    size: float = 15.0
    anchor: str = "middle"
    angle: float = 0.0
    colour: RGB = INK


@dataclass
class Picture:
    """Items are painted in order. `title` and `note` stand at the foot. `window` (x0, y0, x1, y1) crops the model."""

    title: str
    note: str = ""
    items: list[Region | Stroke | Lettering] = field(default_factory=list)
    window: tuple[float, float, float, float] | None = None

    def add(self, *items: Region | Stroke | Lettering) -> None:
        self.items += items

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        if self.window:
            return self.window
        boxes = [i.polygon.bounds if isinstance(i, Region) else _box(i) for i in self.items]
        if not boxes:
            return (0.0, 0.0, 1.0, 1.0)
        b = np.array(boxes)
        return (*map(float, b[:, :2].min(axis=0)), *map(float, b[:, 2:].max(axis=0)))


def _box(item: Stroke | Lettering) -> tuple[float, float, float, float]:
    p = np.array(item.points if isinstance(item, Stroke) else [item.at])
    return (*p.min(axis=0), *p.max(axis=0))


@dataclass(frozen=True)
class _Fit:
    """Model inches to points of the picture, y down."""

    scale: float
    left: float
    top: float
    width: int
    height: int

    @classmethod
    def of(cls, picture: Picture, width: int, most: int) -> _Fit:
        x0, y0, x1, y1 = picture.bounds
        w, h = max(x1 - x0, 1e-6), max(y1 - y0, 1e-6)
        scale = min((width - 2 * _MARGIN) / w, (most - _MARGIN - _FOOT) / h)
        height = round(h * scale + _MARGIN + _FOOT)
        return cls(scale, (width - w * scale) / 2 - x0 * scale, _MARGIN + y1 * scale, width, height)

    def __call__(self, points) -> np.ndarray:
        p = np.asarray(points, float).reshape(-1, 2)
        return np.column_stack([self.left + p[:, 0] * self.scale, self.top - p[:, 1] * self.scale])


def svg(picture: Picture, width: int = 1600, most: int = 1600) -> str:
    """SVG text, `width` points wide and at most `most` high."""
    fit = _Fit.of(picture, width, most)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{fit.height}" viewBox="0 0 {width}'
        f' {fit.height}" '
        f"font-family=\"Verdana, 'DejaVu Sans', sans-serif\"><title>{escape(picture.title)}</title>",
        f'<rect width="100%" height="100%" fill="{_hex(PAPER)}"/>',
        (
            f'<clipPath id="w"><rect x="0" y="0" width="{width}" height="{fit.height - _FOOT + 12}"/></clipPath><g'
            ' clip-path="url(#w)" stroke-linejoin="round">'
        ),
    ]
    for item in picture.items:
        if isinstance(item, Region):
            rings = [item.polygon.exterior, *item.polygon.interiors]
            path = "".join("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in fit(r.coords[:-1])) + "Z" for r in rings)
            # a region without an edge of its own is edged in its colour, or the paper would show at its borders
            out.append(
                f'<path d="{path}" fill="{_hex(item.fill)}" fill-rule="evenodd" stroke="{_hex(item.edge or item.fill)}"'
                f' stroke-width="{item.weight:g}"/>'
            )
        elif isinstance(item, Stroke):
            points = " ".join(f"{x:.1f},{y:.1f}" for x, y in fit(item.points))
            dash = ' stroke-dasharray="9 6"' if item.dash else ""
            out.append(
                f'<polyline points="{points}" fill="none" stroke="{_hex(item.colour)}"'
                f' stroke-width="{item.weight:g}"{dash}/>'
            )
        else:
            ((x, y),) = fit([item.at])
            turn = f' transform="rotate({-item.angle:g} {x:.1f} {y:.1f})"' if item.angle else ""
            out.append(
                f'<text x="{x:.1f}" y="{y + _MIDDLE * item.size:.1f}" font-size="{item.size:g}"'
                f' text-anchor="{item.anchor}" fill="{_hex(item.colour)}" stroke="{_hex(PAPER)}" stroke-width="4"'
                f' paint-order="stroke"{turn}>{escape(item.text)}</text>'
            )
    out.append("</g>")
    for text, size, drop, colour in _foot(picture, width):
        out.append(
            f'<text x="{_MARGIN}" y="{fit.height - drop}" font-size="{size:g}"'
            f' fill="{_hex(colour)}">{escape(text)}</text>'
        )
    return "\n".join(out) + "\n</svg>\n"


def png(picture: Picture, width: int = 1600, most: int = 1600) -> bytes:
    """PNG bytes of the same picture, pixel for point."""
    from PIL import Image, ImageDraw

    fit = _Fit.of(picture, width, most)
    k = _FINER
    image = Image.new("RGB", (width * k, fit.height * k), PAPER)
    draw = ImageDraw.Draw(image)
    for item in picture.items:
        if isinstance(item, Region):
            for ring in _without_holes(item.polygon):
                draw.polygon((fit(ring) * k).ravel().tolist(), fill=item.fill)
            if item.edge:
                for ring in (item.polygon.exterior, *item.polygon.interiors):
                    draw.line(
                        (fit(ring.coords) * k).ravel().tolist(),
                        fill=item.edge,
                        width=round(item.weight * k),
                        joint="curve",
                    )
        elif isinstance(item, Stroke):
            for line in _dashes(fit(item.points), 9, 6) if item.dash else [fit(item.points)]:
                draw.line(
                    (line * k).ravel().tolist(), fill=item.colour, width=max(1, round(item.weight * k)), joint="curve"
                )
        else:
            _write(image, fit([item.at])[0] * k, item, k)
    draw.rectangle([0, (fit.height - _FOOT + 12) * k, width * k, fit.height * k], fill=PAPER)
    for text, size, drop, colour in _foot(picture, width):
        draw.text((_MARGIN * k, (fit.height - drop) * k), text, font=_font(size * k), fill=colour, anchor="ls")
    out = BytesIO()
    image.resize((width, fit.height), Image.Resampling.BOX).save(out, "PNG")
    return out.getvalue()


def save(picture: Picture, stem: Path, width: int = 1600, most: int = 1600) -> list[Path]:
    """`stem`.png and `stem`.svg."""
    stem.with_suffix(".png").write_bytes(png(picture, width, most))
    stem.with_suffix(".svg").write_text(svg(picture, width, most), encoding="utf-8")
    return [stem.with_suffix(".png"), stem.with_suffix(".svg")]


def save_one(picture: Picture, path: Path) -> None:
    """A picture as the file named, SVG or PNG by its ending."""
    if path.suffix.lower() == ".svg":
        path.write_text(svg(picture), encoding="utf-8")
    else:
        path.write_bytes(png(picture))


def _foot(picture: Picture, width: int):
    """The lines at the foot: text, size, height above the lower edge, colour. Long ones are set smaller to fit."""
    for text, size, drop, colour in ((picture.title, 17, 28, INK), (picture.note, 11, 10, SOFT)):
        if text:
            wide = _font(size).getlength(text)
            yield text, size * min(1.0, (width - 2 * _MARGIN) / max(wide, 1)), drop, colour


def _without_holes(polygon: Polygon) -> list[np.ndarray]:
    if not polygon.interiors:
        return [np.asarray(polygon.exterior.coords)]
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    return [np.asarray(p.exterior.coords) for p in parts]


def _dashes(points: np.ndarray, on: float, off: float) -> list[np.ndarray]:
    line = shapely.LineString(points)
    starts = np.arange(0, line.length, on + off)
    return [np.asarray(shapely.ops.substring(line, s, min(s + on, line.length)).coords) for s in starts]


def _write(image, at, item: Lettering, k: int) -> None:
    """Words with a thin halo of paper, turned where asked."""
    from PIL import Image, ImageDraw

    font = _font(item.size * k)
    pad = 3 * k
    wide, high = int(font.getlength(item.text)) + 2 * pad, int(1.5 * item.size * k) + 2 * pad
    patch = Image.new("RGBA", (wide, high), (*PAPER, 0))
    ImageDraw.Draw(patch).text(
        (pad, high / 2 + _MIDDLE * item.size * k),
        item.text,
        font=font,
        fill=(*item.colour, 255),
        anchor="ls",
        stroke_width=2 * k,
        stroke_fill=(*PAPER, 255),
    )
    # where the text is anchored, measured from the patch's middle, turned with it
    along = {"start": wide / 2 - pad, "middle": 0.0, "end": pad - wide / 2}[item.anchor]
    turn = np.radians(item.angle)
    middle = np.asarray(at) + along * np.array([np.cos(turn), -np.sin(turn)])
    if item.angle:
        patch = patch.rotate(item.angle, expand=True, resample=Image.Resampling.BICUBIC)
    image.paste(patch, tuple(round(m - s / 2) for m, s in zip(middle, patch.size)), patch)


@lru_cache(maxsize=64)
def _font(size: float):
    import reportlab
    from PIL import ImageFont

    # Bitstream Vera, free to use and ship, comes with the library that writes the permit set
    return ImageFont.truetype(str(Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"), size)


def _hex(rgb: RGB) -> str:
    return "#{:02x}{:02x}{:02x}".format(*tuple(rgb))
