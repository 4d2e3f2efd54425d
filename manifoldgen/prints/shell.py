"""Half-shells that a tube is laid in: an open trough along a plane centreline, the bore up, flat underneath.

      rim ┌──╮       ╭──┐  ledge (for a scale), only on the bend's back
          │  ╰─bore─╯  ╱     flanks 38° from plumb: prints bore up without support
           ╲__________╱

Everything is in the bend's own frame: the centreline in the x-y plane, z out of the trough.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.geometry.path import Arc, Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import Array, array, rotated
from manifoldgen.prints import bodies

LEAN = 38.0  # degrees from plumb: slicers put supports under what hangs over by 45
SIDE = math.tan(math.radians(LEAN / 2))  # plumb side below the rim, over the radius
FOOT = math.tan(math.radians((90.0 - LEAN) / 2))  # half the flat underneath, over the radius
LEDGE = 2.0  # mm: thickness of a ledge at its edge

Profile = list[tuple[float, float]]  # (towards the back of the bend, up), counter-clockwise


def bend_path(clr: float, angle: float, before: float = 0.0, after: float = 0.0) -> Path:
    """The centreline in its own frame: bend centre at the origin, the arc from +x counter-clockwise.

    before, after : straights at its ends, mm.
    """
    elements: list[Element] = [Straight(before)] if before > 0 else []
    elements.append(Bend(angle, clr))
    if after > 0:
        elements.append(Straight(after))
    start = Pose((clr, -max(before, 0.0), 0.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0))
    return Path(start, tuple(elements))


def outside(radius: float, ledge: float = 0.0) -> Profile:
    """The outside of a trough: plumb sides, leaning flanks and a flat round the circle, a ledge on the back's rim."""
    side, foot = SIDE * radius, FOOT * radius
    profile = [(-radius, 0.0), (-radius, -side), (-foot, -radius), (foot, -radius), (radius, -side)]
    if ledge <= 0:
        return [*profile, (radius, 0.0)]
    edge = radius + ledge
    return [*profile, (radius, -LEDGE - _under(ledge)), (edge, -LEDGE), (edge, 0.0)]


def ledge_room(radius: float, most: float) -> float:
    """How wide a ledge fits above the flanks, mm (at most `most`)."""
    return max(0.0, min(most, (SIDE * radius - LEDGE - 0.5) * math.tan(math.radians(LEAN))))


def _under(ledge: float) -> float:
    """How far the underside of a ledge reaches down, mm."""
    return ledge / math.tan(math.radians(LEAN))


def half_round(radius: float) -> Profile:
    """The lower half of a full round."""
    n = bodies.facets(radius) // 2
    out = bodies.corner_radius(radius, 2 * n)
    turns = [math.pi + math.pi * k / n for k in range(n + 1)]
    return [(out * math.cos(a), out * math.sin(a)) for a in turns]


def swept(path: Path, profile: Profile, before: float = 0.0, after: float = 0.0) -> bodies.Body:
    """A profile swept along a plane path that lies flat (z up throughout), run on straight at its ends."""
    flat = array(profile)
    reach = float(np.abs(flat).max())
    rings: list[Array] = []

    def ring(at: Array, along: Array) -> None:
        back = np.cross(along, (0.0, 0.0, 1.0))
        rings.append(at + flat[:, :1] * back + flat[:, 1:] * np.array([0.0, 0.0, 1.0]))

    start, travel = array(path.start.at), array(path.start.direction)
    ring(start - before * travel, travel)
    if before > 0:
        ring(start, travel)
    for segment in path.segments:
        count = 1
        if isinstance(segment, Arc):
            step = math.degrees(2 * math.acos(1.0 - bodies.SAG / (segment.clr + reach)))
            count = max(1, math.ceil(segment.angle / step))
        for i in range(1, count + 1):
            s = segment.length * i / count
            ring(segment.point(s), segment.tangent(s))
    if after > 0:
        ring(array(path.end.at) + after * array(path.end.direction), array(path.end.direction))
    return bodies.loft([r[::-1] for r in rings] if _clockwise(flat) else rings)


def _clockwise(flat: Array) -> bool:
    """Whether the rings would run the wrong way round for a loft that follows the travel."""
    x, y = flat.T
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2
    return area > 0  # (back, up) is left-handed seen against the travel


def along(path: Path, turn: float) -> tuple[Array, Array]:
    """Point and travel at a turn of the path's first bend, degrees."""
    arc = next(s for s in path.segments if isinstance(s, Arc))
    s = arc.clr * math.radians(turn)
    return arc.point(s), arc.tangent(s)


def back_of(travel: Array) -> Array:
    """The way to the bend's back, for a travel in the flat."""
    return rotated(travel, (0.0, 0.0, 1.0), -90.0)
