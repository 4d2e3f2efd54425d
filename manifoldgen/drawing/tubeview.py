"""Tubes, cones and plates drawn as outlines with what is hidden covered: far strips first, near ones over them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from manifoldgen.drawing.figure import FINE, PLAIN, EdgeLine, Figure, Item, Pen, polyline
from manifoldgen.drawing.view import View
from manifoldgen.geometry.path import Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, first_square_to

_SIDES = 32  # corners of a ring
_STEP = 5.0  # mm of tube in a strip


@dataclass(frozen=True)
class Strip:
    """Something flat to be laid down, mm at full size; larger depth lies on top."""

    depth: float
    items: tuple[Item, ...]


def drawn(strips: Iterable[Strip]) -> Figure:
    """All strips, the far ones first."""
    return Figure(tuple(i for s in sorted(strips, key=lambda s: s.depth) for i in s.items))


def tube(view: View, path: Path, radius: float, bore: float, *, inset: float = 0.0) -> list[Strip]:
    """A tube along a path; `bore` is its inner radius, 0 where its ends are not looked into.

    inset : by how much less than its radius a strip covers, so that the next one leaves its edge lines whole, mm.
    """
    marks = _marks(path)
    centres = array([path.point(s) for s in marks])
    ways = array([path.tangent(s) for s in marks])
    rings = [_ring(c, w, radius) for c, w in zip(centres, ways, strict=True)]
    strips = _skin(view, rings, inset)
    for k, sign in ((0, -1.0), (-1, 1.0)):
        if bore and sign * float(ways[k] @ array(view.eye)) > 1e-6:  # this end looks at the eye
            edge, hole = _flat(view, rings[k]), _flat(view, _ring(centres[k], ways[k], bore))
            items = (polyline(edge, closed=True, fill=1.0), polyline(hole, FINE, closed=True, fill=0.85))
            strips.append(Strip(float(view.depth(rings[k]).max()), items))
        else:
            strips.append(ring_line(view, centres[k], ways[k], radius))
    return strips


def turned(
    view: View, frame: Frame, profile: Sequence[tuple[float, float]], *, inset: float = 0.0
) -> list[Strip]:
    """A solid turned about a frame's z: (radius, z) pairs in the order of z; inset as in `tube`."""
    rings: list[Array] = []
    for (r0, z0), (r1, z1) in pairwise(profile):
        count = max(2, int(abs(z1 - z0) / _STEP) + 1)
        for t in np.linspace(0.0, 1.0, count):
            at = array(frame.out((0.0, 0.0, z0 + t * (z1 - z0))))
            rings.append(_ring(at, array(frame.z), r0 + t * (r1 - r0)))
    strips = _skin(view, rings, inset)
    for ring, way in ((rings[0], -1.0), (rings[-1], 1.0)):
        if way * float(array(frame.z) @ array(view.eye)) > 1e-6:
            strips.append(
                Strip(float(view.depth(ring).max()), (polyline(_flat(view, ring), closed=True, fill=1.0),))
            )
    return strips


def plate(view: View, near: Array, far: Array, holes: Sequence[Array]) -> list[Strip]:
    """A plate by its two outlines and the holes of the face that may be seen; all (n, 3), bench frame."""
    body = np.vstack([near, far])
    items: list[Item] = [polyline(_hull(view.flat(body)), closed=True, fill=1.0)]
    shown = near if float(view.depth(near).mean()) >= float(view.depth(far).mean()) else far
    items.append(polyline(_flat(view, shown), closed=True, fill=1.0))
    normal = near.mean(axis=0) - far.mean(axis=0)
    shift = 0.0 if shown is near else 1.0
    items += [
        polyline(_flat(view, hole - shift * normal), FINE, closed=True, fill=0.85)
        for hole in holes
        if abs(float(normal @ array(view.eye))) > 1e-6
    ]
    return [Strip(float(view.depth(body).min()), tuple(items))]


def ring_line(view: View, at: Array, along: Array, radius: float, pen: Pen = PLAIN) -> Strip:
    """The half of a ring round a tube that is seen, laid just over the tube there."""
    ring = _ring(at, along, radius * 1.001)
    outward = ring - at
    seen = outward @ array(view.eye) >= -1e-9
    start = next((i for i in range(_SIDES) if seen[i] and not seen[i - 1]), 0)
    order = [(start + i) % _SIDES for i in range(_SIDES)]
    points = [view.flat(ring[i])[0] for i in order if seen[i]]
    return Strip(float(view.depth(at)[0]) + 0.6 * radius, (polyline(_pairs(array(points)), pen),))


def _marks(path: Path) -> list[float]:
    count = max(2, int(path.length / _STEP) + 2)
    return [float(s) for s in np.linspace(0.0, path.length, count)]


def _ring(at: Array, along: Array, radius: float) -> Array:
    u = first_square_to(np.eye(3), along)
    turn = 2 * np.pi * np.arange(_SIDES) / _SIDES
    return array(at + radius * (np.outer(np.cos(turn), u) + np.outer(np.sin(turn), np.cross(along, u))))


def _skin(view: View, rings: Sequence[Array], inset: float) -> list[Strip]:
    """Between each ring and the next: the hull of both as seen, and its two edges from ring to ring."""
    strips = []
    for a, b in pairwise(rings):
        both = view.flat(np.vstack([a, b]))
        hull = _hull_index(both)
        items: list[Item] = [
            _area(_pairs(view.flat(np.vstack([_shrunk(a, inset), _shrunk(b, inset)]))[hull]))
        ]
        items += [
            polyline(_pairs(both[[i, j]]))
            for i, j in zip(hull, [*hull[1:], hull[0]], strict=True)
            if (i < _SIDES) != (j < _SIDES)
        ]
        strips.append(Strip(float(view.depth(np.vstack([a, b])).mean()), tuple(items)))
    return strips


def _shrunk(ring: Array, inset: float) -> Array:
    middle = ring.mean(axis=0)
    radius = float(np.linalg.norm(ring[0] - middle))
    return array(middle + (ring - middle) * max(0.0, 1.0 - inset / radius))


def _area(points: Sequence[tuple[float, float]]) -> EdgeLine:
    return EdgeLine(tuple((x, y, 0.0) for x, y in points), pen=None, fill=1.0)


def _flat(view: View, points: Array) -> list[tuple[float, float]]:
    return _pairs(view.flat(points))


def _pairs(points: Array) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in points]


def _hull(points: Array) -> list[tuple[float, float]]:
    return _pairs(points[_hull_index(points)])


def _hull_index(points: Array) -> list[int]:
    """Indices of the convex hull's corners, counter-clockwise (Andrew's monotone chain)."""
    order = sorted(range(len(points)), key=lambda i: (float(points[i][0]), float(points[i][1])))

    def half(indices: Iterable[int]) -> list[int]:
        chain: list[int] = []
        for i in indices:
            while len(chain) > 1 and _left(points[chain[-2]], points[chain[-1]], points[i]) <= 1e-12:
                chain.pop()
            chain.append(i)
        return chain[:-1]

    return [*half(order), *half(reversed(order))]


def _left(a: Array, b: Array, c: Array) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
