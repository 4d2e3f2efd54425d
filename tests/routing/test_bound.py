"""The lower bound: closed forms, and nothing that is found lies below it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.routing.bound import bound_of, lower_bound, one_sided
from manifoldgen.routing.pool import pool
from manifoldgen.routing.problem import problem
from manifoldgen.routing.rings import rings
from tests.benchmarks.scenes import Scene

AHEAD = ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0))


def test_straight_ahead_is_the_distance() -> None:
    """A point on the axis needs no bend (closed form)."""
    assert float(one_sided(AHEAD, (250.0, 0.0, 0.0), 60.0)) == pytest.approx(250.0, abs=1e-9)


def test_quarter_turn_is_the_arc() -> None:
    """The end of a quarter turn on the least radius is that arc (closed form)."""
    assert float(one_sided(AHEAD, (60.0, 60.0, 0.0), 60.0)) == pytest.approx(60 * math.pi / 2, abs=1e-9)


def test_quarter_turn_and_a_straight() -> None:
    """A quarter turn, then 100 mm straight on, in any plane about the axis (closed form)."""
    for about in np.linspace(0, 2 * math.pi, 7):
        point = (60.0, 160.0 * math.cos(about), 160.0 * math.sin(about))
        assert float(one_sided(AHEAD, point, 60.0)) == pytest.approx(60 * math.pi / 2 + 100, abs=1e-9)


def test_inside_the_touching_circle_only_the_crow_is_sure() -> None:
    """A point the least radius cannot reach directly is not given more than its distance."""
    assert float(one_sided(AHEAD, (0.0, 30.0, 0.0), 60.0)) == pytest.approx(30.0, abs=1e-9)


def test_no_candidate_lies_below_the_bound() -> None:
    """Runners sampled to many rings are never all shorter than what no layout can beat."""
    p = problem(Scene(4, 104).manifold)
    bound = lower_bound(p)
    seen = 0
    for k, ring in enumerate(rings(p, 1)[::4]):
        inlets = p.inlets(ring)
        shortest = []
        for i in range(4):
            lengths = [
                f * bound
                for f in (0.7, 0.8, 0.9, 0.97)
                if len(pool(p, (p.starts[i], inlets[i]), f * bound, np.random.default_rng([k, i]), draws=400, most=20, slack=1e3))
            ]  # fmt: skip
            shortest.append(min(lengths, default=bound))
            seen += len(lengths)
        assert max(shortest) >= bound - 1e-6
    assert seen > 0  # single runners do come out shorter: the bound is the worst placed one's


def test_a_manifold_has_the_bound_of_its_search_with_and_without_paths() -> None:
    """Every runner auto: the report's bound is the search's; a written bend tighter than the stock lowers it."""
    m = Scene(4, 104).manifold
    bound = bound_of(m)
    assert bound is not None
    assert bound == pytest.approx(lower_bound(problem(m)), abs=1e-9)
    tight = Path(m.runners[0].start, (Straight(30.0), Bend(45.0, 20.0), Straight(30.0)))
    lower = bound_of(replace(m, runners=(replace(m.runners[0], path=tight), *m.runners[1:])))
    assert lower is not None
    assert lower < bound
    assert bound_of(replace(m, collectors=())) is None
