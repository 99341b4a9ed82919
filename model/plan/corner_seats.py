"""Where the last post of a flush beam stands in a corner of the deck, so that it does not come out of it. Inches."""

from __future__ import annotations

import numpy as np

from .beam_run import BeamRun
from .seats import least_bearing, post_square
from .stages import Beamed

MOST_OUT, OUT_BY = 0.5, 0.0625  # inches that a corner of a post comes out of the deck at most, and tried by; our own
LEAST_ACROSS_RIM = 0.2  # sine: a beam that meets a rim at a smaller angle lies along it; our own


def into_corner(layout: Beamed, run: BeamRun, end: int, tip: float, half: float) -> float:
    """From the end of a flush beam at an edge to the centre of its last post, whose outer face goes as far as the
    beam's `tip` past that end, so that the rim mitred to it bears there too, and not out of the deck: but by as much,
    `MOST_OUT` at most, as an askew rim lacks to its least bearing."""
    edge = layout.outline[run.edge or ""]
    beside = layout.outline.after(edge) if end else layout.outline.before(edge)
    way = -run.direction if end else run.direction
    if (inwards := float(way @ beside.inward)) < LEAST_ACROSS_RIM:  # past a reflex corner no rim ends there
        return half
    c, side = np.asarray(run.end if end else run.start), np.array([-way[1], way[0]]) * half
    inset = half + max(-tip, *(-beside.position(c + s)[1] / inwards for s in (side, -side)))
    rim = [ply for e, _, ply in layout.rims if e is beside]
    wide, at = layout.rim_of(beside), run.length if end else 0.0
    least = 0.0 if layout.has_ledger(beside) else least_bearing(layout) * wide
    for out in np.arange(0.0, MOST_OUT + OUT_BY, OUT_BY):
        post = post_square(layout, run, run.point(abs(at - inset + out)))
        if 1e-6 < sum(ply.intersection(post).area for ply in rim) < least:
            continue
        return float(inset - out)
    return inset


def inside_wrapped(layout: Beamed, run: BeamRun, end: int, at: float) -> float:
    """Where along a flush beam the post under its mitre stands: back from it, so far that no corner of the post comes
    out of the deck where steps go round, whose stringers and block lie against both rims there."""
    edge = layout.outline[run.edge] if run.flush and run.edge else None
    if edge is None or not any(s.edge is edge and s.mitres[end] for s in layout.stairs):
        return at
    beside = layout.outline.after(edge) if end else layout.outline.before(edge)
    way = -run.direction if end else run.direction
    out = -min(beside.position(q)[1] for q in post_square(layout, run, run.point(at)).exterior.coords)
    back = max(0.0, out) / max(float(way @ beside.inward), LEAST_ACROSS_RIM)
    return at - back if end else at + back
