"""Closed meshes from rings of points: what is round is drawn as rings, and rings are joined by triangles.

    outer ring 0 ─ outer ring 1 ─ … ─ outer ring n     a sleeve: two walls and the two rims between them
    inner ring 0 ─ inner ring 1 ─ … ─ inner ring m

A ring runs right-handed about the way its wall is walked. Round sections are drawn by polygons of the same
area, so that a tube keeps its volume: corners stand a little outside the true circle, edges a little inside.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.mesh.triangles import STEEL, Colour, Index, Mesh

SAG = 0.06  # mm between a chord and its arc
FAIR = 0.025  # the same round a hole
FINE = 0.006  # the same where surfaces meet at a flat angle: mitres, saddles
FEWEST, MOST = 24, 160  # edges of a drawn circle


def edges_of(radius: float, sag: float = SAG) -> int:
    """Edges of the polygon that keeps within `sag` mm of a circle; a multiple of 4."""
    least = math.pi / math.acos(max(1.0 - sag / max(radius, sag), 0.0))
    return 4 * math.ceil(min(max(least, FEWEST), MOST) / 4)


def fair(radius: float, count: int) -> float:
    """Corner radius of the polygon of `count` edges that has the circle's area."""
    step = 2 * math.pi / count
    return radius * math.sqrt(step / math.sin(step))


def ring(at: Array, u: Array, v: Array, radius: float, count: int) -> Array:
    """Corners of a drawn circle, (count, 3): from `u` towards `v`, unit vectors square to each other."""
    turn = np.arange(count) * (2 * math.pi / count)
    drawn: Array = at + fair(radius, count) * (np.outer(np.cos(turn), u) + np.outer(np.sin(turn), v))
    return drawn


def wall(rings: int, count: int, first: int = 0) -> Index:
    """Triangles between rings that follow one another in the vertices, seen from outside.

    first : number of the first ring's first vertex.
    """
    k = np.arange(count)
    beside = (k + 1) % count
    rows = first + count * np.arange(rings - 1)[:, None]
    a, b = rows + k, rows + beside
    quads = np.stack([a, b, b + count, a, b + count, a + count], axis=-1)
    return quads.reshape(-1, 3)


def sleeve(name: str, outer: Sequence[Array], inner: Sequence[Array], colour: Colour = STEEL) -> Mesh:
    """A hollow body between an outer and an inner wall, closed by a rim at either end."""
    count = len(outer[0])
    points = np.concatenate([*outer, *inner])
    inside = count * len(outer)
    skin, bore = wall(len(outer), count), wall(len(inner), count, inside)
    last_out, last_in = inside - count, inside + count * (len(inner) - 1)
    start, end = _rim(inside, 0, count), _rim(last_out, last_in, count)
    return Mesh(name, points, np.concatenate([skin, bore[:, ::-1], start, end]), colour)


def filled(name: str, rings: Sequence[Array], colour: Colour = STEEL) -> Mesh:
    """A full body inside rings, closed by a fan about the middle of either end ring."""
    count = len(rings[0])
    size = count * len(rings)
    points = np.concatenate([*rings, rings[0].mean(axis=0)[None], rings[-1].mean(axis=0)[None]])
    k = np.arange(count)
    beside = (k + 1) % count
    low = np.column_stack([np.full(count, size), beside, k])
    high = np.column_stack([np.full(count, size + 1), size - count + k, size - count + beside])
    return Mesh(name, points, np.concatenate([wall(len(rings), count), low, high]), colour)


def _rim(outside: int, inside: int, count: int) -> Index:
    """Triangles from one ring to another of the same plane."""
    k = np.arange(count)
    beside = (k + 1) % count
    a, b, c, d = outside + k, outside + beside, inside + beside, inside + k
    return np.stack([a, b, c, a, c, d], axis=-1).reshape(-1, 3)
