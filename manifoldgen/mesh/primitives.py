"""Plain shapes as triangles: obstacles, tools, torches, nuts, studs."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.geometry import contour
from manifoldgen.geometry.shapes import Box, Capsule, Cone, HalfSpace, Plate, Shape
from manifoldgen.geometry.vectors import Array, Vec, array, first_square_to
from manifoldgen.mesh.cutting import extruded
from manifoldgen.mesh.rings import filled, ring
from manifoldgen.mesh.triangles import Mesh

AROUND = 32  # edges of a round shape: these are stand-ins, not parts
_CAP = 9  # rings of a rounded end
_BOX = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
_SAME = 1e-9  # mm


def shape(name: str, body: Shape, reach: float = 300.0) -> Mesh:
    """A shape in place; what lies behind a plane is drawn as a slab of `reach` mm."""
    if isinstance(body, Box):
        signs = array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])
        corners = body.frame.out(signs * array(body.half))
        triangles = [t for a, b, c, d in _BOX for t in ((a, d, c), (a, c, b))]
        return Mesh(name, corners, np.array(triangles))
    if isinstance(body, Plate):
        flat = extruded(name, array(contour.points(body.contour, 0.1)), body.thickness)
        return Mesh(name, body.frame.out(flat.vertices), flat.triangles)
    if isinstance(body, HalfSpace):
        u = first_square_to(np.eye(3), body.normal)
        n = array(body.normal)
        v = np.cross(n, u)
        rings = [ring(array(body.at) - depth * n, u, v, reach, 4) for depth in (reach / 50, 0.0)]
        return filled(name, rings)
    if isinstance(body, Cone):
        return turned(name, body.start, body.end, [(0.0, body.radius_start), (1.0, body.radius_end)])
    if isinstance(body, Capsule):
        return _capsule(name, body)
    return turned(name, body.start, body.end, [(0.0, body.radius), (1.0, body.radius)])


def turned(name: str, start: Vec, end: Vec, profile: list[tuple[float, float]], around: int = AROUND) -> Mesh:
    """A turned body: radii at shares of the way from `start` to `end`."""
    a, way = array(start), array(end) - array(start)
    axis = way / max(float(np.linalg.norm(way)), _SAME)
    u = first_square_to(np.eye(3), axis)
    v = np.cross(axis, u)
    return filled(name, [ring(a + share * way, u, v, r, around) for share, r in profile])


def hexagon(name: str, start: Vec, end: Vec, across_flats: float) -> Mesh:
    """A hexagonal bar: a nut or a bolt's head."""
    fits = across_flats / math.sqrt(3) / math.sqrt((math.pi / 3) / math.sin(math.pi / 3))
    return turned(name, start, end, [(0.0, fits), (1.0, fits)], around=6)


def _capsule(name: str, body: Capsule) -> Mesh:
    a, b = array(body.start), array(body.end)
    length = float(np.linalg.norm(b - a))
    axis = (b - a) / length if length > _SAME else np.array([0.0, 0.0, 1.0])
    u = first_square_to(np.eye(3), axis)
    v = np.cross(axis, u)
    rings: list[Array] = []
    for turn in np.linspace(-math.pi / 2 + 0.05, 0.0, _CAP):
        rings.append(
            ring(a + body.radius * math.sin(turn) * axis, u, v, body.radius * math.cos(turn), AROUND)
        )
    for turn in np.linspace(0.0, math.pi / 2 - 0.05, _CAP):
        rings.append(
            ring(b + body.radius * math.sin(turn) * axis, u, v, body.radius * math.cos(turn), AROUND)
        )
    return filled(name, rings)
