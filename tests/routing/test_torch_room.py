"""Torch room in the search: layouts whose welds no torch reaches are passed over for ones that are free."""

from __future__ import annotations

import pytest

import manifoldgen as mg
from manifoldgen.designs.judge import welds_stuck
from manifoldgen.routing import route as routing
from manifoldgen.routing.search import Budget
from tests.benchmarks.scenes import Scene

SMALL = Budget(first=4, factors=(1.1,), refined=3, around=1, tidied=1)


@pytest.mark.slow
def test_a_layout_with_stuck_welds_is_passed_over() -> None:
    """The first layout is said to have a stuck weld: another one is taken, and none where all have some."""
    m = Scene(3, 101).manifold
    plain = routing.find(m, budget=SMALL)
    shy = plain.manifold.runners[0].path

    other = routing.find(m, budget=SMALL, stuck=lambda n: int(n.runners[0].path == shy))
    all_alike = routing.find(m, budget=SMALL, stuck=lambda _n: 1)

    assert plain.verified
    assert other.verified
    assert all_alike.verified
    assert other.manifold.runners[0].path != shy


@pytest.mark.slow
def test_python_and_the_command_find_the_same() -> None:
    """`mg.route` and what the verbs call give the same paths, welds looked at in both."""
    m = Scene(3, 103).manifold
    found = mg.design(m, budget=SMALL)
    assert [r.path for r in mg.route(m, budget=SMALL).runners] == [r.path for r in found.manifold.runners]
    assert found.routed is not None
    assert found.routed.verified
    assert welds_stuck(found.routed.manifold) == 0
