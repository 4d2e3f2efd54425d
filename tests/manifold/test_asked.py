"""The gap asked along a runner: zones, ramps, and runners too short for both."""

from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.manifold.asked import asked_along
from tests.factory import LIMITS


def read(length: float, places: list[float], **changed: float) -> list[float]:
    """The asked gap at these arc lengths."""
    asked = asked_along(length, replace(LIMITS, **changed))
    return [float(np.interp(s, asked.at, asked.gap)) for s in places]


def test_zones_and_ramps_of_a_long_runner() -> None:
    """6 up to 45 mm, 12 from 75 on; 0.5 within 85 mm of the inlet, 12 beyond 115 (the file's meaning)."""
    places = [0, 45, 60, 75, 200, 285, 300, 315, 400]
    assert read(400, places) == pytest.approx([6, 6, 9, 12, 12, 12, 6.25, 0.5, 0.5])


def test_point_in_both_ramps_asks_the_smaller() -> None:
    """A runner of 150 mm: at every place the smaller of the two rules, worked out point by point."""
    places = np.linspace(0, 150, 61)
    flange = np.interp(places, [45, 75], [6, 12])
    merge = np.interp(150 - places, [85, 115], [0.5, 12])
    assert read(150, places.tolist()) == pytest.approx(np.minimum(flange, merge).tolist())


def test_ramp_of_no_length_is_a_step() -> None:
    """`ramp: 0` jumps from 0.5 to the full gap at the zone's edge."""
    assert read(400, [314, 316], ramp=0.0) == pytest.approx([12, 0.5])
