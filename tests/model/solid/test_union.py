"""The union of plan footprints against the identity that areas of shapes side by side add up."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, translate

from plumbcut.model.solid.union import united, without_spikes

# four plies of a rim that runs on past a reflex corner, side by side, as a deck drawn by lot had them: GEOS 3.14 loses
# two of them
PLIES = [
    [
        (32.06351748500588, -148.36796560358627),
        (30.984507770000317, -149.40995314427175),
        (-54.45807941352466, -60.93103168169581),
        (-53.379062753379145, -59.88905133295657),
        (-33.233999999999995, -80.75),
    ],
    [
        (-54.532806492204784, -61.00319381818487),
        (-54.45807941352466, -60.93103168169581),
        (30.98450777000031, -149.40995314427175),
        (29.90549805499474, -150.45194068495724),
        (-55.537096073670185, -61.973012030435065),
    ],
    [
        (-56.362094893968205, -62.76969348145889),
        (-55.537096073670185, -61.973012030435065),
        (29.905498054994734, -150.45194068495724),
        (28.826488339989183, -151.4939282256427),
        (-56.6161127338157, -63.014992379174316),
    ],
    [
        (-56.6161127338157, -63.014992379174316),
        (28.82648833998918, -151.4939282256427),
        (27.747478624983614, -152.53591576632817),
        (-57.69512939396122, -64.05697272791357),
    ],
]


def test_no_ply_is_lost_where_edges_all_but_coincide():
    plies = [shapely.Polygon(p) for p in PLIES]
    found = united(plies)
    assert found.area == pytest.approx(sum(p.area for p in plies), rel=1e-6)
    assert all(found.intersection(p).area == pytest.approx(p.area, rel=1e-6) for p in plies)


@pytest.mark.parametrize("seed", range(40))
def test_shapes_that_overlap_count_once(seed):
    """Inclusion and exclusion for two shapes, turned at random."""
    rng = np.random.default_rng(seed)
    a = rotate(shapely.box(0, 0, 40, 1.5), float(rng.uniform(0, 180)), origin=(0, 0))
    b = translate(rotate(shapely.box(0, 0, 30, 5.5), float(rng.uniform(0, 180)), origin=(0, 0)), *rng.uniform(-5, 5, 2))
    assert united([a, b]).area == pytest.approx(a.area + b.area - a.intersection(b).area, rel=1e-6)


def test_nothing_is_empty():
    assert united([]).is_empty


def test_a_spike_of_no_width_is_taken_off_and_nothing_else():
    """A rim's footprint as a difference left it: 1-1/2 in thick, with a spike 300 in long and 1e-14 in wide."""
    spiked = shapely.Polygon(
        [
            (0, 0),
            (4e-13, -1e-13),
            (4e-13, -300.0),
            (3.9e-13, -5),
            (-0.5, -5),
            (-0.5, 0),
            (-1.5, 0),
            (-1.5, 146),
            (0, 146),
        ]
    )
    mended = without_spikes(spiked)
    assert mended.bounds == pytest.approx((-1.5, -5, 0, 146), abs=1e-5)
    assert mended.area == pytest.approx(spiked.area, abs=1e-3)
    plain = shapely.box(0.123456789, 0, 1.5, 146)
    assert without_spikes(plain) is plain
