"""Closed solids of triangles, and their sums and differences: a thin layer over manifold3d.

Round things have so many corners that no chord lies more than `SAG` inside its circle; the corners stand as far
outside it as makes the area the circle's own.
All functions take and give manifold3d's own `Manifold`, in mm; a solid that is none raises SolidError.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import numpy as np
from manifold3d import CrossSection, Error, Mesh64, OpType
from manifold3d import Manifold as Body
from numpy.typing import ArrayLike

from manifoldgen.errors import SolidError
from manifoldgen.geometry.contour import Contour, points
from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.pose import BENCH, Frame
from manifoldgen.geometry.vectors import Array, Vec, array, unit, vec
from manifoldgen.mesh.triangles import STEEL, WELD_MM, Colour, Mesh, welded
from manifoldgen.prints.skin import skin

__all__ = [
    "SAG",
    "Body",
    "box",
    "common",
    "cone",
    "corners",
    "cylinder",
    "facets",
    "loft",
    "lone",
    "mesh_of",
    "minus",
    "moved",
    "outline",
    "plate",
    "polygon",
    "polygons",
    "rays",
    "solid_of",
    "sphere",
    "swept",
    "tube",
    "turned",
    "union",
    "upto",
]  # fmt: skip

SAG = 0.02  # mm between a chord and its circle
FEWEST = 16  # corners of the smallest round
_DRAWN, _TRIES = 3e-3, 5  # mm, and how often it is done
_NOTHING = 1e-3  # mm³
_NEAR = 1e-4  # mm: rings closer than this are one


def facets(radius: float) -> int:
    """Corners of a circle of this radius: chords at most `SAG` off it, a multiple of 8."""
    if radius <= SAG:
        return FEWEST
    return max(FEWEST, 8 * math.ceil(math.pi / math.acos(1.0 - SAG / radius) / 8.0))


def corner_radius(radius: float, n: int) -> float:
    """Where the corners of an n-sided round stand so that its area is the circle's, mm."""
    whole = 2 * math.pi / n
    return radius * math.sqrt(whole / math.sin(whole))


def solid_of(mesh: Mesh) -> Body:
    """The solid inside a closed mesh."""
    return _sound(Body(Mesh64(mesh.vertices, mesh.triangles.astype(np.uint64))), mesh.name)


def mesh_of(solid: Body, name: str, colour: Colour = STEEL) -> Mesh:
    """The skin of a solid as a mesh, vertices closer than the writers' weld made one."""
    _sound(solid, name)
    made = _raw(solid, name, colour)
    for _ in range(_TRIES):
        whole = welded(made)
        if not whole.closed:
            made = _apart(made)
            continue
        bodies = solid_of(whole).decompose()
        real = [b for b in bodies if abs(b.volume()) > _NOTHING]
        if len(real) == len(bodies):
            return whole
        made = _raw(Body.compose(real), name, colour)  # without what the weld pressed flat
    raise SolidError(name, "its skin has gaps once points closer than 0.001 mm are one")


def _raw(solid: Body, name: str, colour: Colour) -> Mesh:
    raw = solid.to_mesh64()
    return Mesh(name, array(raw.vert_properties)[:, :3], raw.tri_verts.astype(np.int64), colour)


def _apart(mesh: Mesh) -> Mesh:
    """Two skins that touch almost come apart.

    Points that the weld would take for one are drawn `_DRAWN` mm into the solid, the first of each kept.
    """
    keys = np.round(mesh.vertices / WELD_MM).astype(np.int64)
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    doubled = first[inverse.reshape(-1)] != np.arange(len(keys))
    corners = mesh.corners
    facing = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    outward = np.zeros_like(mesh.vertices)
    for k in range(3):
        np.add.at(outward, mesh.triangles[:, k], facing)
    length = np.linalg.norm(outward, axis=1, keepdims=True)
    step = _DRAWN * outward / np.where(length > 0, length, 1.0)
    return Mesh(mesh.name, mesh.vertices - np.where(doubled[:, None], step, 0.0), mesh.triangles, mesh.colour)


