"""Tubes and shapes as rows of numbers, the form the compiled distance kernels read (see `_kernels`)."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.path import Line, Segment
from manifoldgen.geometry.shapes import Box, Capsule, Cone, Cylinder, HalfSpace, Plate, Shape, Tube
from manifoldgen.geometry.vectors import Array, Vec, array, unit

ROD, BEND, BOX, CAPSULE, CONE, HALF, PLATE = 0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0
NO_EDGES: Array = np.empty((0, 8))


def _row(kind: float, *parts: float | Vec | Array) -> Array:
    row = np.zeros(16)
    flat = np.concatenate([np.atleast_1d(array(p)) for p in parts])
    row[0] = kind
    row[1 : 1 + len(flat)] = flat
    return row


def length_of(row: Array) -> float:
    """Centreline length of a rod or bend row, mm."""
    return float(row[13] * row[14] if row[0] == BEND else row[7])


def _piece(segment: Segment, radius: float) -> Array:
    if isinstance(segment, Line):
        return _row(ROD, segment.at, segment.direction, segment.length, radius)
    turn = math.radians(segment.angle)
    return _row(
        BEND, segment.centre, segment.radial, segment.direction, segment.axis, segment.clr, turn, radius
    )


def _part_of(row: Array, s0: float, s1: float) -> Array:
    """A rod or bend row cut down to the arc lengths s0..s1 of it."""
    part = row.copy()
    if row[0] == BEND:
        c, n = math.cos(s0 / row[13]), math.sin(s0 / row[13])
        part[4:7] = c * row[4:7] + n * row[7:10]
        part[7:10] = c * row[7:10] - n * row[4:7]
        part[14] = (s1 - s0) / row[13]
    else:
        part[1:4] += s0 * row[4:7]
        part[7] = s1 - s0
    return part


def cut(rows: Array, s0: float, s1: float) -> Array:
    """The part of a chain of rod and bend rows between two arc lengths."""
    kept, start = [], 0.0
    for row in rows:
        length = length_of(row)
        a, b = max(s0 - start, 0.0), min(s1 - start, length)
        if b > a:
            kept.append(_part_of(row, a, b))
        start += length
    return np.array(kept).reshape(-1, 16)


def slices(rows: Array, turn_deg: float) -> tuple[Array, Array]:
    """A chain with its bends cut into equal slices of at most `turn_deg`, and the bend up to each one.

    Returns the rows and, one longer, the summed bend in degrees at every piece's start and at the end.
    """
    kept, bend = [], [0.0]
    for row in rows:
        turn = math.degrees(row[14]) if row[0] == BEND else 0.0
        n = max(1, math.ceil(turn / turn_deg - 1e-9))
        step = length_of(row) / n
        kept += [_part_of(row, k * step, (k + 1) * step) for k in range(n)]
        bend += [bend[-1] + turn / n] * 1 if n == 1 else [bend[-1] + turn * (k + 1) / n for k in range(n)]
    return np.array(kept), np.array(bend)


@dataclass(frozen=True, eq=False)
class TubeRows:
    """A chain of straights and bends ready to be measured.

    segs : its pieces.  starts : arc length of every piece's start.  length, radius : mm.
    kernel : pieces, solids (end discs of bends added), both end zones, end discs, zones of the pieces.

    In the end zones a ball of the tube's radius about the centreline may reach past the end disc; beyond
    them it stays inside the tube.
    """

    segs: Array
    starts: Array
    length: float
    radius: float
    kernel: tuple[Array, Array, Array, Array, Array]

    @classmethod
    def of(cls, segs: Array) -> TubeRows:
        """The run of a chain of rod and bend rows, all of one radius."""
        lengths = [length_of(row) for row in segs]
        starts = np.concatenate([[0.0], np.cumsum(lengths)])
        length = float(starts[-1])
        radius = float(segs[0, 15 if segs[0, 0] == BEND else 8])
        ends = np.array([_end_disc(segs[0], 0.0, radius), _end_disc(segs[-1], lengths[-1], radius)])
        on_bends = ends[[segs[0, 0] == BEND, segs[-1, 0] == BEND]]
        first = min(_zone(segs, radius), length)
        last = length - min(_zone(segs[::-1], radius), length)
        near = np.vstack([cut(segs, 0.0, first), cut(segs, last, length), on_bends])
        zones = np.column_stack([first - starts[:-1], last - starts[:-1]])
        kernel = (segs, np.vstack([segs, on_bends]), near, ends, np.ascontiguousarray(zones))
        return cls(segs, starts[:-1], length, radius, kernel)

    @property
    def lines(self) -> Array:
        """The pieces without thickness."""
        thin = self.segs.copy()
        bends = thin[:, 0] == BEND
        thin[bends, 15] = 0.0
        thin[~bends, 8] = 0.0
        return thin


def _zone(rows: Array, radius: float) -> float:
    """Arc length from an end to where the centreline stands a radius above the end disc's plane.

    rows : from that end on.  Past a second bend it is taken as the whole tube.
    """
    height = 0.0  # straights and then one bend rise by clr sin(turn)
    zone = 0.0
    for row in rows:
        length = length_of(row)
        if row[0] != BEND:
            if height + length >= radius:
                return zone + radius - height
            height += length
        else:
            sine = (radius - height) / row[13]
            if sine <= math.sin(min(row[14], 0.5 * math.pi)):
                return zone + float(row[13]) * math.asin(sine)
            return math.inf
        zone += length
    return math.inf


def _end_disc(row: Array, s: float, radius: float) -> Array:
    disc = _part_of(row, s, s)
    if row[0] != BEND:
        return disc
    return _row(ROD, disc[1:4] + disc[13] * disc[4:7], disc[7:10], 0.0, radius)


@lru_cache(maxsize=512)
def run_of(tube: Tube) -> TubeRows:
    """The tube ready to be measured; raises GeometryError for a tube of no length or radius."""
    pieces = [_piece(s, tube.radius) for s in tube.path.segments if s.length > 0]
    if not pieces or not tube.radius > 0:
        raise GeometryError(
            f"a tube of length {tube.path.length:g} mm and radius {tube.radius:g} mm has no distance; "
            "give it a length and a radius"
        )
    return TubeRows.of(np.array(pieces))


def _along(start: Vec, end: Vec) -> tuple[Array, float]:
    length = math.dist(start, end)
    return (unit(array(end) - array(start)) if length > 0 else array((0.0, 0.0, 1.0))), length


@lru_cache(maxsize=512)
def shape_rows(shape: Shape) -> tuple[Array, Array]:
    """A shape as one solid row (1, 16), and its outline's edges (n, 8; none unless it is a plate)."""
    edges = NO_EDGES
    match shape:
        case Box():
            f = shape.frame
            row = _row(BOX, f.at, f.x, f.y, f.z, shape.half)
        case Cylinder() | Capsule():
            kind = ROD if isinstance(shape, Cylinder) else CAPSULE
            row = _row(kind, shape.start, *_along(shape.start, shape.end), shape.radius)
        case Cone():
            row = _row(
                CONE, shape.start, *_along(shape.start, shape.end), shape.radius_start, shape.radius_end
            )
        case HalfSpace():
            row = _row(HALF, shape.at, unit(shape.normal))
        case Plate():
            f = shape.frame
            edges = _edges(shape.contour)
            convex = float(_is_convex(shape.contour))
            row = _row(PLATE, f.at, f.x, f.y, f.z, shape.thickness, convex)
    return row.reshape(1, 16), edges


