"""Cut curves laid flat: how far along a tube's own axis its wall ends, line by line round the tube.

    phi  degrees round the tube from its back line, anticlockwise seen from the downstream end
    s    mm along the tube, downstream positive, on the line `phi` of a tube of radius r

Every formula holds for any radius of the tube: its outside and its bore give the two edges of the cut.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.vectors import Array, array, cos_sin

FULL = 360.0


def mitre(phi: ArrayLike, radius: float, tilt: float) -> Array:
    """A flat cut `tilt` degrees from square, highest on the back line: r tan(tilt) cos(phi) (closed form)."""
    c, s = cos_sin(tilt)
    return radius * s / c * np.cos(np.radians(phi))


def saddle(phi: ArrayLike, radius: float, main: float, angle: float, offset: float = 0.0) -> Array:
    """A tube that stands on the outside of a straight tube, s from where the axes cross.

    main : the main tube's outside radius, mm.  angle : degrees between the two axes, 0 < angle < 180; the
    back line faces the blunt side.  offset : mm between the axes, positive towards phi = 90.

        s = (√(R² - (e + r sin φ)²) + r cos φ cos α) / sin α       (closed form)

    Raises GeometryError where the tube is as wide as the main tube or hangs past its side.
    """
    reach = abs(offset) + radius
    if reach >= main:
        raise GeometryError(
            f"a saddle of radius {radius:.1f} mm, {abs(offset):.1f} mm off centre, reaches {reach:.1f} mm to the side; the main "
            f"tube's radius of {main:.1f} mm must be more: take a smaller branch or less offset"
        )
    c, s = cos_sin(angle)
    turn = np.radians(phi)
    height = np.sqrt(main**2 - (offset + radius * np.sin(turn)) ** 2)
    return array((height + radius * np.cos(turn) * c) / s)


def bisectors(phi: ArrayLike, radius: float, inlets: int, half_angle: float) -> Array:
    """The two cuts between a collector's inlet and its neighbours, s from where all axes meet.

    The back line is the one farthest from the collector's axis.

        s = r (cos γ cos φ - |sin φ| cot(π/N)) / sin γ              (closed form)
    """
    turn = np.radians(phi)
    c, s = cos_sin(half_angle)
    cot = 0.0 if inlets == 2 else 1 / math.tan(math.pi / inlets)
    return array(radius * (c * np.cos(turn) - np.abs(np.sin(turn)) * cot) / s)


def flat(phi: ArrayLike, radius: float, half_angle: float, depth: float) -> Array:
    """The cut square to the collector's axis, `depth` mm along that axis from where s is 0.

    s = (depth - r cos φ sin γ) / cos γ       (closed form)
    """
    c, s = cos_sin(half_angle)
    return array((depth - radius * np.cos(np.radians(phi)) * s) / c)


def inlet(
    phi: ArrayLike, radius: float, *, inlets: int, half_angle: float, ring: float, depth: float
) -> Array:
    """A merge collector's inlet, s from the ring plane: both bisectors, then the flat cut at `depth`.

    ring : radius of the inlet circle, mm.
    """
    apex = ring / cos_sin(half_angle)[1]
    sides = apex + bisectors(phi, radius, inlets, half_angle)
    return np.minimum(sides, flat(phi, radius, half_angle, depth))


def turns(steps: int, *kinks: float) -> Array:
    """Degrees round a tube, 0 and 360 both there: even steps and the places where a curve has a corner."""
    inside = [k % FULL for k in kinks]
    return np.unique(np.round(np.concatenate([np.linspace(0.0, FULL, steps + 1), inside]), 9))


def length(phi: Array, s: Array, radius: float) -> float:
    """Length of the curve on the tube, mm, as the sum of its chords on the flat paper."""
    return float(np.hypot(radius * np.radians(np.diff(phi)), np.diff(s)).sum())


def area(phi: Array, s: Array, radius: float) -> float:
    """Area of the tube's wall between s = 0 and the curve, mm²."""
    return float(radius * np.trapezoid(s, np.radians(phi)))
