"""How well places are known: exact on the bench, as good as the survey on the car, and which joint takes that up."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.shapes import Cylinder
from manifoldgen.manifold.known import apart, closing, end_error, end_within, known_to, with_turbo
from manifoldgen.manifold.model import Manifold, Obstacle
from manifoldgen.manifold.survey.bound import shift_at, worst_axis
from tests.factory import manifold
from tests.surveys import by_survey, pose

HERE = (0.0, 0.0, 300.0)


def obstacle(name: str, *surveyed: str, joined: tuple[str, ...] = ()) -> Obstacle:
    """Something on the car; where it stands does not matter here."""
    return Obstacle(name, Cylinder((0, 0, 0), (0, 0, 1), 5.0), 10.0, joined=joined, surveyed=surveyed)


def ending(m: Manifold, *elements: Straight | Bend) -> Manifold:
    """The manifold with another outlet path."""
    return replace(m, outlet=replace(m.outlet, path=Path(m.outlet.start, elements)))


def test_typed_places_and_what_is_made_on_the_bench_are_exact() -> None:
    """No survey, or one of other things: nothing is open."""
    m = replace(manifold(), obstacles=(obstacle("rail"), obstacle("hose", "hose_end")))
    for one in (m, by_survey(m, hose_end=4.0)):
        assert known_to(one, "rail", HERE) == 0.0
        assert known_to(one, "turbo flange", HERE) == 0.0
        assert end_error(one, one.outlet) == (0.0, 0.0)
        assert closing(one) == with_turbo(one) == frozenset()
    assert known_to(by_survey(m, turbo=(5.0, 1.0)), "runner 1", HERE) == 0.0


def test_a_shape_is_as_good_as_the_worse_of_its_points() -> None:
    """A tube between two points, 3 and 4 mm; a box on one of them."""
    m = replace(manifold(), obstacles=(obstacle("tube", "left", "right"), obstacle("box", "left")))
    m = by_survey(m, left=3.0, right=4.0)

    assert known_to(m, "tube", HERE) == 4.0
    assert known_to(m, "box", HERE) == 3.0


def test_two_places_that_are_open_add_up_as_independent_errors() -> None:
    """Closed form: 3 and 4 mm make 5 (squares of independent errors add)."""
    m = replace(manifold(), obstacles=(obstacle("a", "left"), obstacle("b", "right")))

    assert apart(by_survey(m, left=3.0, right=4.0), "a", "b", (HERE, HERE)) == pytest.approx(5.0)


def test_a_turn_of_the_face_swings_what_is_far_from_it() -> None:
    """Closed form, small angles: 1° about x moves a point 200 mm off square to it by 200 rad(1°), one on x not at all."""
    m = by_survey(manifold(), turbo=(0.0, 1.0))
    at, x = np.array(m.survey.turbo.at), np.array(m.turbo.frame.x)
    off = np.array(m.turbo.frame.z) * 200.0

    assert m.survey.turbo.error_at(at + off) == pytest.approx(200.0 * math.radians(1.0), rel=1e-5)
    assert m.survey.turbo.error_at(at + 200.0 * x) == pytest.approx(0.0, abs=1e-9)
    assert m.survey.turbo.error_of(m.turbo.frame.y) == pytest.approx(1.0, rel=1e-5)
    assert m.survey.turbo.error_of(x) == pytest.approx(0.0, abs=1e-9)


def test_errors_at_a_point_hold_95_of_100() -> None:
    """100 000 drawn poses: a point turned and shifted with each lies within what is stated, to half a per cent."""
    rng = np.random.default_rng(4)
    root = rng.normal(size=(6, 6)) * np.array([2, 2, 2, 0.01, 0.01, 0.01])[:, None]
    arm = np.array([60.0, -120.0, 90.0])
    steps = rng.normal(size=(100_000, 6)) @ root.T
    off = np.linalg.norm(steps[:, :3] + np.cross(steps[:, 3:], arm), axis=1)
    rows = tuple(tuple(r) for r in (root @ root.T).tolist())
    stated = replace(pose(manifold().turbo.frame, 1.0), at=(0.0, 0.0, 0.0), covariance=rows)

    assert (off <= stated.error_at(arm)).mean() == pytest.approx(0.95, abs=0.005)
    assert np.allclose(
        shift_at(root @ root.T, arm), np.cov((steps[:, :3] + np.cross(steps[:, 3:], arm)).T), rtol=0.05
    )


def test_the_worst_axis_is_the_longest_of_the_ellipsoid() -> None:
    """Closed form: 1.96 standard deviations along the axis with the largest; its largest number is positive."""
    turned = np.array([[0.6, 0.8, 0.0], [-0.8, 0.6, 0.0], [0.0, 0.0, 1.0]])  # rows are the axes
    axis, mm = worst_axis(turned.T @ np.diag([1.0, 9.0, 4.0]) @ turned)

    assert axis == pytest.approx((0.8, -0.6, 0.0))
    assert mm == pytest.approx(3.0 * 1.959964)


def test_the_outlet_closes_where_it_ends_with_a_straight() -> None:
    """Then only flange and body go with the turbo; ending with a bend, all that hangs on it, and the runners close."""
    body = obstacle("turbine housing", joined=("turbo flange",))
    m = by_survey(replace(manifold(), obstacles=(body,)), turbo=(5.0, 1.0))
    straight = ending(m, Straight(30), Bend(90, 76.2, 0), Straight(20))
    bent = ending(m, Straight(30), Bend(90, 76.2, 0))

    assert closing(straight) == {"outlet"}
    assert with_turbo(straight) == {"turbo flange", "turbine housing"}
    assert closing(bent) == {"runner 1", "runner 2", "runner 3"}
    assert with_turbo(bent) == {"turbo flange", "turbine housing", "collector", "outlet"}


def test_what_goes_together_and_what_is_fitted_to_each_other_is_exact() -> None:
    """No error between turbo and its body, nor at the very end of the outlet, which is trimmed to it; elsewhere 5 mm."""
    body = obstacle("turbine housing", joined=("turbo flange",))
    m = by_survey(replace(manifold(), obstacles=(body,)), turbo=(5.0, 0.0))
    m = ending(m, Straight(30), Bend(90, 76.2, 0), Straight(100))
    end = m.outlet.path.end.at
    od = m.outlet.section.od
    off = {s: tuple(np.array(end) - s * np.array(m.outlet.path.end.direction)) for s in (od - 1, od + 1)}

    assert apart(m, "turbo flange", "turbine housing", (HERE, HERE)) == 0.0
    assert apart(m, "outlet", "turbine housing", (off[od - 1], end)) == 0.0
    assert apart(m, "outlet", "turbine housing", (off[od + 1], end)) == pytest.approx(5.0)
    assert apart(m, "runner 1", "turbine housing", (HERE, end)) == pytest.approx(5.0)


def test_an_end_is_asked_for_no_closer_than_it_was_measured() -> None:
    """Catalogue: 1 mm and 0.5°; a survey that is better changes nothing, one that is worse is what is asked."""
    for mm, deg, asked in ((0.9, 0.0, (1.0, 0.5)), (5.0, 0.0, (5.0, 0.5))):
        m = by_survey(manifold(), turbo=(mm, deg))
        assert end_within(m, m.outlet) == pytest.approx(asked)
    m = by_survey(manifold(), turbo=(5.0, 2.0))
    assert end_within(m, m.outlet)[1] == pytest.approx(2.0, rel=1e-5)
    assert end_within(manifold(), manifold().outlet) == (1.0, 0.5)