def _ring(contour: Contour) -> list[tuple[complex, complex, float]]:
    """Start, end and bulge of every edge with a length."""
    ring = [(complex(x, y), bulge) for x, y, bulge in contour.vertices]
    pairs = zip(ring, ring[1:] + ring[:1], strict=True)
    return [(a, b, bulge) for (a, bulge), (b, _) in pairs if a != b]


def _edges(contour: Contour) -> Array:
    rows = []
    for a, b, bulge in _ring(contour):
        centre, radius = 0j, 0.0
        if bulge:
            # the bulge is tan(sweep / 4): the centre stands (1 - bulge²) / (4 bulge) chords left of it
            centre = (a + b) / 2 + 1j * (b - a) * (1 - bulge**2) / (4 * bulge)
            radius = abs(a - centre)
        rows.append((a.real, a.imag, b.real, b.imag, bulge, centre.real, centre.imag, radius))
    return np.array(rows).reshape(-1, 8)


def _is_convex(contour: Contour) -> bool:
    ring = _ring(contour)
    if any(bulge < 0 for *_, bulge in ring):
        return False
    for (a, b, bulge), (c, d, following) in zip(ring, ring[1:] + ring[:1], strict=True):
        arrive = cmath.phase(b - a) + 2 * math.atan(bulge)
        leave = cmath.phase(d - c) - 2 * math.atan(following)
        if math.remainder(leave - arrive, 2 * math.pi) < -1e-9:
            return False
    return True
