"""Bends that cannot be made or had: each limit from both sides."""

from __future__ import annotations

from dataclasses import replace

import pytest

from manifoldgen.checks import bend_not_in_stock, bend_too_tight
from manifoldgen.geometry.path import Bend, Straight
from manifoldgen.manifold.model import StockItem
from tests.factory import STOCK, TUBE, alone, manifold, runner


def job(clr: float, angle: float = 45.0, stock=STOCK, straight: float = 40.0):
    """One runner with one bend."""
    m = alone(manifold(), runner(1, [Straight(straight), Bend(angle, clr), Straight(straight)]))
    return replace(m, stock=tuple(stock))


def elbow(name: str, clr: float, angle: float = 90.0, **more) -> StockItem:
    """An elbow of the runner's tube."""
    return StockItem(
        name, "elbow", "runner", **{"od": TUBE.od, "wall": TUBE.wall, **more}, clr=clr, angle=angle
    )


@pytest.mark.parametrize(("clr", "named"), [(21.2, True), (21.3, False)])
def test_a_throat_that_collapses_without_any_stock(clr, named) -> None:
    """OD 42.4: CLR 21.2 = OD/2 has no throat left; 21.3 has one, and no stock says otherwise."""
    found = bend_too_tight.check(job(clr, stock=()))

    assert [f.name for f in found] == ["bend-too-tight"] * named
    for finding in found:
        assert (finding.value, finding.limit) == (clr, 21.2)
        assert "collapses" in finding.message


@pytest.mark.parametrize(("clr", "named"), [(63.5, True), (63.6, False)])
def test_tighter_than_can_be_had_says_the_least(clr, named) -> None:
    """The stock's tightest elbow for this tube is 63.6: below it the finding names 63.6."""
    found = bend_too_tight.check(job(clr))

    assert bool(found) == named
    for finding in found:
        assert finding.limit == 63.6
        assert "63.6" in finding.do
    assert not bend_not_in_stock.check(job(clr))


@pytest.mark.parametrize(("clr", "named"), [(63.6, False), (63.64, False), (63.7, True)])
def test_a_radius_that_is_not_in_stock(clr, named) -> None:
    """63.6 is listed (0.05 mm is the same radius); 63.7 is not, and the nearest is named."""
    found = bend_not_in_stock.check(job(clr))

    assert bool(found) == named
    for finding in found:
        assert (finding.name, finding.limit, finding.parts) == ("bend-not-in-stock", 63.6, ("runner 1",))
        assert "element 2" in finding.message


def test_tubes_without_listed_bends_are_not_judged() -> None:
    """A stock list that holds no elbow for this tube says nothing about it."""
    others = [i for i in STOCK if i.tube == "outlet"]

    assert not bend_not_in_stock.check(job(50.0, stock=others))


@pytest.mark.parametrize("angle", [90.0, 95.0, 180.0])
def test_a_bend_larger_than_the_largest_elbow_is_two_parts_and_no_finding(angle) -> None:
    """95° out of 90s is 47.5 + 47.5."""
    assert not bend_not_in_stock.check(job(63.6, angle))


@pytest.mark.parametrize(("wall", "named"), [(2.5, False), (2.55, True)])
def test_an_elbow_that_does_not_match_the_tube(wall, named) -> None:
    """Same OD, wall 2.0: a step of a quarter of the thinner wall (0.5 mm) is allowed, more is not."""
    found = bend_not_in_stock.check(job(63.6, stock=[elbow("thick", 63.6, wall=wall)]))

    assert bool(found) == named
    for finding in found:
        assert finding.value == pytest.approx(wall - 2.0)
        assert finding.limit == pytest.approx(0.5)
        assert "42.4 × 2.55" in finding.message
        assert "42.4 × 2 mm" in finding.message


@pytest.mark.parametrize(("angle", "straight", "named"), [(45, 4, False), (45, 3.9, True), (44, 40, True)])
def test_a_bought_elbow_used_whole(angle, straight, named) -> None:
    """A 45 with ends of 4 mm serves exactly 45° between straights of at least 4 mm."""
    whole = elbow("b45", 63.6, 45.0, legs=(4.0, 4.0), whole=True)
    found = bend_not_in_stock.check(job(63.6, angle, [whole], straight))

    assert bool(found) == named
    for finding in found:
        assert "used whole" in finding.message
        assert finding.unit == "deg"


def test_bends_of_one_radius_are_one_finding() -> None:
    """Two bends of 50 mm in one runner: one finding that names elements 1 and 3."""
    m = alone(manifold(), runner(1, [Bend(30, 50), Straight(40), Bend(30, 50), Straight(40)]))
    (finding,) = bend_too_tight.check(m)

    assert "elements 1 and 3" in finding.message


def test_bends_before_a_close_are_read_too() -> None:
    """A runner still to be closed is checked as far as it is written."""
    m = job(50.0)
    (run,) = m.runners
    open_end = replace(run, written=run.path.elements, path=None, todo="close")
    (finding,) = bend_too_tight.check(replace(m, runners=(open_end,)))

    assert finding.points == ()
