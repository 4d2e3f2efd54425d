"""A split whose welds are stuck is tried another way once, and the better of the two is kept."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from manifoldgen.checks.registry import KINDS
from manifoldgen.designs import settled as module
from manifoldgen.pieces import split
from tests import factory


def examined(m, stuck: tuple[str, ...], errors: int = 0) -> SimpleNamespace:
    """What the checks would say: these welds stuck, so many errors."""
    welds = tuple(SimpleNamespace(id=j.id, stuck=j.id in stuck) for j in m.joints)
    findings = (KINDS["runner-gap"].finding(message="too near", do="move it"),) * errors
    return SimpleNamespace(findings=findings, hands=SimpleNamespace(welding=SimpleNamespace(welds=welds)))


@pytest.fixture
def told(monkeypatch):
    """Give `settled` a job, another way of cutting it, and what the checks say of each."""
    m = split(factory.manifold(2))
    other = split(factory.with_branch(factory.manifold(2)))
    asked = []
    whole = factory.manifold(2)

    def give(first, second):
        def cut(_m, avoid=()):
            if not avoid:
                return m
            asked.append([j.id for j in avoid])
            return other

        monkeypatch.setattr(module, "split", cut)
        monkeypatch.setattr(module, "examine", lambda x: first if x is m else second)
        return module.settled(whole), asked

    return give, m, other


def test_nothing_stuck_is_left_as_it_is(told) -> None:
    """No second split where the torch reaches everything."""
    give, m, other = told
    kept, asked = give(examined(m, ()), examined(other, ()))

    assert kept.manifold is m
    assert asked == []


def test_a_better_way_of_cutting_is_kept(told) -> None:
    """The stuck weld is the one to be avoided; without it the other split wins."""
    give, m, other = told
    stuck = m.joints[1].id
    kept, asked = give(examined(m, (stuck,)), examined(other, ()))

    assert kept.manifold is other
    assert asked == [[stuck]]
    assert not kept.stuck


@pytest.mark.parametrize("errors", [1, 0])
def test_a_way_that_is_no_better_is_dropped(told, errors) -> None:
    """As many stuck welds, or a new error for a freed weld: the first split stays."""
    give, m, other = told
    stuck = m.joints[1].id
    second = examined(other, (), 1) if errors else examined(other, (stuck,))
    kept, _ = give(examined(m, (stuck,)), second)

    assert kept.manifold is m
