"""Small vector helpers shared by every room: unit vectors, rotations, projections.

Vectors at rest (in frozen dataclasses) are tuples of three floats; vectors at work are numpy arrays.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike, NDArray

Vec = tuple[float, float, float]
Array = NDArray[np.float64]

UP_FALLBACK_DEG = 1.0  # closer than this to the axis, a reference direction is replaced by the next


def array(v: ArrayLike) -> Array:
    """`v` as a float array."""
    return np.asarray(v, dtype=np.float64)


def vec(v: Iterable[float]) -> Vec:
    """`v` as a tuple of three plain floats (no negative zeros)."""
    x, y, z = v
    return (float(x) + 0.0, float(y) + 0.0, float(z) + 0.0)


def unit(v: ArrayLike) -> Array:
    """`v` scaled to length 1; raises ValueError for a vector of no length."""
    a = array(v)
    length = float(np.linalg.norm(a))
    if not length > 0 or not math.isfinite(length):
        raise ValueError(f"the vector {a.tolist()} has no direction")
    return a / length


def rotated(v: ArrayLike, axis: ArrayLike, angle_deg: float) -> Array:
    """`v` turned right-handed about the unit vector `axis` by `angle_deg` degrees (Rodrigues)."""
    a, k = array(v), array(axis)
    c, s = cos_sin(angle_deg)
    turned: Array = a * c + np.cross(k, a) * s + k * float(k @ a) * (1.0 - c)
    return turned


def cos_sin(angle_deg: float) -> tuple[float, float]:
    """Cosine and sine of an angle in degrees, exact at multiples of 90."""
    quarter, rest = divmod(angle_deg, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    rad = math.radians(angle_deg)
    return math.cos(rad), math.sin(rad)


def angle_between(a: ArrayLike, b: ArrayLike) -> float:
    """Angle between two vectors in degrees, exact near 0 and 180 too."""
    u, v = array(a), array(b)
    return math.degrees(math.atan2(float(np.linalg.norm(np.cross(u, v))), float(u @ v)))


def square_to(reference: ArrayLike, direction: ArrayLike) -> Array | None:
    """The unit part of `reference` square to the unit vector `direction`.

    Returns None where the two are within `UP_FALLBACK_DEG` of parallel: the caller then takes its
    next reference.
    """
    r, d = array(reference), array(direction)
    if min(angle_between(r, d), angle_between(-r, d)) < UP_FALLBACK_DEG:
        return None
    return unit(r - float(r @ d) * d)


def first_square_to(references: Iterable[ArrayLike], direction: ArrayLike) -> Array:
    """The first of `references` that is not along `direction`, made square to it and unit."""
    for reference in references:
        found = square_to(reference, direction)
        if found is not None:
            return found
    raise ValueError("no reference direction is free of the axis")
