"""The ring's order, clock and mirror."""

from __future__ import annotations

from itertools import permutations
from math import factorial

import pytest

from manifoldgen.geometry.pose import Frame
from manifoldgen.manifold.ring import fit_ring, order_by_angle, ring_angle, same_ring


def test_ring_angle_zero_is_up_and_counts_right_handed_about_the_flow() -> None:
    """Flow along +z, up = +y: +y is 0, -x is 90 (right-handed about z), +x is -90."""
    frame = Frame.facing((10.0, 20.0, 30.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))

    assert ring_angle(frame, (10.0, 55.0, 30.0)) == pytest.approx(0.0)
    assert ring_angle(frame, (-25.0, 20.0, 99.0)) == pytest.approx(90.0)
    assert ring_angle(frame, (45.0, 20.0, 30.0)) == pytest.approx(-90.0)


def test_up_along_the_axis_falls_back_to_plus_x() -> None:
    """A collector that points straight up counts its ring from +x."""
    frame = Frame.facing((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 1.0, 0.0))

    assert ring_angle(frame, (50.0, 0.0, 0.0)) == pytest.approx(0.0)


@pytest.mark.parametrize(("clock", "mirror"), [(17.0, False), (-121.5, True), (179.0, False)])
def test_fit_finds_the_clock_and_the_way_round(clock: float, mirror: bool) -> None:
    """Ends that stand exactly on a ring give that ring back; a degree of scatter barely moves it."""
    order, step = (1, 3, 4, 2), -90.0 if mirror else 90.0
    noise = (0.4, -0.4, 0.3, -0.3)
    angles = {c: clock + step * k + noise[k] for k, c in enumerate(order)}
    fit = fit_ring(angles, order, (False, True))

    assert fit.mirror is mirror
    assert (fit.clock - clock + 180) % 360 - 180 == pytest.approx(0.0, abs=1e-3)


def test_order_by_angle_goes_right_handed_from_the_first() -> None:
    """Cylinders come in the order their ends stand, starting with the one named."""
    assert order_by_angle({1: 80.0, 2: -10.0, 3: 170.0, 4: 262.0}, 3) == (3, 4, 2, 1)


@pytest.mark.parametrize("order", [(1, 3, 4, 2), (1, 2, 4, 5, 3), (1, 5, 3, 6, 2, 4)])
def test_one_ring_in_half_of_n_minus_one_factorial_equals_the_firing_order(order: tuple[int, ...]) -> None:
    """Closed form: N! orders fall into classes of 2N (N turns, each both ways), (N-1)!/2 distinct rings."""
    n = len(order)
    equal = sum(same_ring(order, other) for other in permutations(order))

    assert equal == 2 * n
    assert factorial(n) // equal == factorial(n - 1) // 2
