"""Paths as people write them: straights, and bends that say their plane by `roll` or by `toward`.

`forward` walks from a known start (runners, wastegate branch); `backward` finds where a path must start to
end on a known face (the outlet, whose turbo flange is fixed).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from manifoldgen.errors import GeometryError, PathError
from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import Array, Vec, array, first_square_to, rotated, unit, vec

PARALLEL = 1e-6  # sine below which two directions count as parallel


@dataclass(frozen=True)
class WrittenBend:
    """A bend as written: `angle` degrees on `clr` mm; its plane by `roll` degrees or `toward` a vector."""

    angle: float
    clr: float
    roll: float | None = None
    toward: Vec | None = None


Step = Straight | WrittenBend


def forward(start: Pose, steps: Sequence[Step]) -> Path:
    """The path that leaves `start` by `steps`.

    A turn's `toward` picks the plane of the travel before the bend and that vector; a turn with neither
    `roll` nor `toward` has roll 0.  Raises PathError where `toward` is along the travel.
    """
    path = Path(start, ())
    for step in steps:
        path = path.plus(_placed(path.end, step))
    return path


def _placed(pose: Pose, step: Step) -> Element:
    if isinstance(step, Straight):
        return step
    if step.toward is None:
        return Bend(step.angle, step.clr, step.roll or 0.0)
    normal = _plane_normal(step.toward, pose.direction)
    return Bend(step.angle, step.clr, _roll(pose, normal))


def _plane_normal(toward: Vec, travel: Vec) -> Array:
    t, d = unit(toward), array(travel)
    aside = t - float(t @ d) * d
    if float(np.linalg.norm(aside)) < PARALLEL:
        raise PathError(
            f"'toward' {_short(toward)} is along the travel {_short(travel)} and picks no bend plane: take a vector across it"
        )
    return unit(aside)


def _roll(pose: Pose, normal: Array) -> float:
    """Degrees from the pose's normal to `normal`, right-handed about the travel."""
    n, d = array(pose.normal), array(pose.direction)
    return math.degrees(math.atan2(float(np.cross(n, normal) @ d), float(n @ normal)))


def _short(v: Sequence[float]) -> str:
    return "[" + ", ".join(f"{x:.3g}" for x in v) + "]"


def backward(end: Vec, direction: Vec, steps: Sequence[Step]) -> Path:
    """The path by `steps`, first to last, that ends at `end` travelling along `direction`.

    Here `toward` is taken with the travel after the bend: the bend has turned the gas towards that vector.
    The first turn must give `toward`; later ones may give `roll` instead.
    Raises PathError where no start direction satisfies them.
    """
    bends = [i for i, s in enumerate(steps) if isinstance(s, WrittenBend)]
    travel = unit(direction)
    normals: dict[int, Array] = {}
    groups = [i for i in bends if i == bends[0] or turn_at(steps, i).toward is not None]
    stop = len(steps)
    for first in reversed(groups):
        travel, normals[first] = _group(steps[first:stop], travel)
        stop = first
    start = Pose.heading((0.0, 0.0, 0.0), travel)
    path = Path(start, ())
    for i, step in enumerate(steps):
        if i in normals and isinstance(step, WrittenBend):
            path = path.plus(Bend(step.angle, step.clr, _roll(path.end, normals[i])))
        else:
            path = path.plus(_placed(path.end, step))
    return replace(path, start=replace(start, at=vec(array(end) - array(path.end.at))))


def turn_at(steps: Sequence[Step], index: int) -> WrittenBend:
    """The turn at `index`; raises GeometryError where a straight stands there."""
    step = steps[index]
    if not isinstance(step, WrittenBend):
        raise GeometryError(f"step {index + 1} is a straight, not a bend")
    return step


def _group(steps: Sequence[Step], out: Array) -> tuple[Array, Array]:
    """Start travel and bend normal of a turn that gives `toward`, followed by straights and rolled turns.

    The group is rigid; its end must travel along `out`, which leaves one rotation about `out` free, fixed
    by the first bend's plane holding `toward` after the bend.
    """
    lead = turn_at(steps, 0)
    if lead.toward is None:
        raise PathError("the first bend of a path read backwards needs 'toward', not 'roll'")
    toward = unit(lead.toward)
    local = forward(
        Pose((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
        [replace(lead, roll=0.0, toward=None), *steps[1:]],
    )
    after = local.segments[0].end
    binormal = np.cross(after.direction, after.normal)
    align = _rotation(array(local.end.direction), out)
    b = align @ binormal
    along = float(toward @ out) * float(out @ b)
    a_cos = float(toward @ b) - along
    a_sin = float(toward @ np.cross(out, b))
    size = math.hypot(a_cos, a_sin)
    if size < PARALLEL:
        raise PathError(
            f"'toward' {_short(lead.toward)} is along the tube after the bend and picks no bend plane: take a vector across it"
        )
    if abs(along) > size * (1 + 1e-12):
        raise PathError(
            f"no start direction lets the bends after 'toward' {_short(lead.toward)} end on the flange"
        )
    spread = math.degrees(math.acos(max(-1.0, min(1.0, -along / size))))
    middle = math.degrees(math.atan2(a_sin, a_cos))
    best: tuple[float, Array, Array] | None = None
    for phi in (middle + spread, middle - spread):
        turned = [
            rotated(align @ array(v), out, phi) for v in (after.normal, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
        ]
        pull = float(toward @ turned[0])
        if pull > 0 and (best is None or pull > best[0]):
            best = (pull, turned[1], turned[2])
    if best is None:
        raise PathError(f"the bends after 'toward' {_short(lead.toward)} turn the tube away from it")
    return unit(best[1]), unit(best[2])


def _rotation(a: Array, b: Array) -> Array:
    """A rotation matrix that takes unit `a` to unit `b`."""
    axis = np.cross(a, b)
    sine, cosine = float(np.linalg.norm(axis)), float(a @ b)
    if sine < 1e-12:
        if cosine > 0:
            return np.eye(3)
        k = np.cross(a, first_square_to(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), a))
        half: Array = 2.0 * np.outer(k, k) - np.eye(3)
        return half
    k = axis / sine
    cross = np.array([[0.0, -k[2], k[1]], [k[2], 0.0, -k[0]], [-k[1], k[0], 0.0]])
    full: Array = np.eye(3) + sine * cross + (1.0 - cosine) * (cross @ cross)
    return full
