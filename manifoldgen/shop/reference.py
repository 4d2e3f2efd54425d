"""The line on a run's first tube that its first roll is read from: a bench axis that can be seen at the bench.

Of the bench axes the one most square to the run's first tangent is taken: it is never within 54.7° of it (the axis
least along a unit vector has a share of at most 1/√3), so the line is where the eye puts it. y comes before z and x
where two are as square.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.lra import half_turns
from manifoldgen.geometry.path import Arc
from manifoldgen.geometry.pose import X, Y, Z
from manifoldgen.geometry.vectors import Array, Vec, array, unit, vec
from manifoldgen.manifold.model import Manifold, Run

AXES = ((Y, "y"), (Z, "z"), (X, "x"))  # in this order where two are as square
ALIKE = 1e-9  # share of an axis along the tangent: rounding is no order
_TOWARDS_UP = math.cos(math.radians(45.0))


@dataclass(frozen=True)
class ReferenceLine:
    """A line along a tube.

    direction : unit, square to the tube, from its centreline to the line.  words : how it is found at the bench.
    """

    direction: Vec
    words: str


def reference_line(m: Manifold, run: Run) -> ReferenceLine:
    """The line of one run, where its path begins."""
    along = array(run.start.direction)
    axis, name = min(AXES, key=lambda a: round(abs(float(array(a[0]) @ along)) / ALIKE))
    sign, words = _seen(m, run, name)
    way: Array = sign * array(axis)
    return ReferenceLine(vec(unit(way - float(way @ along) * along)), words)


def _seen(m: Manifold, run: Run, axis: str) -> tuple[float, str]:
    """Which way along the axis the line faces, and what one sees there."""
    if axis == "z":
        return 1.0, "line facing up, off the bench (+z)"
    if axis == "y":
        up = m.engine.up[1]
        if abs(up) >= _TOWARDS_UP:
            return math.copysign(1.0, up), f"line facing TOP ({'+' if up > 0 else '-'}y)"
        return 1.0, "line facing across the flange (+y)"
    here = run.start.at[0]
    beside = [p for p in m.ports if p.number != run.number and abs(p.at[0] - here) > 1.0]
    if not beside:
        return 1.0, "line facing along the flange (+x)"
    next_one = min(beside, key=lambda p: (abs(p.at[0] - here), -p.at[0]))
    sign = math.copysign(1.0, next_one.at[0] - here)
    return sign, f"line facing port {next_one.number} ({'+' if sign > 0 else '-'}x)"


def first_roll(run: Run, reference: ReferenceLine) -> float:
    """Degrees from a run's reference line to the back of its first bend, + clockwise looking downstream.

    -180 is left out.  Raises StopIteration for a run without a bend.
    """
    segments = run.path.segments if run.path else ()
    line, back = array(reference.direction), next(array(s.radial) for s in segments if isinstance(s, Arc))
    turn = math.atan2(float(np.cross(line, back) @ array(run.start.direction)), float(line @ back))
    return half_turns(math.degrees(turn))
