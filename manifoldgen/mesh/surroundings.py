"""What stands round the tubes as triangles: nuts on their studs, obstacles, scans made coarser."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.access.fasteners import fastener
from manifoldgen.geometry.vectors import Vec, array, vec
from manifoldgen.manifold.model import Manifold, Obstacle, Stud
from manifoldgen.mesh.decimate import decimated
from manifoldgen.mesh.primitives import hexagon, shape, turned
from manifoldgen.mesh.triangles import Mesh, merged
from manifoldgen.readers import scan
from manifoldgen.readers.scan import Scan

MOST_SCAN = 15000  # triangles a scan is drawn with


def obstacle(o: Obstacle, reach: float = 300.0) -> tuple[Mesh, float]:
    """An obstacle's mesh, and how much coarser than its scan it is, mm (0: not at all).

    reach : half width of the slab that stands for a half space, mm.
    """
    if not isinstance(o.shape, Scan):
        return shape(o.name, o.shape, reach), 0.0
    vertices, faces = scan.triangles(o.shape)[:2]
    points, triangles, moved = decimated(array(vertices), np.asarray(faces, np.int64), MOST_SCAN)
    return Mesh(o.name, points, triangles), moved


def nut(m: Manifold, stud: Stud) -> Mesh:
    """Washer, nut or head, and the stud's end, as one mesh; KeyError where the catalogue has none."""
    f = fastener(stud, m.tables)

    def place(height: float) -> Vec:
        return vec(array(stud.at) + height * array(stud.axis))

    def disc(low: float, high: float, radius: float) -> Mesh:
        return turned(stud.id, place(low), place(high), [(0.0, radius), (1.0, radius)], 24)

    made = [disc(0.0, f.seat, f.radius)] if f.seat > 0 else []
    if f.across_flats:
        made.append(hexagon(stud.id, place(f.seat), place(f.top), f.across_flats))
    else:
        made.append(disc(f.seat, f.top, f.body))
    if f.tip > f.top:
        made.append(disc(f.top, f.tip, m.tables.thread(stud.thread).diameter / 2))
    return merged(stud.id, tuple(made))


def width(meshes: tuple[Mesh, ...]) -> float:
    """Diagonal of the box round meshes, mm; 100 where there are none."""
    if not meshes:
        return 100.0
    points = np.concatenate([mesh.vertices for mesh in meshes])
    return math.dist(points.min(axis=0), points.max(axis=0))
