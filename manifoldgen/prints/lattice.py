"""Windows in a printed tube: an open lattice at the true outside, quicker to print than a closed wall.

The windows are squares on their corners, so that their edges rise at 45° when the tube stands upright.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.prints import bodies
from manifoldgen.prints.limbs import Limb
from manifoldgen.prints.skin import back_at, skin

BAR = 4.0  # mm between two windows on the outside of a straight
_LABEL = 5.0  # mm of wall on either side of the back line beside the label
_PITCH = 22.0  # mm about, from window to window
_THROUGH = 1.0


def windows(
    limb: Limb, a: float, b: float, closed: Sequence[tuple[float, float]], label: tuple[float, float]
) -> bodies.Body | None:
    """Return what is cut out between `a` and `b`, mm along the limb.

    closed : stretches that keep their wall.  label : a stretch that keeps it on the back line.
    None where there is no room for a window.
    """
    radius = limb.radius((a + b) / 2)
    round_ = 2 * math.pi * radius
    count = max(4, round(round_ / _PITCH))
    pitch = round_ / count
    half = (pitch - BAR * math.sqrt(2.0)) / 2
    rings = []
    back = back_at(limb.path, a)
    for row in range(math.ceil(2 * (b - a) / pitch)):
        s = a + half + row * pitch / 2
        if s + half > b or any(s + half > low and s - half < high for low, high in closed):
            continue
        here = label[0] - half < s < label[1] + half
        line = _turn_of(limb, a, back, s) * radius
        for k in range(count):
            y = (k + 0.5 * (row % 2)) * pitch
            aside = abs((-y - line + round_ / 2) % round_ - round_ / 2)
            if here and aside < half + _LABEL:
                continue
            rings.append(np.array([(s + half, y), (s, y + half), (s - half, y), (s, y - half)]))
    if not rings or half < 2.0:
        return None
    deep = radius - limb.bore_radius((a + b) / 2) + _THROUGH
    flat = bodies.plate(bodies.polygons(rings), -deep, _THROUGH).refine_to_length(4.0)

    def bent(points: Array) -> Array:
        x, y, z = np.asarray(points, dtype=np.float64).T
        rho = np.interp(x, [s for s, _ in limb.outside], [r for _, r in limb.outside]) + z
        return skin(limb.path, a, back, s=x, turn=-y / radius, off=rho)

    return flat.warp_batch(bent)


def _turn_of(limb: Limb, a: float, carried: Array, s: float) -> float:
    """Radians from the reference carried on from `a` to the back line at `s`."""
    at, t, back = limb.path.point(s), limb.path.tangent(s), back_at(limb.path, s)
    reference = skin(limb.path, a, carried, s=[s], turn=[0.0], off=[1.0])[0] - at
    return math.atan2(float(np.cross(reference, back) @ t), float(reference @ back))
