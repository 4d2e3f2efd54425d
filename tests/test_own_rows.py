"""Rows of the shop's own reach every room: saw, socket, screw, step, bevel, plastic, tungsten."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from manifoldgen.catalogue import STANDARD
from manifoldgen.geometry.path import Bend, Straight
from manifoldgen.pieces.split import split
from tests.access.rooms import bench, stud
from tests.factory import TUBE, alone, manifold, runner


def own(file: str, table: str, row: str, **values: object):
    """Our catalogue with one row of the shop's own."""
    return STANDARD.with_overrides({file: {table: {row: values}}})


def two_bends(angle: float, tables=STANDARD):
    """One runner with two bends of the same angle on CLR 63.6."""
    run = runner(1, [Straight(40), Bend(angle, 63.6), Straight(40), Bend(angle, 63.6), Straight(40)])
    return replace(alone(manifold(), run), tables=tables)


@pytest.mark.parametrize(
    ("kerf", "angle", "count"),
    [(None, 43.7, 1), (None, 43.9, 2), (0.2, 43.9, 1), (0.2, 44.5, 2), (3.0, 42.5, 1), (3.0, 42.7, 2)],
)
def test_the_search_saws_as_the_shop_does(kerf, angle, count):
    """Two bends come out of one 90 elbow while twice the angle and the cut fit: asin((kerf + 0.6) / throat), closed form.

    Throat CLR - OD/2 = 42.4; kerf 1.2 and 0.3 of truing a face are the catalogue's (common practice, no source).
    """
    from manifoldgen.routing.tidy import elbows

    m = two_bends(angle, STANDARD if kerf is None else own("shop", "cutting", "kerf", value=kerf))
    problem = SimpleNamespace(radii=(63.6,), caps=(math.radians(90),), radius=TUBE.od / 2, numbers=(1,))
    cut = math.degrees(math.asin(((1.2 if kerf is None else kerf) + 0.6) / 42.4))

    assert (2 * angle + cut <= 90) == (count == 1)
    assert elbows(problem, m) == count


def test_the_search_keeps_room_for_the_shops_socket():
    """The keep-out over a stud is as wide as the socket: ISO 2725-1's 18.5 for 13 mm is under the drive end of 20."""
    from manifoldgen.routing.surroundings import keep_out

    s = stud("S1", tip=14.0)
    wide = own("tools", "hand_socket_d1", "13", **{"10": 23.4})

    assert keep_out(bench(s), s, 12.0).radius == 10.0
    assert keep_out(replace(bench(s), tables=wide), s, 12.0).radius == pytest.approx(11.7)


@pytest.mark.parametrize(
    ("share", "od", "whole"), [(0.25, 43.3, True), (0.25, 43.5, False), (0.1, 42.7, True), (0.1, 42.9, False)]
)
def test_stock_steps_as_the_shop_allows(share, od, whole):
    """An elbow is cut from while it steps no more than the share of its 2 mm wall: half the difference in diameter."""
    m = two_bends(90.0, own("shop", "fit_up", "hi_lo_max", of_wall=share))
    stock = tuple(
        replace(i, od=od, wall=2.0 + (od - TUBE.od) / 2) if i.kind == "elbow" else i for i in m.stock
    )
    cut = split(replace(m, stock=stock))

    assert ((od - TUBE.od) / 2 <= share * 2.0) == whole
    assert any(t.item.kind == "elbow" for t in cut.cutting.taken) == whole


@pytest.mark.parametrize(
    ("start", "wall", "bevel"), [(None, 3.0, True), (None, 2.99, False), (2.0, 2.0, True), (2.0, 1.99, False)]
)
def test_bevels_from_the_shops_wall_on(start, wall, bevel):
    """3 mm and over are edge prepared (a stainless fabrication specification); the shop may begin earlier."""
    from manifoldgen.shop.prep import prep

    tables = STANDARD if start is None else own("shop", "fit_up", "bevel_from", value=start)

    assert prep(tables, wall).bevel is bevel


def test_printed_laps_take_the_shops_screws():
    """Holes and nut pockets of the laps: M4 is 4.5 (ISO 273), 7 across flats and 3.2 high (ISO 4032, from memory)."""
    from manifoldgen.prints.plates import screws

    ours = screws(STANDARD)[0]
    other = screws(own("fasteners", "hex_nut", "M4", s=8, m=4.0))[0]

    assert (ours.thread, ours.clearance, ours.nut) == ("M4", 4.5, (7, 3.2))
    assert other.nut == (8, 4.0)
    assert other.pocket > ours.pocket
    assert screws(own("fasteners", "clearance_hole", "M4", medium=4.9))[0].clearance == 4.9


def test_plastic_is_the_shops():
    """The formula in the list has the shop's density (PETG 1.27 g/cm3, from memory)."""
    from manifoldgen.prints.estimate import formula

    assert "1.27 g/cm3" in formula(own("limits", "print", "density", value=1.27))
    assert "1.24 g/cm3" in formula(STANDARD)
