"""The metal of a manifold as meshes, made apart from the package's own balls and rods: a judge's second look.

Tubes are swept here from `Path.point` and `Path.tangent` with flat ends, plates are extruded, torch parts are
turned; distances are the mesh library's own.
"""

from __future__ import annotations

import math
from itertools import pairwise

import manifold3d as md
import numpy as np

from manifoldgen.geometry import contour
from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.shapes import Capsule, Cone, Cylinder
from manifoldgen.manifold.collector_profile import outer_profile
from manifoldgen.manifold.model import Collector, Flange, Manifold

SIDES = 64
FAR = 500.0


def placed(solid: md.Manifold, at, x, y, z) -> md.Manifold:
    """A solid moved from its own axes to a place."""
    return solid.transform(np.column_stack([x, y, z, at]))


def axes(z) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Some right-handed axes about z."""
    z = np.asarray(z, float) / np.linalg.norm(z)
    x = np.cross(z, np.eye(3)[int(np.argmin(np.abs(z)))])
    x /= np.linalg.norm(x)
    return x, np.cross(z, x), z


def turned(start, end, first: float, last: float) -> md.Manifold:
    """A frustum."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    height = float(np.linalg.norm(end - start))
    return placed(md.Manifold.cylinder(height, first, last, SIDES), start, *axes(end - start))


def tube(path: Path, radius: float) -> md.Manifold:
    """A solid rod along a path, flat at both ends."""
    marks, s = [0.0], 0.0
    for segment in path.segments:
        step = 2.0 if isinstance(segment, Arc) else 50.0
        n = max(1, math.ceil(segment.length / step))
        marks += [s + segment.length * k / n for k in range(1, n + 1)] if segment.length > 1e-9 else []
        s += segment.length
    if len(marks) < 2:
        return md.Manifold()
    u = axes(path.tangent(0.0))[0]
    turns = 2 * math.pi * np.arange(SIDES) / SIDES
    rings = []
    for mark in marks:
        t = path.tangent(mark)
        u = u - (u @ t) * t
        u /= np.linalg.norm(u)
        rings.append(
            path.point(mark) + radius * (np.outer(np.cos(turns), u) + np.outer(np.sin(turns), np.cross(t, u)))
        )
    points = np.vstack([*rings, path.point(0.0)[None], path.point(path.length)[None]])
    k, m = len(marks), SIDES
    triangles = []
    for i in range(k - 1):
        for j in range(m):
            a, b, c, d = i * m + j, i * m + (j + 1) % m, (i + 1) * m + j, (i + 1) * m + (j + 1) % m
            triangles += [(a, b, d), (a, d, c)]
    for j in range(m):
        triangles += [(k * m, (j + 1) % m, j), (k * m + 1, (k - 1) * m + j, (k - 1) * m + (j + 1) % m)]
    return md.Manifold(md.Mesh64(points, np.array(triangles, np.uint64)))


def plate(flange: Flange) -> md.Manifold:
    """A flange without its holes."""
    f = flange.frame
    if flange.outline is not None:
        ring = contour.points(flange.outline, 0.01)
        solid = md.Manifold.extrude(md.CrossSection([ring]), flange.thickness)
        return placed(solid, f.at, f.x, f.y, f.z)
    band = flange.vband
    joint = flange.thickness if flange.tube_side == "start" else 0.0

    def disc(a: float, b: float, d: float) -> md.Manifold:
        return turned(f.out((0, 0, a)), f.out((0, 0, b)), d / 2, d / 2)

    body = disc(0.0, flange.thickness, band.od)
    return body + disc(joint - band.clamp_width / 2, joint + band.clamp_width / 2, band.clamp_od)


def inlet(c: Collector, cylinder: int, radius: float, beyond: float = 0.0) -> md.Manifold:
    """One inlet from the ring plane to the flat cut."""
    pose = c.inlet(cylinder)
    start, along = np.asarray(pose.at), np.asarray(pose.direction)
    leg = c.merge_depth / math.cos(math.radians(c.half_angle))
    whole = turned(start - beyond * along, start + (leg + 2 * radius) * along, radius, radius)
    flat = c.frame.out((0.0, 0.0, c.merge_depth + beyond))
    z = np.asarray(c.frame.z)
    return whole.trim_by_plane(-z, -float(z @ flat))


def metal(m: Manifold) -> dict[str, md.Manifold]:
    """Every piece and flange by name, tubes solid inside."""
    made: dict[str, md.Manifold] = {}
    for piece in m.pieces:
        if piece.path is not None:
            made[piece.id] = tube(piece.path, piece.section.radius)
        if piece.inlet:
            c = next(c for c in m.collectors if piece.inlet in c.order)
            if c.kind == "merge":
                made[piece.id] = made[piece.id] + inlet(c, piece.inlet, c.section.radius)
    for c in m.collectors:
        lid, cone = [p.id for p in m.pieces if p.part == "collector"][:2]
        made[lid] = turned(
            c.frame.out((0, 0, c.merge_depth)),
            c.frame.out((0, 0, c.merge_depth + c.section.wall)),
            c.rim_radius,
            c.rim_radius,
        )
        solid = md.Manifold()
        for (r, a), (s, b) in pairwise(outer_profile(c)):
            solid = solid + turned(c.frame.out((0, 0, a)), c.frame.out((0, 0, b)), r, s)
        made[cone] = solid
    return {**made, **{f.name: plate(f) for f in m.flanges}}  # fmt: skip


def hollow(c: Collector) -> md.Manifold:
    """The inlets of a collector as they are: walls, open at the flat cut."""
    outer, inner = md.Manifold(), md.Manifold()
    for cylinder in c.order:
        outer = outer + inlet(c, cylinder, c.section.radius)
        inner = inner + inlet(c, cylinder, c.section.bore_radius, beyond=5.0)
    return outer - inner


def shape(part) -> md.Manifold:
    """A torch part as a mesh."""
    if isinstance(part, Cone):
        return turned(part.start, part.end, part.radius_start, part.radius_end)
    if isinstance(part, Cylinder):
        return turned(part.start, part.end, part.radius, part.radius)
    assert isinstance(part, Capsule)
    ball = md.Manifold.sphere(part.radius, SIDES)
    return md.Manifold.batch_hull([ball.translate(part.start), ball.translate(part.end)])


def gap(parts, solid: md.Manifold, search: float = 20.0) -> float:
    """Least distance of meshes to a solid, mm; 0 where they overlap or touch."""
    return min((p.min_gap(solid, search) for p in parts), default=search)
