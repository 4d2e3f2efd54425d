"""Runs that end in `close`: finished, clear of what is there, or told why not."""

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.geometry.distance import to_shape
from manifoldgen.geometry.path import Bend, Straight
from manifoldgen.geometry.shapes import Capsule, Tube
from manifoldgen.geometry.snap import miss
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold.model import Manifold, Obstacle, Run, StockItem
from manifoldgen.routing.closing import close_runs, stock_radii
from tests.factory import TUBE, manifold


def opened(m: Manifold, *written: Straight | Bend) -> Manifold:
    """The manifold with runner 1 written so far and to be closed."""
    first = replace(m.runners[0], path=None, todo="close", written=written)
    return replace(m, runners=(first, *m.runners[1:]))


def lands(run: Run) -> None:
    """It has a path, nothing left to do, and ends on its inlet."""
    assert run.path is not None
    assert run.target is not None
    assert run.todo is None
    assert run.trouble is None
    assert max(miss(run.path, run.target)) < 1e-9


def test_straight_runner_is_closed_by_its_straight() -> None:
    """30 mm of a straight runner written: the rest is one straight with it; the others stay as they are."""
    m = manifold(length=300)
    closed = close_runs(opened(m, Straight(30)))
    lands(closed.runners[0])
    assert closed.runners[0].path is not None
    assert len(closed.runners[0].path.elements) == 1
    assert closed.runners[0].path.length == pytest.approx(300)
    assert closed.runners[1:] == m.runners[1:]


def test_closure_keeps_clear_of_an_obstacle() -> None:
    """A bar across the straight way: the runner goes round it with the clearance asked."""
    m = manifold(length=420)
    path = m.runners[0].path
    assert path is not None
    at = array(path.point(190))
    radial = array((at[0], at[1], 0.0)) / math.hypot(at[0], at[1])
    side = np.cross(radial, (0.0, 0.0, 1.0))
    bar = Capsule(vec(at - 60 * side), vec(at + 60 * side), 10.0)
    stood = replace(opened(m, Straight(30)), obstacles=(Obstacle("bar", bar, 8.0),))
    run = close_runs(stood).runners[0]
    lands(run)
    assert run.path is not None
    assert run.path.bends
    assert to_shape(Tube(run.path, TUBE.radius), bar).gap >= 8.0 - 1e-3
    assert all(b.clr == 63.6 and b.angle <= 90 + 1e-6 for b in run.path.bends)


def test_port_and_inlet_keep_their_straights() -> None:
    """Nothing written: at least the straights asked at the flange and at the inlet."""
    m = manifold(length=420)
    m = replace(m, limits=replace(m.limits, flange_straight=90.0, inlet_straight=70.0))
    moved = replace(m.runners[0], start=replace(m.runners[0].start, direction=(0.0, 0.0, 1.0)))
    run = close_runs(opened(replace(m, runners=(moved, *m.runners[1:])))).runners[0]
    lands(run)
    assert run.path is not None
    first, last = run.path.elements[0], run.path.elements[-1]
    assert isinstance(first, Straight)
    assert first.length >= 90
    assert isinstance(last, Straight)
    assert last.length >= 70


def test_run_that_cannot_close_says_why() -> None:
    """Elbows of 10° cannot turn 90° back to the inlet: no path, and the degrees are named."""
    m = opened(manifold(length=300), Straight(20), Bend(90, 63.6))
    small = tuple(replace(i, angle=10.0) for i in m.stock if i.tube == "runner")
    run = close_runs(replace(m, stock=small)).runners[0]
    assert run.path is None
    assert run.todo == "close"
    assert run.trouble is not None
    assert "four bends of at most 10.0° turn 40.0°" in run.trouble


def test_radii_come_from_this_tubes_stock() -> None:
    """Largest angle of every CLR; items used whole and other tubes left out; else what is written."""
    m = opened(manifold(), Bend(30, 50.0))
    run = m.runners[0]
    whole = StockItem("bought 45", "elbow", "runner", 42.4, 2.0, clr=70.0, angle=45.0, whole=True)
    assert stock_radii(replace(m, stock=(*m.stock, whole)), run) == [(63.6, 90.0)]
    assert stock_radii(replace(m, stock=()), run) == [(50.0, 90.0)]
