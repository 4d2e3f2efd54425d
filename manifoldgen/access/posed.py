"""A tool in one pose: its rods for measuring, and its primitives for the report; mm, bench frame."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.access.pack import capsule, rod
from manifoldgen.access.results import Primitive
from manifoldgen.access.tools import Arm, Frustum, Tool
from manifoldgen.geometry.shapes import Capsule, Cone, Cylinder
from manifoldgen.geometry.vectors import Array, vec


def shapes(tool: Tool, frame: Array, leant: Array, angle: float) -> tuple[Primitive, ...]:
    """The tool where it works, without the way on.

    frame, leant : the stud's frame and the one beyond the pivot (rows: origin, axis, two across).
    angle : azimuth of the handle in `leant`, radians.
    """
    made = [_part(p, frame) for p in tool.seat] + [_part(p, leant) for p in tool.shaft]
    return (*made, *(_arm(a, leant, angle) for a in tool.arms))


def _part(p: Frustum, frame: Array) -> Primitive:
    a, b = (vec(frame[0] + z * frame[1]) for z in (p.z0, p.z1))
    if p.rounding:
        return Capsule(a, b, p.rounding)
    return Cylinder(a, b, p.r0) if p.r0 == p.r1 else Cone(a, b, p.r0, p.r1)


def _arm(arm: Arm, leant: Array, angle: float) -> Primitive:
    out = math.cos(angle) * leant[2] + math.sin(angle) * leant[3]
    ends = ((arm.rho0, arm.z0), (arm.rho1, arm.z1))
    a, b = (vec(leant[0] + rho * out + z * leant[1]) for rho, z in ends)
    return Cylinder(a, b, arm.radius) if arm.flat else Capsule(a, b, arm.radius)


def rods(shown: tuple[Primitive, ...]) -> Array:
    """Primitives as rows for the kernels."""
    rows = []
    for s in shown:
        if isinstance(s, Capsule):
            rows.append(capsule(s.start, s.end, s.radius))
        elif isinstance(s, Cone):
            rows.append(rod(s.start, s.end, s.radius_start, s.radius_end))
        else:
            rows.append(rod(s.start, s.end, s.radius))
    return np.array(rows).reshape(-1, 16)
