"""Runner paths as far as the file writes them, and the inlet circle they ask for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from manifoldgen.errors import ManifoldgenError, PathError
from manifoldgen.geometry.corners import from_corners
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.snap import miss, snap
from manifoldgen.geometry.vectors import Vec, array, unit, vec
from manifoldgen.geometry.written import Step, WrittenBend, forward
from manifoldgen.manifold.model import Collector, Limits, Run
from manifoldgen.parameters.path import Step as WrittenStep
from manifoldgen.parameters.path import StraightStep
from manifoldgen.parameters.runners import PointsPath, RunnerPath, WrittenPath

SAME_POINT = 0.05  # mm: a written point this close to a pose is that pose


def steps(written: Sequence[WrittenStep], up: Vec) -> tuple[Step, ...]:
    """The file's elements with ``up`` and ``down`` as vectors."""
    words = {"up": up, "down": vec(-array(up))}
    made: list[Step] = []
    for s in written:
        if isinstance(s, StraightStep):
            made.append(Straight(s.straight))
        else:
            toward = words[s.toward] if isinstance(s.toward, str) else s.toward
            made.append(WrittenBend(s.bend, s.clr, s.roll, None if toward is None else vec(unit(toward))))
    return tuple(made)


def end_point(written: RunnerPath, start: Pose, up: Vec) -> Vec | None:
    """The place round the ring that a hand-written path asks for, or None (auto, close)."""
    if isinstance(written, PointsPath):
        return vec(array(written.points[-1]))
    if isinstance(written, WrittenPath) and not written.closes:
        return forward(start, steps(written.steps, up)).end.at
    return None


def fill(run: Run, written: RunnerPath, up: Vec, collector: Collector | None, limits: Limits) -> Run:
    """The run with what the file says of its path, snapped onto its inlet where it misses by a hair.

    `collector` is None while the ring's clock is still to be found.
    """
    target = collector.inlet(run.number) if collector else None
    if not isinstance(written, WrittenPath | PointsPath):
        return replace(run, todo="auto", target=target)
    try:
        if isinstance(written, PointsPath):
            path = _through(written, run.start, target)
        else:
            path = forward(run.start, steps(written.steps, up))
    except ManifoldgenError as error:
        raise PathError(f"{run.name}: {error}") from None
    if isinstance(written, WrittenPath) and written.closes:
        return replace(run, todo="close", written=path.elements, target=target)
    run = replace(run, path=path, measured=written.measured, target=target)
    return landed(run, limits) if target else run


def landed(run: Run, limits: Limits) -> Run:
    """The run with its end error told, and corrected onto its target where that is within `limits.end_tolerance`."""
    if run.path is None or run.target is None:
        return run
    path, target = run.path, run.target
    off, turned = miss(path, target)
    run = replace(run, miss_mm=off, miss_deg=turned)
    if run.measured or off > limits.end_tolerance or turned > limits.end_tolerance:
        return run
    try:
        return replace(run, path=snap(path, target), snapped_mm=off)
    except PathError as error:
        return replace(run, trouble=str(error))


def _through(written: PointsPath, start: Pose, target: Pose | None) -> Path:
    """A path through corner points: the first on the port's axis, the last on the inlet's.

    The port's and the inlet's own centres may stand before and after them.  A last corner beside the
    inlet's axis shows as the path's miss in degrees.
    """
    if target is None:
        raise PathError("corner points need collector.clock in degrees while another path is auto")
    corners = [vec(array(p)) for p in written.points]
    if math.dist(corners[0], start.at) < SAME_POINT:
        corners = corners[1:]
    if corners and math.dist(corners[-1], target.at) < SAME_POINT:
        corners = corners[:-1]
    clrs = written.clr * len(corners) if len(written.clr) == 1 else written.clr
    if len(clrs) != len(corners):
        raise PathError(f"{len(corners)} corners are {len(corners)} bends, but {len(clrs)} clr are given")
    return from_corners(start, corners, target.at, clrs)
