"""How far the metal of a run reaches beyond its centreline's ends: sockets, slanted faces, mitres, saddles."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.geometry.path import Arc
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Branch, Flange, Manifold, Run
from manifoldgen.pieces.part import SLIVER

LINES = 360  # lines along a branch's wall that are followed to its parent's wall
LEVEL = 1e-6  # mm: less than that is a square end


def past_start(m: Manifold, run: Run) -> float:
    """Metal needed before a run's centreline begins, mm along the tube; 0 at a square end.

    A tube that meets the flange at an angle reaches r tan(tilt) further on one side, one in a socket to its
    floor; a branch's saddle reaches down the sides of its parent.
    """
    branch = next((b for b in m.branches if b.run is run), None)
    past = 0.0
    if branch is not None:
        past = saddle_depth(m, branch)
    elif run.kind == "runner" and m.head.transition == "flange" and run.path is not None:
        past = _on_flange(m.head, run, array(run.path.start.direction))
    return past if past > LEVEL else 0.0


def past_end(m: Manifold, run: Run) -> float:
    """Metal needed after a run's last centreline ends (a runner's: at its inlet's flat cut), mm along the tube."""
    if run.kind == "runner":
        collector = next((c for c in m.collectors if run.number in c.order), None)
        return run.section.radius * math.tan(math.radians(collector.half_angle)) if collector else 0.0
    flange = m.turbo if run.kind == "outlet" else m.wastegate_flange
    return flange.seat_depth if flange else 0.0


def formed(m: Manifold) -> float:
    """Formed tube that a runner begins with and that is no part of the piece sawn for it, mm."""
    return m.head.transition_length if m.head.transition == "tube" else 0.0


def saddle_depth(m: Manifold, branch: Branch) -> float:
    """How far a branch's saddle reaches beyond where its axis leaves the parent's wall, mm along the branch.

    Every line along the branch's wall is followed to the parent's outer wall, a bend or the cone: closed forms.
    Lines that miss the parent count as none.
    """
    phi = np.arange(LINES) * 2 * math.pi / LINES
    r = branch.run.section.radius
    if branch.element is None:
        return max(0.0, branch.wall_length - _to_cone(m, branch, phi))
    parent = next(x for x in m.runs if x.name == branch.takeoff)
    arc = parent.path.segments[branch.element] if parent.path else None
    if not isinstance(arc, Arc):
        return 0.0
    rho, a = parent.section.radius, math.radians(branch.aim)
    z2 = np.minimum((r * np.sin(phi)) ** 2, rho**2)
    height = (arc.clr + branch.shift) * math.cos(a) + r * np.cos(phi)  # of the line over the bend's axis
    along = (arc.clr + np.sqrt(rho**2 - z2)) ** 2 - height**2
    axis = (arc.clr + rho) ** 2 - ((arc.clr + branch.shift) * math.cos(a)) ** 2
    if axis <= 0 or along.max() <= 0:
        return 0.0
    return max(0.0, math.sqrt(axis) - math.sqrt(float(along[along > 0].min())))


def _to_cone(m: Manifold, branch: Branch, phi: Array) -> float:
    """The shortest way along a line of the branch's wall from its root's height to the cone, mm."""
    c, r = m.collectors[0], branch.run.section.radius
    at, along = c.frame.into(branch.root), c.frame.matrix.T @ array(branch.axis)
    side = np.cross(along, (0.0, 0.0, 1.0))
    side = side / np.linalg.norm(side) if np.linalg.norm(side) > SLIVER else np.array((1.0, 0.0, 0.0))
    start = at + r * (np.cos(phi)[:, None] * side + np.sin(phi)[:, None] * np.cross(along, side))
    slope = (c.rim_radius - c.outlet.radius) / (c.length - c.merge_depth)
    radius = c.outlet.radius + (c.length - start[:, 2]) * slope
    qa = float(along[:2] @ along[:2]) - (slope * along[2]) ** 2
    qb = start[:, :2] @ along[:2] + slope * along[2] * radius
    qc = (start[:, :2] ** 2).sum(axis=1) - radius**2
    square = qb * qb - qa * qc
    root = qb + np.sqrt(np.maximum(square, 0.0))
    leaves = (square > 0) & (root > 0)
    return float((-qc[leaves] / root[leaves]).min()) if leaves.any() else branch.wall_length


def _on_flange(flange: Flange, run: Run, direction: Array) -> float:
    lean = min(1.0, abs(float(direction @ array(flange.frame.z))))
    if lean <= SLIVER:
        return 0.0
    return (flange.seat_depth + run.section.radius * math.sqrt(1 - lean**2)) / lean