def lone(solid: Body, name: str) -> Body:
    """The solid, if it is one sound body that is not empty; crumbs under a cubic millimetre fall off.

    Raises
    ------
    SolidError : it is empty or in several bodies, with their volumes.
    """
    bodies = sorted(_sound(solid, name).decompose(), key=lambda b: -b.volume())
    bodies = [b for b in bodies if b.volume() > 1.0] or bodies[:1]
    if len(bodies) != 1 or bodies[0].is_empty():
        sizes = ", ".join(f"{b.volume():.1f}" for b in bodies) or "none"
        raise SolidError(name, f"came out as {len(bodies)} bodies instead of one ({sizes} mm³)")
    return bodies[0]


def union(solids: Iterable[Body]) -> Body:
    """All of them as one."""
    return Body.batch_boolean(list(solids), OpType.Add)


def minus(solid: Body, *others: Body) -> Body:
    """What is left of a solid without the others."""
    return Body.batch_boolean([solid, *others], OpType.Subtract) if others else solid


def common(a: Body, b: Body) -> Body:
    """What both fill."""
    return a ^ b


def upto(solid: Body, at: ArrayLike, normal: ArrayLike) -> Body:
    """What lies behind the plane through `at`: the half that `normal` points away from."""
    n = unit(normal)
    return solid.trim_by_plane(vec(-n), -float(array(at) @ n))


def moved(solid: Body, frame: Frame) -> Body:
    """A solid in a frame's own coordinates put into the bench frame."""
    return solid.transform(np.column_stack([frame.matrix, array(frame.at)]))


def loft(rings: Sequence[Array]) -> Body:
    """A closed solid through rings of equally many points (n, 3), its ends closed by fans from their middles.

    The rings run counter-clockwise seen against the way they follow each other; each end ring is seen whole
    from its middle.
    """
    count, n = len(rings), len(rings[0])
    vertices = np.concatenate([*rings, [rings[0].mean(axis=0), rings[-1].mean(axis=0)]])
    k = np.arange(n)
    after = (k + 1) % n
    first, last = count * n, count * n + 1
    triangles = [np.column_stack([np.full(n, first), after, k])]
    for i in range(count - 1):
        low, up = i * n, (i + 1) * n
        triangles += [
            np.column_stack([low + k, low + after, up + k]),
            np.column_stack([low + after, up + after, up + k]),
        ]
    end = (count - 1) * n
    triangles.append(np.column_stack([np.full(n, last), end + k, end + after]))
    return _sound(Body(Mesh64(vertices, np.concatenate(triangles).astype(np.uint64))), "loft")


def tube(path: Path, radius: float, *, before: float = 0.0, after: float = 0.0) -> Body:
    """The full round of `radius` mm along a path, run on straight by `before` and `after` mm at its ends."""
    return swept(path, [(-before, radius), (path.length + after, radius)])


def swept(path: Path, profile: Sequence[tuple[float, float]]) -> Body:
    """A full round along a path whose radius follows `profile`, (arc length, radius) in order, mm.

    Arc lengths before 0 and beyond the path's length run on straight; two rows at one place make a step.
    """
    rings = list(_stations(path, profile))
    n = facets(max(r for _, r in rings))
    turn = np.linspace(0.0, 2 * math.pi, n, endpoint=False)
    even = corner_radius(1.0, n)
    s, r = (np.repeat([ring[k] for ring in rings], n) for k in (0, 1))
    made = skin(path, 0.0, array(path.start.normal), s=s, turn=np.tile(turn, len(rings)), off=even * r)
    return loft(list(made.reshape(len(rings), n, 3)))


