"""The same deck elsewhere: a parameter file moved, turned by a quarter, or mirrored, with everything in it that is
measured from a place or names a side told anew.

What a file leaves to the program and what the program settles by the plan's own axes is told outright first (`told`):
which way joists run without a house, on which sides handrails go, which edge's boards are kept whole.
"""

from __future__ import annotations

import copy
import math

OTHER = {"left": "right", "right": "left", "x": "y", "y": "x"}
NAMES = ("front", "right", "back", "left")


def told(file: dict) -> dict:
    """The file with its outline as corners and named edges, and nothing left open that hangs on the plan's axes."""
    made = copy.deepcopy(file)
    outline = made["outline"]
    if "points" not in outline:
        w, d = outline.pop("width"), outline.pop("depth")
        outline["points"] = [[0, 0], [w, 0], [w, d], [0, d]]
        outline["edges"] = list(NAMES)
    outline.setdefault("edges", [f"e{k + 1}" for k in range(len(outline["points"]))])
    frame = made["frame"]
    if frame.get("joist_direction", "auto") == "auto" and not outline["house"]:
        frame["joist_direction"] = "y"  # without a house edge
    for stair in made.get("stair", []):
        if stair.get("handrail", "auto") == "auto":
            stair["handrail"] = "both"
    made.setdefault("order", {"whole_edge": "none"})
    return made


def moved(file: dict, dx: float, dy: float) -> dict:
    made = copy.deepcopy(file)
    made["outline"]["points"] = [[x + dx, y + dy] for x, y in file["outline"]["points"]]
    levels = made["levels"]
    levels["grade"] = levels.get("grade", 0.0) - levels.get("slope_x", 0.0) * dx - levels.get("slope_y", 0.0) * dy
    return made


def turned(file: dict) -> dict:
    """A quarter turn counter-clockwise about the origin."""
    made = copy.deepcopy(file)
    made["outline"]["points"] = [[-y, x] for x, y in file["outline"]["points"]]
    levels = made["levels"]
    levels["slope_x"], levels["slope_y"] = -levels.get("slope_y", 0.0), levels.get("slope_x", 0.0)
    made["frame"]["joist_direction"] = OTHER.get(file["frame"]["joist_direction"], "auto")
    surface = made["surface"]
    if "direction" in surface:
        surface["direction"] = _within(surface["direction"] + 90)
    return made


def mirrored(file: dict) -> dict:
    """Left for right."""
    made = copy.deepcopy(file)
    points, edges = file["outline"]["points"], file["outline"]["edges"]
    n = len(points)
    # from the first house edge on: it stays the first one, by which joists lie
    first = next((k for k in range(n) if edges[k] in file["outline"]["house"]), 0)
    order = [(first - k) % n for k in range(n)]
    made["outline"]["points"] = [[-points[(k + 1) % n][0], points[(k + 1) % n][1]] for k in order]
    made["outline"]["edges"] = [edges[k] for k in order]
    made["levels"]["slope_x"] = -file["levels"].get("slope_x", 0.0)
    if "direction" in file["surface"]:
        made["surface"]["direction"] = _within(-file["surface"]["direction"])
    long = {edges[k]: math.dist(points[k], points[(k + 1) % n]) for k in range(n)}
    for stair in made.get("stair", []):
        if "at" in stair:
            stair["at"] = long[stair["edge"]] - stair["at"] - stair["width"]
        stair["handrail"] = OTHER.get(stair["handrail"], stair["handrail"])
        for landing in stair.get("landings", []):
            landing["turn"] = OTHER.get(landing["turn"], landing["turn"])
    return made


def _within(angle: float) -> float:
    return angle - 180 if angle > 90 else angle + 180 if angle < -90 else angle
