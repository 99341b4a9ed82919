"""Decks for `second_path`, each with what another lacks; every size is invented. Inches, pounds a square foot."""

from __future__ import annotations

from pathlib import Path

from plumbcut.exports.formats.calcs import write_calcs_csv
from plumbcut.exports.formats.measured_json import write_measured
from plumbcut.exports.formats.solids import write_glb
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.structure.structure import analyse

DECKS = {
    "ledger": {
        "outline": {"width": 178, "depth": 131},
        "levels": {"surface": 41},
        "frame": {"joist": "2x8", "cantilever": 17},
    },
    "three beams": {
        "outline": {"width": 211, "depth": 203, "house": []},
        "levels": {"surface": 52},
        "frame": {"support": "free-standing", "joist": "2x8", "beam_lines": [22, 101, 181], "beam": "2x10"},
        "loads": {"ground_snow_psf": 50},
    },
    "L": {
        "outline": {"points": [[0, 0], [205, 0], [205, 110], [118, 110], [118, 207], [0, 207]], "house": ["e3", "e4"]},
        "levels": {"surface": 47},
        "frame": {"joist": "2x10"},
    },
    "hexagon": {
        "outline": {"points": [[52, 0], [160, 0], [212, 91], [160, 182], [52, 182], [0, 91]], "house": []},
        "levels": {"surface": 44},
        "frame": {"support": "free-standing", "joist": "2x8"},
    },
    "flush": {
        "outline": {"width": 187, "depth": 118},
        "levels": {"surface": 21},
        "frame": {"joist": "2x8", "beam_position": "flush"},
    },
    "stair": {
        "outline": {"width": 163, "depth": 139},
        "levels": {"surface": 76},
        "frame": {"joist": "2x10"},
        "stair": [
            {"edge": "right", "at": 40, "width": 44, "landings": [{"after_risers": 5, "depth": 45, "turn": "right"}]}
        ],
    },
    "cross piece": {
        "outline": {"width": 187, "depth": 134},
        "levels": {"surface": 59},
        "frame": {"joist": "2x8"},
        "stair": [{"edge": "right", "at": 48, "width": 45}],
    },
    "splices": {
        "outline": {"width": 331, "depth": 125},
        "levels": {"surface": 49},
        "frame": {"joist": "2x8", "beam_plies": 3, "post_spacing": 71},
    },
    "area load": {
        "outline": {"width": 171, "depth": 149},
        "levels": {"surface": 58},
        "frame": {"joist": "2x10", "joist_spacing": 12},
        "area_load": [{"name": "tub", "polygon": [[31, 20], [109, 20], [109, 90], [31, 90]], "psf": 70}],
    },
}


def write(given: dict, folder: Path) -> None:
    """What a build writes of a deck that the second path reads, and what it is compared with."""
    deck = build(Parameters.model_validate(given))
    folder.mkdir(exist_ok=True)
    write_glb(deck, folder / "model.glb")
    write_measured(measure_all(deck.parts), folder / "measured.json")
    write_calcs_csv(analyse(deck), folder / "calcs.csv")
