"""Strips of the cutting plan: pieces, saw cuts and what is left stand where they lie in the item."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.drawing.figure import EdgeLine
from manifoldgen.drawing.sheets.stock import strip
from manifoldgen.manifold.model import Slice, StockItem, Taken
from manifoldgen.pieces import split
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.sawn import Sawn
from tests.shop.rebuild import random_runners

ELBOW = StockItem("leg90", "bend", "runner", 42.4, 2.0, clr=63.6, angle=90.0, legs=(100.0, 120.0))


def boxes(taken: Taken, width: float, fill: float) -> list[tuple[float, float]]:
    """Begin and end of the boxes of one grey, mm of the item's centreline."""
    whole = 220.0 + math.radians(90) * 63.6
    cuts: dict[str, Sawn] = {s.piece: _cut() for s in taken.slices}
    found = [i for i in strip(taken, cuts, width).items if isinstance(i, EdgeLine) and i.fill == fill]
    return [
        (min(v[0] for v in i.vertices) * whole / width, max(v[0] for v in i.vertices) * whole / width)
        for i in found
    ]


def _cut() -> Sawn:
    """Any saw line: only the words of a strip come from it."""
    return next(iter(ShopPlan(split(random_runners(np.random.default_rng(1), 1))).sawn.values()))


def test_a_leg_an_offcut_and_a_leg_at_the_other_end() -> None:
    """30° with 40 of the first leg, 20° with 110 of the second: by hand, the saw cut is 2.4° and not the offcut."""
    slices = (Slice("A", 0.0, 30.0, (40.0, 0.0)), Slice("B", 70.0, 20.0, (110.0, 0.0), turned=True))
    taken = Taken(ELBOW, 1, slices, 1.8, 2.4, 37.6)
    mm = math.radians(1) * 63.6

    assert boxes(taken, 180.0, 0.95) == [
        pytest.approx((60.0, 100.0 + 30 * mm)),
        pytest.approx((100.0 + 70 * mm, 100.0 + 90 * mm + 110.0)),
    ]
    assert boxes(taken, 180.0, 0.6) == [pytest.approx((100.0 + 30 * mm, 100.0 + 32.4 * mm))]
