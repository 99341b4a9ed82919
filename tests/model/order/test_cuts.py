"""Cut lists: settings of the saw, mirror images, notches, against planes and outlines made here."""

from __future__ import annotations

import math

import numpy as np
import pytest
from small_deck import small_deck

from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.measuring.saw import EndCut
from plumbcut.model.order.cuts import cut_list, same_cuts, saw_setting
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import Stock

BOARD = Stock("5/4x6", 1.0, 5.5, "composite board")
FASCIA = Stock("1x8", 0.75, 7.25, "composite board")


def up(shop, ring, mark, role="border", stock=BOARD, height=1.0, n=1):
    return [
        shop.upright(role, stock, np.array(ring) + (0, 20 * k), 0, height).replaced(mark=mark, id=f"{mark}-{k}")
        for k in range(n)
    ]


def blade(setting) -> np.ndarray:
    """The outward normal of the cut a saw makes: a square blade (normal along u), tilted, then the table turned.

    Turning the table right moves the near end of the cut line right; tilting left leans the top of the blade left.
    Bench axes u right, v away, w up. Written from how a saw moves, not from how the piece is measured.
    """
    n = np.array([1.0, 0, 0])
    tilt = math.radians(setting.bevel) * {"left": -1, "right": 1, "": 0}[setting.bevel_side]
    # leaning the blade's top left turns it about v; the vector (0, 0, 1) in the blade goes to (sin(tilt), 0, cos(tilt))
    n = np.array([math.cos(tilt), 0, -math.sin(tilt)])
    turn = math.radians(setting.mitre) * {"right": 1, "left": -1, "": 0}[setting.mitre_side]
    # the blade line (0, -1, 0) towards you goes to (sin(turn), -cos(turn), 0)
    r = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])
    n = r @ n
    return n if setting.end == "B" else -n


@pytest.mark.parametrize("end", "AB")
@pytest.mark.parametrize("mitre", [-45, -22.5, 0, 30])
@pytest.mark.parametrize("bevel", [-33.5, 0, 15])
def test_saw_settings_make_the_measured_plane(end, mitre, bevel):
    s = saw_setting(EndCut(end, mitre, bevel, 1.0))
    m, b = math.radians(mitre), math.radians(bevel)
    sign = 1 if end == "B" else -1
    want = np.array([sign * math.cos(b) * math.cos(m), math.cos(b) * math.sin(m), math.sin(b)])
    assert blade(s) == pytest.approx(want, abs=1e-12)


def test_settings_are_rounded_to_half_a_degree_and_kept_exact():
    s = saw_setting(EndCut("B", 31.62, 33.86, 1.0))
    assert (s.mitre, s.bevel, s.exact.mitre) == (31.5, 34.0, 31.62)
    assert str(saw_setting(EndCut("A", 0.1, 0, 1))) == "square"
    assert str(s) == "mitre 31.5° right, bevel 34° left, long point near edge underneath"


def test_identical_pieces_are_one_line_and_mirror_images_two():
    shop = Workshop()
    ring = [(0, 0), (90, 0), (84.5, 5.5), (0, 5.5)]  # mitred at the right only
    mirror = [(0, 0), (84.5, 0), (90, 5.5), (0, 5.5)]  # the same turned over
    both = [(0, 0), (90, 0), (84.5, 5.5), (5.5, 5.5)]  # symmetric: its mirror image is itself
    parts = up(shop, ring, "BD1", n=3) + up(shop, mirror, "BD2", n=2) + up(shop, both, "BD3")
    cuts = {c.mark: c for c in cut_list(measure_all(parts))}
    assert {k: c.quantity for k, c in cuts.items()} == {"BD1": 3, "BD2": 2, "BD3": 1}
    assert (cuts["BD1"].mirror_of, cuts["BD2"].mirror_of, cuts["BD3"].mirror_of) == ("BD2", "BD1", "")
    assert cuts["BD1"].face_up == "top face up"
    one, two = (next(s for s in cuts[m].settings if s.mitre) for m in ("BD1", "BD2"))
    assert one.mitre == two.mitre == 45
    assert (one.end, one.long_point) != (two.end, two.long_point)


def test_notched_mirror_pair():
    shop = Workshop()
    ring = [(0, 0), (10, 0), (10, 3.5), (13.75, 3.5), (13.75, 0), (60, 0), (60, 5.5), (0, 5.5)]
    other = [(x, 5.5 - y) for x, y in ring]
    cuts = cut_list(measure_all(up(shop, ring, "B1", "board") + up(shop, other, "B2", "board")))
    assert [c.mirror_of for c in cuts] == ["B2", "B1"]
    (n,), (o,) = cuts[0].notches, cuts[1].notches
    assert (n.width, n.depth) == (o.width, o.depth) == pytest.approx((3.75, 3.5))
    assert {round(n.start, 6), round(o.start, 6)} <= {10.0, 46.25}


def test_fascia_is_set_out_on_its_side_with_a_bevel():
    # common practice, no source: fascia mitres are measured at the short point on the back
    ring = [(0, 0), (100, 0), (100.75, -0.75), (-0.75, -0.75)]
    (c,) = cut_list(measure_all(up(Workshop(), ring, "FA1", "fascia", FASCIA, 7.25)))
    assert (c.short_point, c.long_point) == pytest.approx((100, 101.5))
    assert all((s.mitre, s.bevel) == (0, 45) for s in c.settings)
    assert c.face_up == "on its side, top edge far"


def test_concrete_and_steel_are_no_work_for_the_saw():
    cuts = cut_list(measure_all(small_deck().parts))
    assert not {"footing", "post cap"} & {c.role for c in cuts}
    assert sum(c.quantity for c in cuts) == sum(p.role not in ("footing", "post cap") for p in small_deck().parts)


def test_what_is_cut_alike_is_told_whatever_its_role():
    """Three roles and one length, one of them notched: two are one pile; so are two others of another length."""
    shop = Workshop()

    def piece(role, mark, long, notch=0.0):
        ring = [(0, 0), (long, 0), (long, 5.5), (notch, 5.5)]
        return up(shop, [*ring, (notch, 4.0), (0, 4.0)] if notch else ring, mark, role)

    parts = piece("blocking", "K1", 14.5) + piece("border blocking", "KB1", 14.5)
    parts += piece("post blocking", "KP1", 14.5, 2) + piece("joist", "J1", 90.0)
    parts += piece("rim", "R1", 90.0) + piece("rim", "R2", 91.0)
    found = same_cuts(cut_list(measure_all(parts)))
    assert found == {"K1": ("KB1",), "KB1": ("K1",), "J1": ("R1",), "R1": ("J1",)}
