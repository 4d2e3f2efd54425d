"""Blanks for the mill: their length against the inlet itself, and bars that have room for them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.catalogue import STANDARD
from manifoldgen.geometry.path import Bend, Straight
from manifoldgen.manifold.model import Manifold, StockItem
from manifoldgen.pieces import split
from manifoldgen.pieces.blanks import Blank, blank_of
from manifoldgen.shop.plan import ShopPlan
from tests import factory
from tests.strategies import random_collector

SEED = 20


def test_a_blank_holds_grip_and_spare() -> None:
    """40 mm of grip and 3 of spare, by hand: 25 before the joint plane and a scallop 5 before it leave 17 to hold.

    With 12 mm for the collar of the printed nest the joint's line lies as much further from the sawn end.
    """
    blank = Blank(scallop=-5.0, longest=30.2, grip=40.0, spare=3.0)
    assert replace(blank, collar=12.0).held(25.0, 4.3) == 35.0

    assert blank.held(25.0, 4.3) == 23.0
    assert blank.from_line(25.0) == 59.0  # 25 + 30.2 + 3 = 58.2
    assert blank.length(25.0, 4.3) == 82.0
    assert blank.held(60.0, 4.3) == 4.3  # held by its own length, the weld's shrink and the trim stay on


def test_farthest_and_first_point_are_those_of_the_edge() -> None:
    """Over random collectors the closed forms are the edge's extremes, from points of it (closed form of each line).

    A line at `phi` of the wall ends where it first meets a bisector plane or the flat cut; both in coordinates.
    """
    rng = np.random.default_rng(SEED)
    print(f"seed {SEED}")
    for _ in range(30):
        c = random_collector(rng)
        if c.half_angle < 1.0:
            continue
        g, r, h = math.radians(c.half_angle), c.section.radius, math.pi / len(c.order)
        phi = np.linspace(0.0, 2 * math.pi, 40001)
        # radial outwards, across, along the collector's axis; an inlet leans towards the axis
        at = np.stack(
            [c.ring_radius + r * np.cos(phi) * math.cos(g), r * np.sin(phi), r * np.cos(phi) * math.sin(g)]
        )
        way = np.array([-math.sin(g), 0.0, math.cos(g)])
        ends = [(c.merge_depth - at[2]) / way[2]]
        if c.kind == "merge":
            for side in (1, -1):
                normal = np.array([-math.sin(h), side * math.cos(h), 0.0])  # of the plane between neighbours
                ends.append(-(normal @ at) / (normal @ way))
        edge = np.min(ends, axis=0)
        blank = blank_of(factory.manifold(), c)
        assert blank.longest == pytest.approx(edge.max(), abs=5e-3)
        first = np.min(ends[1:], axis=0) if c.kind == "merge" else edge
        assert blank.scallop == pytest.approx(first.min(), abs=1e-4)


def tight(bar: float) -> Manifold:
    """Three short inlets behind bends and nothing but bars of `bar` mm for them."""
    m = factory.manifold()
    short = (Straight(40.0), Bend(60.0, 63.6), Straight(20.0))
    stock = [replace(s, length=bar) if s.kind == "straight" else s for s in m.stock]
    runners = tuple(factory.runner(r.number, short, target=r.target) for r in m.runners)
    return split(replace(m, runners=runners, stock=tuple(stock)))


@pytest.mark.parametrize("bar", [1000.0, 300.0, 150.0, 110.0])
def test_every_bar_has_room_for_what_is_sawn(bar: float) -> None:
    """What the saw list says is what the plan has, and with its kerfs it stays inside the bar."""
    m = tight(bar)
    cuts = ShopPlan(m).sawn
    blanks = 0
    for t in m.cutting.taken:
        if t.item.kind == "straight" and t.item.tube == "runner":
            assert sum(cuts[s.piece].before for s in t.slices) + (len(t.slices) - 1) * t.kerf <= t.item.length
            for s in t.slices:
                assert s.legs[0] == pytest.approx(cuts[s.piece].before, abs=1e-9)
                blanks += cuts[s.piece].hold > 5

    assert blanks == 3


def test_more_grip_takes_more_bar() -> None:
    """A shop that holds 90 mm saws longer blanks: the plan follows the shop's own number."""
    m = tight(1000.0)
    wide = STANDARD.with_overrides({"shop": {"mill": {"grip": {"value": 90}}}})
    more = split(replace(m, tables=wide))

    def used(x: Manifold) -> float:
        return sum(s.legs[0] for t in x.cutting.taken for s in t.slices if s.piece.endswith("P3"))

    assert used(more) == pytest.approx(used(m) + 3 * 50.0)


def test_a_bar_that_only_holds_the_inlet_is_too_short() -> None:
    """A bar as long as the cut length gives no blank: the piece counts as missing."""
    m = tight(1000.0)
    blank = ShopPlan(m).sawn["R1-P3"].before
    one = [s for s in m.stock if s.kind != "straight"]
    for length, missing in ((blank - 1.0, True), (blank + 2.5, False)):
        bar = StockItem("end", "straight", "runner", factory.TUBE.od, factory.TUBE.wall, length=length)
        made = split(replace(m, stock=(*one, bar)))
        assert ("R1-P3" in made.cutting.missing) is missing


def test_a_tube_from_flange_to_inlet_counts_its_slanted_end_once() -> None:
    """200 mm at 12° to the flange: 21.2 tan 12° of slant are on the line's side, shrink and trim stay on past it.

    By hand: shrink 0.1 (3 + 0.35 x 0.5 / 1.12) mm and 4 mm of trim.
    """
    m = split(factory.manifold())
    (sheet,) = ShopPlan(m).mill
    blank = blank_of(m, m.collectors[0])
    slant = 21.2 * math.tan(math.radians(12.0))

    for inlet in sheet.inlets:
        assert inlet.left_on == pytest.approx(4.0 + 0.1 * (3.0 + 0.175 / 1.12))
        assert inlet.blank == pytest.approx(math.ceil(200 + slant + blank.longest + 3) + inlet.left_on)
        cut = m.cutting.of(inlet.piece)
        assert cut is not None
        assert [s.legs[0] for s in cut.slices if s.piece == inlet.piece] == pytest.approx([inlet.blank])
