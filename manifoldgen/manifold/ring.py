"""Which way round the inlets stand: the ring's order, its clock and mirror, fitted or given."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Vec


@dataclass(frozen=True)
class RingFit:
    """The ring that suits paths written by hand: order, clock (degrees) and mirror."""

    order: tuple[int, ...]
    clock: float
    mirror: bool


def ring_angle(frame: Frame, point: Vec) -> float:
    """Ring angle of a point about the collector's axis, degrees; 0 towards the frame's y, right-handed."""
    x, y, _ = frame.into(point)
    return math.degrees(math.atan2(-float(x), float(y)))


def fit_ring(angles: Mapping[int, float], order: Sequence[int], mirrors: Sequence[bool]) -> RingFit:
    """Clock and mirror that bring the inlets of `order` closest to where the paths end.

    Parameters
    ----------
    angles : ring angle of every cylinder's path end, degrees.
    order : cylinders as they follow each other round the ring.
    mirrors : the ways round to try.

    The clock is the mean direction of (end angle - its place in the ring): the least-squares turn of one
    regular ring onto the other.
    """
    best: tuple[float, RingFit] | None = None
    for mirror in mirrors:
        step = (-1.0 if mirror else 1.0) * 2 * math.pi / len(order)
        turns = np.array([math.radians(angles[c]) - step * k for k, c in enumerate(order)])
        mean = complex(np.mean(np.exp(1j * turns)))
        fit = RingFit(tuple(order), math.degrees(math.atan2(mean.imag, mean.real)), mirror)
        if best is None or abs(mean) > best[0] + 1e-9:
            best = (abs(mean), fit)
    if best is None:
        raise ValueError("no way round the ring was offered")
    return best[1]


def order_by_angle(angles: Mapping[int, float], first: int) -> tuple[int, ...]:
    """Cylinders as the path ends stand round the ring, right-handed, starting with `first`."""
    start = angles[first]
    return tuple(sorted(angles, key=lambda c: (angles[c] - start) % 360.0))


def same_ring(order: Sequence[int], other: Sequence[int]) -> bool:
    """Whether two orders are one ring up to rotation and reflection."""
    n = len(order)
    if sorted(order) != sorted(other):
        return False
    doubled = [*other, *other]
    ring = list(order)
    return any(ring in (doubled[k : k + n], doubled[k : k + n][::-1]) for k in range(n))
