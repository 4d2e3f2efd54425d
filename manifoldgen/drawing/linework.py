"""A closed mesh as a line drawing: its outline filled, and those of its edges that can be seen.

Edges that count are the sharp ones and those where the skin turns away from the eye. What lies behind something else
is found in a picture of depths, `_CELLS` cells wide.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from manifoldgen.drawing.figure import EdgeLine, Figure, Pen, polyline
from manifoldgen.drawing.view import View
from manifoldgen.geometry.vectors import Array
from manifoldgen.mesh.triangles import Mesh

SHARP = 0.82  # cosine between two triangles whose edge is drawn: 35°
FILL = 0.9  # grey
_EDGE = Pen(0.13)  # thin, so that engraved letters stay legible
_CELLS = 400
_BEHIND = 2.5  # cells that an edge may lie behind the skin it belongs to
_PIECES = 6  # places along an edge that are looked at
_NEAR = 0.03  # mm on paper: points of a line closer than this are one

Index = NDArray[np.int64]


def picture(mesh: Mesh, view: View, width: float, height: float) -> Figure:
    """The mesh as large as fits a box of `width` x `height` mm; its middle at (0, 0)."""
    flat, depth = view.flat(mesh.vertices), view.depth(mesh.vertices)
    low, high = flat.min(axis=0), flat.max(axis=0)
    span = np.maximum(high - low, 1e-6)
    scale = float(min(width / span[0], height / span[1]))
    paper = (flat - (low + high) / 2) * scale
    cell = float(span.max()) / _CELLS
    buffer = _depths(flat - low, depth, mesh.triangles, cell)
    edges = _edges(mesh, view)
    seen = _visible(flat - low, depth, edges, buffer, cell)
    figure = Figure(tuple(_outline(paper, mesh.triangles)))
    lines = [polyline(line, _EDGE) for line in _chains(paper, edges[seen])]
    return figure + Figure(tuple(lines))


def _edges(mesh: Mesh, view: View) -> Index:
    """Vertex pairs (k, 2) of the edges that count."""
    t, corners = mesh.triangles, mesh.corners
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = normals / np.where(length > 0, length, 1.0)
    front = normals @ np.asarray(view.eye) > 0
    pairs = np.sort(np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]]), axis=1)
    owner = np.tile(np.arange(len(t)), 3)
    order = np.lexsort((pairs[:, 1], pairs[:, 0]))
    pairs, owner = pairs[order], owner[order]
    one, other = owner[0::2], owner[1::2]  # closed: every edge has two triangles
    sharp = np.einsum("ij,ij->i", normals[one], normals[other]) < SHARP
    turns = front[one] != front[other]
    edges: Index = pairs[0::2][(sharp & (front[one] | front[other])) | turns]
    return edges


def _depths(flat: Array, depth: Array, triangles: Index, cell: float) -> Array:
    """For every cell the nearest depth: triangles that face the eye are strewn with points closer than a cell."""
    size = np.floor(flat.max(axis=0) / cell).astype(np.int64) + 1
    buffer = np.full(int(size[0] * size[1]), -np.inf)
    corners = np.column_stack([flat, depth])[triangles]
    u, v = corners[:, 1, :2] - corners[:, 0, :2], corners[:, 2, :2] - corners[:, 0, :2]
    twice = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    corners, twice = corners[twice > 0], twice[twice > 0]
    sides = np.linalg.norm(corners[:, :, :2] - np.roll(corners, -1, axis=1)[:, :, :2], axis=2)
    longest, rows = np.argmax(sides, axis=1), np.arange(len(corners))
    base = sides[rows, longest]
    a, b, c = (corners[rows, (longest + k) % 3] for k in range(3))  # the base is a to b
    spacing = 0.7 * cell
    fine = [
        2 ** np.ceil(np.log2(np.maximum(1.0, w / spacing))).astype(np.int64) for w in (base, twice / base)
    ]
    for along, up in np.unique(np.column_stack(fine), axis=0).tolist():
        here = np.flatnonzero((fine[0] == along) & (fine[1] == up))
        i, j = (g.ravel() for g in np.meshgrid(np.linspace(0, 1, along + 1), np.linspace(0, 1, up + 1)))
        w = np.column_stack([(1 - i) * (1 - j), i * (1 - j), j])
        for part in np.array_split(here, max(1, len(here) * len(w) // 1_000_000)):
            points = w @ np.stack([a[part], b[part], c[part]], axis=1)
            at = np.minimum((points[..., :2] / cell).astype(np.int64), size - 1)
            np.maximum.at(buffer, (at[..., 0] * size[1] + at[..., 1]).ravel(), points[..., 2].ravel())
    return buffer.reshape(int(size[0]), int(size[1]))


def _visible(flat: Array, depth: Array, edges: Index, buffer: Array, cell: float) -> NDArray[np.bool_]:
    """Whether at least half of an edge is in sight."""
    a, b = edges.T
    share = (np.arange(_PIECES) + 0.5) / _PIECES
    count = np.zeros(len(edges))
    top = np.array(buffer.shape) - 1
    for s in share.tolist():
        at = np.minimum(((1 - s) * flat[a] + s * flat[b]) / cell, top).astype(np.int64)
        z = (1 - s) * depth[a] + s * depth[b]
        # the farthest of the cells round it: the skin beside a silhouette falls away steeply
        around = [
            buffer[np.clip(at[:, 0] + i, 0, top[0]), np.clip(at[:, 1] + j, 0, top[1])]
            for i in (-1, 0, 1)
            for j in (-1, 0, 1)
        ]
        count += np.min(around, axis=0) <= z + _BEHIND * cell
    seen: NDArray[np.bool_] = count >= _PIECES / 2
    return seen


def _outline(paper: Array, triangles: Index) -> list[EdgeLine]:
    """What the mesh covers on paper, holes white."""
    from manifold3d import CrossSection, FillRule

    corners = paper[triangles]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    front = triangles[u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0] > 0]
    covered = CrossSection([np.ascontiguousarray(paper[loop]) for loop in _loops(front)], FillRule.NonZero)
    grown = covered.offset(0.02).simplify(0.02)
    rings = [np.asarray(r) for r in grown.to_polygons()]
    pen = Pen(0.3)
    drawn = []
    for ring in sorted(rings, key=lambda r: -abs(_area(r))):
        solid = _area(ring) > 0
        drawn.append(polyline(ring.tolist(), pen, closed=True, fill=FILL if solid else 1.0))
    return drawn


def _loops(front: Index) -> list[list[int]]:
    """The directed edges round what faces the eye, as closed loops: their winding is the number of layers."""
    there = np.concatenate([front[:, [0, 1]], front[:, [1, 2]], front[:, [2, 0]]])
    size = int(front.max(initial=0)) + 1
    rim = ~np.isin(there[:, 0] * size + there[:, 1], there[:, 1] * size + there[:, 0])
    after: dict[int, list[int]] = {}
    for a, b in there[rim].tolist():
        after.setdefault(a, []).append(b)
    loops = []
    for start in list(after):
        while after[start]:
            loop, here = [start], after[start].pop()
            while here != start:
                loop.append(here)
                here = after[here].pop()
            loops.append(loop)
    return loops


def _area(ring: Array) -> float:
    x, y = ring.T
    return float(x @ np.roll(y, -1) - np.roll(x, -1) @ y) / 2


def _chains(paper: Array, edges: Index) -> list[list[tuple[float, float]]]:
    """Edges joined end to end into lines."""
    at: dict[int, list[int]] = {}
    for k, (a, b) in enumerate(edges.tolist()):
        at.setdefault(a, []).append(k)
        at.setdefault(b, []).append(k)
    left = set(range(len(edges)))
    lines = []
    for first in range(len(edges)):
        if first not in left:
            continue
        left.discard(first)
        a, b = edges[first].tolist()
        chain = [a, b]
        for _ in range(2):  # on from its end, then on from its start
            chain.reverse()
            while (more := next((k for k in at[chain[-1]] if k in left), None)) is not None:
                left.discard(more)
                p, q = edges[more].tolist()
                chain.append(q if p == chain[-1] else p)
        points = paper[chain].tolist()
        kept = [points[0]]
        for q in points[1:]:
            if abs(q[0] - kept[-1][0]) + abs(q[1] - kept[-1][1]) >= _NEAR or q is points[-1]:
                kept.append(q)
        lines.append([(x, y) for x, y in kept])
    return lines
