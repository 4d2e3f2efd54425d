"""Metal between holes, openings and the edge: closed forms for circles and rectangles."""

from __future__ import annotations

from dataclasses import replace

import pytest

from manifoldgen.checks import flange_web
from manifoldgen.geometry import contour
from manifoldgen.manifold.model import Hole, Opening, VBand
from tests.factory import manifold, round_opening


def turbo(**changes):
    """The manifold with its turbo flange changed: 52 round opening, 200 × 200 plate, no holes."""
    m = manifold()
    plain = {"outline": contour.rectangle(200, 200), "holes": (), "openings": (round_opening(52.0),)}
    return replace(m, turbo=replace(m.turbo, **{**plain, **changes}))


def hole(x: float, y: float = 0.0, diameter: float = 11.0) -> Hole:
    """A bolt hole."""
    return Hole("T1", (x, y), diameter)


@pytest.mark.parametrize("off", [-0.01, 0.01])
@pytest.mark.parametrize(("thickness", "limit"), [(12.0, 5.0), (8.0, 4.0)])
def test_hole_to_opening(off, thickness, limit) -> None:
    """Round 52 and hole 11 on one line: web = x - 26 - 5.5; 5 mm asked, half of a plate thinner than 10."""
    x = 26 + 5.5 + limit + off
    # the outlet's tube (r 30.15) must not stand over the hole, so a smaller tube here
    m = turbo(holes=(hole(x),), thickness=thickness, tube=manifold().runners[0].section)
    found = flange_web.check(m)

    assert [f.name for f in found] == ["flange-web-thin"] * (off < 0)
    for finding in found:
        assert finding.value == pytest.approx(limit + off)
        assert finding.limit == limit
        assert finding.parts == ("turbo flange", "hole T1", "opening")
        a, b = (m.turbo.frame.into(p) for p in finding.points)
        assert a == pytest.approx((x - 5.5, 0, 0), abs=0.2)
        assert b == pytest.approx((26, 0, 0), abs=0.2)


def test_what_to_do_names_what_can_be_moved() -> None:
    """A wider outline helps a hole at the edge, not two holes that are too near each other."""
    (pair,) = flange_web.check(turbo(holes=(Hole("T1", (60, 0), 11.0), Hole("T2", (60, 15), 11.0))))
    (edge,) = flange_web.check(turbo(holes=(hole(100 - 5.5 - 4),)))

    assert "outline" not in pair.do
    assert "Move them 1.0 mm apart" in pair.do
    assert "outline 1.0 mm wider" in edge.do


@pytest.mark.parametrize("off", [-0.01, 0.01])
def test_hole_to_hole_and_to_the_edge(off) -> None:
    """Two 11 mm holes 16 mm apart leave 5; a hole 10.5 mm from the plate's edge leaves 5."""
    pair = turbo(holes=(Hole("T1", (60, 0), 11.0), Hole("T2", (60, 16 + off), 11.0)))
    edge = turbo(holes=(hole(100 - 5.5 - 5 - off),))

    assert [f.parts[1:] for f in flange_web.check(pair)] == [("hole T1", "hole T2")] * (off < 0)
    assert [f.parts[1:] for f in flange_web.check(edge)] == [("hole T1", "edge")] * (off < 0)


@pytest.mark.parametrize("off", [-0.01, 0.01])
def test_a_rounded_opening_is_measured_as_it_is(off) -> None:
    """Rectangle 54 × 44, corner 10: its corner circle stands at (17, 12), so web = distance - 10 - 5.5."""
    opening = Opening("rectangle", 54, 44, 10, (0.0, 0.0), contour.rectangle(54, 44, 10))
    out = (10 + 5.5 + 5 + off) / 2**0.5
    m = turbo(openings=(opening,), holes=(hole(17 + out, 12 + out),), tube=manifold().runners[0].section)

    assert len(flange_web.check(m)) == (off < 0)


@pytest.mark.parametrize("off", [-0.01, 0.01])
def test_a_butted_tube_may_not_stand_over_a_hole_or_the_edge(off) -> None:
    """Tube 60.3 on a 40 mm opening: a hole of 11 whose rim is under the tube, a plate smaller than the tube."""
    small = (round_opening(40.0),)
    over = flange_web.check(turbo(openings=small, holes=(hole(30.15 + 5.5 + off),)))
    edge = flange_web.check(turbo(openings=small, outline=contour.circle(60.3 + 2 * off)))

    assert [f.parts[1:] for f in over] == [("tube at opening", "hole T1")] * (off < 0)
    assert [f.parts[1:] for f in edge] == [("tube at opening", "edge")] * (off < 0)


@pytest.mark.parametrize("off", [-0.01, 0.01])
def test_a_socket_cuts_the_tubes_own_hole(off) -> None:
    """With the tube in the flange the web is counted from the tube: x - 30.15 - 5.5."""
    m = turbo(openings=(round_opening(40.0),), holes=(hole(30.15 + 5.5 + 5 + off),), fit="socket")

    assert [f.parts[1:] for f in flange_web.check(m)] == [("hole T1", "tube at opening")] * (off < 0)


def test_a_hole_inside_an_opening_or_outside_the_plate_is_less_than_nothing() -> None:
    """A hole in the opening and one off the plate give negative metal."""
    found = flange_web.check(turbo(holes=(hole(0.0), Hole("T2", (130.0, 0.0), 11.0))))

    least = {f.parts[1:]: f.value for f in found}
    assert least["hole T1", "opening"] == pytest.approx(-(26 - 5.5))
    assert least["hole T2", "edge"] == pytest.approx(-(30 - 5.5))


@pytest.mark.parametrize("off", [-0.01, 0.01])
def test_a_v_band_is_judged_by_its_round(off) -> None:
    """V-band of 84: an opening that leaves 5 mm all round is 74."""
    m = turbo(outline=None, vband=VBand(84, 104, 20), openings=(round_opening(74 - 2 * off),))

    assert [f.parts[1:] for f in flange_web.check(m)] == [("opening", "edge")] * (off < 0)
