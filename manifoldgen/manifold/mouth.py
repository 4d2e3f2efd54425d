"""The mouth of a branch: where its tube passes through its parent's wall, off a bend or off the cone.

Every line along the branch's skin is followed to where it leaves the parent's outside (`manifold.leaving`, exact).
What checks, solids, templates and printed parts ask of a branch is read off those places; whether a saddle can be built
there is `manifold.mouth_fit`'s question.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.foot import nearest
from manifoldgen.geometry.path import Arc, Path, Straight
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, cos_sin, unit, vec
from manifoldgen.manifold import leaving
from manifoldgen.manifold.model import Branch, Collector, Manifold, Run

LINES = 720  # along the branch's skin


@dataclass(frozen=True)
class Parent:
    """What a branch off a bend stands on."""

    run: Run
    path: Path
    bend: Arc


@dataclass(frozen=True)
class Mouth:
    """Where a branch's outside leaves its parent's, lines that never do left aside.

    nearest, reach : mm along the branch from its root to the first and to the last place of the mouth.
    first, last : what it takes of the parent, mm: of a run's path from its start, the tube inside counted too; of the
        cone from the ring plane.
    turn : where the mouth begins and ends on the bend, degrees, as if the bend ran on past its ends; None on a cone.
    beyond : how far the branch's beginning stands out of the parent's outside, mm; negative inside.
    parent_od : the parent's OD there, mm.
    lost : degrees round the branch where its wall never leaves the parent.
    """

    nearest: float
    reach: float
    first: float
    last: float
    turn: tuple[float, float] | None
    beyond: float
    parent_od: float
    lost: tuple[float, ...]


def parent_of(m: Manifold, b: Branch) -> Parent | None:
    """The run a branch leaves and its bend; None for a branch off the cone.

    Raises GeometryError where there is no such bend.
    """
    if b.element is None:
        return None
    run = next((r for r in (m.outlet, *m.runners) if r.name == b.takeoff), None)
    if run is None:
        raise GeometryError(f"there is no run called {b.takeoff} to leave", b.run.name)
    if run.path is None:
        raise GeometryError(f"the {b.takeoff}, which it leaves, has no path yet", b.run.name)
    arc = run.path.segments[b.element] if b.element < len(run.path.segments) else None
    if not isinstance(arc, Arc):
        raise GeometryError(f"element {b.element + 1} of the {b.takeoff} is no bend to leave", b.run.name)
    return Parent(run, run.path, arc)


def branch_frame(m: Manifold, b: Branch) -> Frame:
    """Axes at a branch's root: z along its axis, x to its back line.

    The back line lies in the plane of bend (or cone axis) and branch: away from the bend's centre where
    the branch runs straight on, upstream where it stands square to the flow.
    """
    axis = array(b.axis)
    c, s = cos_sin(b.aim)
    parent = parent_of(m, b)
    if parent is not None:
        back = s * -array(parent.bend.direction) + c * array(parent.bend.radial)
    else:
        along = array(m.collectors[0].frame.z)
        back = (c * axis - along) / s if s > 1e-6 else _outward(m.collectors[0], array(b.root))
    back = unit(back - float(back @ axis) * axis)
    return Frame(b.root, vec(back), vec(np.cross(axis, back)), vec(axis))


def searched(b: Branch) -> float:
    """How far along a branch its parent's wall is looked for, mm: behind it the parent may come round again."""
    return b.wall_length + 4 * b.run.section.radius


def lines(frame: Frame, phi: Array, radius: float) -> Array:
    """Where a branch's lines at `radius` begin, `phi` degrees from its back line; (n, 3)."""
    turn = np.radians(phi)
    return frame.out(np.stack([radius * np.cos(turn), radius * np.sin(turn), 0 * turn], axis=1))


def left(m: Manifold, b: Branch, origins: Array) -> Array:
    """How far from their origins (n, 3) lines along a branch leave the parent's outside, mm; NaN where they do not."""
    parent, axis = parent_of(m, b), array(b.axis)
    if parent is None:
        return leaving.from_cone(m.collectors[0], origins, axis)
    return leaving.from_tube(parent.path.segments, parent.run.section.radius, origins, axis, searched(b))


