"""Flanges as triangles: a plate (or a V-band's body) with its holes, gas passages and sockets cut through."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from manifoldgen.geometry import contour
from manifoldgen.geometry.vectors import Array, Vec, array, unit
from manifoldgen.manifold.model import Flange, Opening
from manifoldgen.mesh.cutting import extruded, minus
from manifoldgen.mesh.passages import layers, lofted, round_on
from manifoldgen.mesh.rings import edges_of, fair, filled, ring
from manifoldgen.mesh.triangles import STEEL, Colour, Mesh

RIM = 2.0  # mm: cylindrical rim of a V-band at its mating face (assumed)
FLANK = 20.0  # degrees: flank of a V-band against its face; half of the usual 40° band (from memory)
HUB = 3.0  # mm: V-band metal outside the tube at the tube face (assumed)
Side = tuple[Array, float]

_BEYOND = 1.0  # mm a hole is cut past either face


def flange(f: Flange, axes: Sequence[Vec] = (), colour: Colour = STEEL) -> Mesh:
    """A flange in place.

    axes : the direction of the tube at each opening; square to the flange where left out.
    """
    cuts = [_bar(hole.at, hole.diameter / 2, f.thickness) for hole in f.holes]
    for opening, axis in zip(f.openings, axes or [f.frame.z] * len(f.openings), strict=True):
        cuts += _passage(f, opening, axis)
    made = minus(_body(f), cuts)
    return Mesh(f.name, f.frame.out(made.vertices), made.triangles, colour)


def _body(f: Flange) -> Mesh:
    """Its outside in its own frame: a plate, or a V-band's hub, flank and rim."""
    if f.outline is not None:
        return extruded(f.name, array(contour.points(f.outline, 0.03)), f.thickness)
    rim, hub = (f.vband.od / 2 if f.vband else f.tube.radius + 2 * HUB), f.tube.radius + HUB
    drop = (rim - hub) * math.tan(math.radians(FLANK))
    sides = [(0.0, hub), (f.thickness - RIM - drop, hub), (f.thickness - RIM, rim), (f.thickness, rim)]
    if f.tube_side == "end":
        sides = [(f.thickness - h, r) for h, r in reversed(sides)]
    count = edges_of(rim)
    x, y, z = np.eye(3)
    return filled(f.name, [ring(h * z, x, y, r, count) for h, r in sides])


def _passage(f: Flange, opening: Opening, axis: Vec) -> list[Mesh]:
    """The gas passage of one opening, and the socket of its tube."""
    mating, face, inward = (0.0, f.thickness, -1.0) if f.tube_side == "end" else (f.thickness, 0.0, 1.0)
    d = f.frame.matrix.T @ unit(axis)

    def middle(height: float) -> Array:
        shift: Array = array(opening.at) + d[:2] * ((height - face) / d[2])
        return shift

    if f.transition == "tube":
        mouth, _ = lofted(opening, 0.0, f.tube.bore_radius, axis, f.frame)
        return [_between((mouth, mating), (mouth, face))]
    floor = face + inward * f.seat_depth
    mouth, end = lofted(opening, 0.0, f.tube.bore_radius, axis, f.frame)
    made = [_between((mouth, mating), (end + middle(floor), floor))]
    if f.seat_depth:
        pocket = round_on(f.tube.radius, axis, f.frame)
        made.append(_between((pocket + middle(floor), floor), (pocket + middle(face), face), past_one=False))
    return made


def _between(one: Side, two: Side, *, past_one: bool = True) -> Mesh:
    """A full body between two flat rings at two heights, carried straight on past them: no face is left over.

    past_one : past the first ring too (not past a socket's floor).
    """
    (a, low), (b, high) = one, two
    way = math.copysign(_BEYOND, high - low)
    rings = [*layers(_at(a, low), _at(b, high)), _at(b, high + way)]
    if past_one:
        rings.insert(0, _at(a, low - way))
    return filled("passage", rings if high > low else rings[::-1])


def _bar(at: tuple[float, float], radius: float, thickness: float) -> Mesh:
    count = edges_of(radius)
    turn = np.arange(count) * (2 * math.pi / count)
    flat = array(at) + fair(radius, count) * np.column_stack([np.cos(turn), np.sin(turn)])
    return filled("hole", [_at(flat, -_BEYOND), _at(flat, thickness + _BEYOND)])


def _at(flat: Array, height: float) -> Array:
    return np.column_stack([flat, np.full(len(flat), height)])
