"""The oil drain: it falls, and steeply enough."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from manifoldgen.checks import drain_fall
from tests.factory import manifold

LIMIT = 35.0  # degrees from plumb; common practice, no source


def drained(start, end):
    """A manifold whose drain runs from start to end; up is +y."""
    return replace(manifold(), drain=(start, end))


@pytest.mark.parametrize(("lean", "count"), [(LIMIT - 0.01, 0), (LIMIT + 0.01, 1)])
def test_the_lean_from_plumb_is_limited(lean: float, count: int) -> None:
    """Closed form: sideways = drop · tan(lean), just inside and just outside."""
    side = 100 * math.tan(math.radians(lean))
    found = drain_fall.check(drained((0.0, 100.0, 50.0), (0.0, 0.0, 50.0 + side)))

    assert len(found) == count


def test_a_drain_uphill_says_by_how_much() -> None:
    """The return 20 mm above the port is an error that names the 20 mm, and how far to raise the turbo."""
    (found,) = drain_fall.check(drained((0.0, 0.0, 0.0), (70.0, 20.0, 0.0)))

    assert found.severity == "error"
    assert "20.0 mm above" in found.message
    assert f"{70 / math.tan(math.radians(LIMIT)) + 20:.1f} mm" in found.do


def test_no_drain_no_finding() -> None:
    """A job without a drain is not asked about it; straight down is fine."""
    assert drain_fall.check(manifold()) == ()
    assert drain_fall.check(drained((0.0, 90.0, 0.0), (0.0, 0.0, 0.0))) == ()