def leaves(m: Manifold, b: Branch, frame: Frame, phi: Array, radius: float) -> Array:
    """How far from the branch's root its lines at `radius` leave the parent's outside, mm.

    frame : of `branch_frame`.  Raises GeometryError where a line does not leave it.
    """
    return every_line(b, phi, left(m, b, lines(frame, phi, radius)))


def every_line(b: Branch, phi: Array, s: Array) -> Array:
    """`s` where every line leaves; GeometryError with the places where one does not."""
    lost = phi[np.isnan(s)]
    if len(lost):
        reason = f"its wall does not leave the {b.takeoff} at {lost[0]:.0f}° to {lost[-1]:.0f}° round it"
        raise GeometryError(f"{reason}; take a smaller branch, less shift or a wider aim", b.run.name)
    return s


def normals(m: Manifold, b: Branch, points: Array) -> Array:
    """Outward unit normals of the parent's outside at points on it, (n, 3)."""
    parent = parent_of(m, b)
    if parent is None:
        c = m.collectors[0]
        out = c.frame.into(points) * (1.0, 1.0, 0.0)
        out[:, 2] = np.hypot(out[:, 0], out[:, 1]) * leaving.cone_slope(c)
        out = out @ c.frame.matrix.T
    else:
        along = nearest(parent.path, points)[1]
        out = points - array([parent.path.point(float(s)) for s in along])
    return array(out / np.linalg.norm(out, axis=1, keepdims=True))


def mouth_of(m: Manifold, b: Branch) -> Mouth:
    """The mouth of a branch.  Raises GeometryError where there is no bend that it leaves."""
    parent, phi = parent_of(m, b), array(np.arange(LINES) * (360.0 / LINES))
    origins = lines(branch_frame(m, b), phi, b.run.section.radius)
    s = left(m, b, origins)
    gone = ~np.isnan(s)
    ends = origins[gone] + s[gone, None] * array(b.axis)
    lost = tuple(phi[~gone].tolist())
    near, reach = (float(s[gone].min()), float(s[gone].max())) if gone.any() else (0.0, searched(b))
    if parent is None:
        c = m.collectors[0]
        start = c.frame.into(origins)
        beyond = np.hypot(start[:, 0], start[:, 1]) - leaving.cone_radius(c, start[:, 2])
        depth = c.frame.into(ends if gone.any() else origins)[:, 2]
        first, last = float(depth.min()), float(depth.max())
        middle = np.clip((first + last) / 2, c.merge_depth, c.length)
        od = 2 * float(leaving.cone_radius(c, middle))
        return Mouth(near, reach, first, last, None, float(beyond.max()), od, lost)
    off, along = nearest(parent.path, np.concatenate([origins, ends]))
    radius = parent.run.section.radius
    beyond = off[: len(origins)] - radius
    turn = _turn(b, parent, origins)
    first, last = float(along.min()), float(along.max())
    return Mouth(near, reach, first, last, turn, float(beyond.max()), 2 * radius, lost)


def first_straight(b: Branch) -> float:
    """Length of straight from the branch's root to its first bend, mm (its path begins at the wall)."""
    if b.run.path is None:
        return 0.0
    length = float((array(b.run.path.start.at) - array(b.root)) @ array(b.axis))
    for element in b.run.path.elements:
        if not isinstance(element, Straight):
            break
        length += element.length
    return length


def _turn(b: Branch, parent: Parent, origins: Array) -> tuple[float, float]:
    whole, axis = replace(parent.bend, angle=360.0), array(b.axis)
    s = leaving.from_tube((whole,), parent.run.section.radius, origins, axis, searched(b))
    points = (origins + s[:, None] * axis)[~np.isnan(s)] - array(whole.centre)
    if not len(points):
        return 0.0, 0.0
    turn = np.degrees(np.arctan2(points @ array(whole.direction), points @ array(whole.radial)))
    return float(turn.min()), float(turn.max())


def _outward(c: Collector, point: Array) -> Array:
    x, y, _ = c.frame.into(point)
    return array(c.frame.turn((x, y, 0.0)))