def _stations(path: Path, profile: Sequence[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    """The profile's rows and, between them, the rings that its bends need."""
    widest = max(r for _, r in profile)
    between: list[float] = []
    reached = 0.0
    for segment in path.segments:
        parts = 1
        if isinstance(segment, Arc):
            step = 2 * math.acos(1.0 - SAG / (segment.clr + widest))
            parts = max(1, math.ceil(math.radians(segment.angle) / step))
        between += [reached + segment.length * i / parts for i in range(parts + 1)]
        reached += segment.length
    last = -math.inf
    for (a, ra), (b, rb) in pairwise([*profile, (math.inf, profile[-1][1])]):
        yield a, ra
        last = a
        for s in between:
            if last + _NEAR < s < b - _NEAR and math.isfinite(b):
                yield s, ra + (rb - ra) * (s - a) / (b - a)
                last = s


def cylinder(at: ArrayLike, direction: ArrayLike, radius: float, length: float) -> Body:
    """A round bar from `at` along `direction`."""
    return cone(at, direction, radius, radius, length)


def cone(at: ArrayLike, direction: ArrayLike, first: float, last: float, length: float) -> Body:
    """A round bar whose radius goes from `first` to `last` mm."""
    frame = Frame.facing(vec(array(at)), unit(direction), (0.0, 1.0, 0.0))
    n = facets(max(first, last))
    return moved(Body.cylinder(length, corner_radius(first, n), corner_radius(last, n), n), frame)


def sphere(centre: ArrayLike, radius: float) -> Body:
    """A ball."""
    return Body.sphere(radius, facets(radius)).translate(vec(array(centre)))


def box(low: ArrayLike, high: ArrayLike, frame: Frame = BENCH) -> Body:
    """A box between two corners in a frame's coordinates."""
    size = array(high) - array(low)
    return moved(Body.cube(vec(size)).translate(vec(array(low))), frame)


def outline(contour: Contour) -> CrossSection:
    """A flat outline, its arcs drawn to `SAG`."""
    return CrossSection([np.asarray(points(contour, SAG))])


def polygon(corners: ArrayLike) -> CrossSection:
    """A flat outline through corners (n, 2), in either sense."""
    ring = array(corners)
    x, y = ring.T
    twice = float(x @ np.roll(y, -1) - np.roll(x, -1) @ y)
    return CrossSection([ring if twice > 0 else ring[::-1]])


def polygons(rings: Sequence[Array]) -> CrossSection:
    """Flat outlines (n, 2) that do not touch, each counter-clockwise, as one."""
    return CrossSection(list(rings))


def rays(ring: Array, turn: Array) -> Array:
    """Distance from (0, 0) to the edge of a convex ring (n, 2) round it, in each direction `turn`, radians."""
    a, edge = ring, np.roll(ring, -1, axis=0) - ring
    d = np.column_stack([np.cos(turn), np.sin(turn)])
    cross = d[:, None, 0] * edge[None, :, 1] - d[:, None, 1] * edge[None, :, 0]
    safe = np.where(np.abs(cross) < 1e-12, 1.0, cross)
    reach = (a[:, 0] * edge[:, 1] - a[:, 1] * edge[:, 0])[None, :] / safe
    share = (a[None, :, 0] * d[:, None, 1] - a[None, :, 1] * d[:, None, 0]) / safe
    good = (np.abs(cross) >= 1e-12) & (reach > 0) & (share > -1e-9) & (share < 1 + 1e-9)
    found: Array = np.where(good, reach, -np.inf).max(axis=1)
    return found


def plate(flat: CrossSection, low: float, high: float, frame: Frame = BENCH) -> Body:
    """A flat outline given thickness from z = `low` to `high` in a frame's coordinates."""
    return moved(Body.extrude(flat, high - low).translate((0.0, 0.0, low)), frame)


def turned(profile: Sequence[tuple[float, float]], frame: Frame) -> Body:
    """An outline (radius, z) turned about a frame's z axis; it is closed along the axis where it leaves it open."""
    ring = [(0.0, profile[0][1]), *profile, (0.0, profile[-1][1])]
    kept = [p for i, p in enumerate(ring) if p != ring[i - 1]]
    flat = polygon(kept)
    n = facets(max(r for r, _ in profile))
    even = corner_radius(1.0, n)
    return moved(Body.revolve(flat.scale((even, 1.0)), n), frame)


def corners(solid: Body) -> Array:
    """Its corner points, (n, 3) mm."""
    points: Array = array(solid.to_mesh64().vert_properties)[:, :3]
    return points


def middle(solid: Body) -> Vec:
    """Middle of the box round a solid, mm."""
    b = array(solid.bounding_box())
    return vec((b[:3] + b[3:]) / 2)


def _sound(solid: Body, name: str) -> Body:
    status = solid.status()
    if status != Error.NoError:
        raise SolidError(name, f"is not a closed solid of triangles ({status.name})")
    return solid
