"""How far the metal of a piece reaches beyond its centreline's end: sockets, slanted faces, mitres, saddles."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.geometry.path import Arc
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.model import Branch, Flange, Manifold, Piece, Run
from manifoldgen.pieces.part import SLIVER

LINES = 360  # lines along a branch's wall that are followed to its parent's wall
LEVEL = 1e-6  # mm: less than that is a square end


def beyond(m: Manifold, piece: Piece) -> tuple[float, float]:
    """Metal needed beyond the centreline at the piece's start and at its end, mm along the tube.

    0 at a square end. A tube that meets a plane at an angle reaches r tan(tilt) further on one side; one that
    stands in a socket reaches to its floor; a branch's saddle reaches down the sides of its parent.
    """
    if piece.path is None:
        return (0.0, 0.0)
    run = next(r for r in m.runs if r.name == piece.part)
    start = end = 0.0
    if run.path is not None and _same(piece.path.start.at, run.path.start.at):
        branch = next((b for b in m.branches if b.run is run), None)
        if branch is not None:
            start = saddle_depth(m, branch)
        elif run.kind == "runner" and m.head.transition == "flange":
            start = _on_flange(m.head, run, piece.path.start.direction)
    if piece.inlet:
        collector = next(c for c in m.collectors if piece.inlet in c.order)
        end = run.section.radius * math.tan(math.radians(collector.half_angle))
    elif run.path is not None and run.kind != "runner" and _same(piece.path.end.at, run.path.end.at):
        flange = m.turbo if run.kind == "outlet" else m.wastegate_flange
        end = flange.seat_depth if flange else 0.0
    return (start if start > LEVEL else 0.0, end if end > LEVEL else 0.0)


def saddle_depth(m: Manifold, branch: Branch) -> float:
    """How far a branch's saddle reaches beyond where its axis leaves the parent's wall, mm along the branch.

    Every line along the branch's wall is followed to the parent's outer wall, a bend or the cone: closed forms.
    Lines that miss the parent count as none.
    """
    phi = np.arange(LINES) * 2 * math.pi / LINES
    r = branch.run.section.radius
    if branch.element is not None:
        parent = next(x for x in m.runs if x.name == branch.off)
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
        return max(0.0, math.sqrt(axis) - math.sqrt(along[along > 0].min()))
    return max(0.0, branch.wall_length - _to_cone(m, branch, r, phi))


def _to_cone(m: Manifold, branch: Branch, r: float, phi: np.ndarray) -> float:
    """The shortest way along a line of the branch's wall from its root's height to the cone, mm."""
    c = m.collectors[0]
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


def _on_flange(flange: Flange, run: Run, direction: tuple[float, float, float]) -> float:
    lean = min(1.0, abs(float(array(direction) @ array(flange.frame.z))))
    if lean <= SLIVER:
        return 0.0
    return (flange.seat_depth + run.section.radius * math.sqrt(1 - lean**2)) / lean


def _same(a: tuple[float, float, float], b: tuple[float, float, float]) -> bool:
    return math.dist(a, b) < SLIVER
