"""From a covariance to what is promised: within how many mm or degrees the truth lies in 95 of 100 surveys.

Source: G. E. P. Box, Ann. Math. Stat. 25 (1954) for the two-moment approximation of a sum of squares of
different size, from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.geometry.vectors import Array, Vec, array, vec

SURE = 0.95
TWO_SIDED = 1.959964  # standard deviations that hold 95 of 100 along one line


def radius(covariance: Array) -> float:
    """Within this distance of the estimate the truth lies in 95 of 100 cases.

    The squared error is a sum of chi squares of the covariance's eigenvalues; it is taken as g times one chi
    square of h degrees with the same mean and variance (Box): exact for one or for equal eigenvalues.
    """
    from scipy.special import gammaincinv

    first, second = float(np.trace(covariance)), float((covariance**2).sum())
    if first <= 0.0:
        return 0.0
    g, h = second / first, first**2 / second
    return float(np.sqrt(g * 2.0 * gammaincinv(h / 2.0, SURE)))


def shift_at(pose: Array, arm: ArrayLike) -> Array:
    """Covariance of a point that goes with a body, mm².

    pose : of the body's shift (mm) and turn (radians) about its own place, (6, 6).  arm : from there to the point, mm.
    """
    x, y, z = array(arm)
    swing = np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])  # turn x arm
    slope = np.hstack([np.eye(3), swing])
    found: Array = slope @ pose @ slope.T
    return found


def turn_of(pose: Array, direction: ArrayLike) -> Array:
    """Covariance of a direction that goes with a body, radians²; a turn about the direction itself does not count."""
    tilt = np.cross(np.eye(3), array(direction))  # rows: what a turn about x, y, z does to the direction
    found: Array = tilt.T @ pose[3:6, 3:6] @ tilt
    return found


def worst_axis(covariance: Array) -> tuple[Vec, float]:
    """The direction in which a place is known worst (its largest number is positive), and ± mm along it (95 %)."""
    size, ways = np.linalg.eigh(covariance)
    way = ways[:, -1]
    way = way * np.sign(way[np.abs(way).argmax()])
    return vec(way), float(TWO_SIDED * np.sqrt(max(0.0, size[-1])))
