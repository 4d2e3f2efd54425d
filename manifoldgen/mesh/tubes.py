"""Tubes as rings along their exact centreline: outside and bore, ends square or cut by planes."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from manifoldgen.geometry.path import Arc, Line, Path
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import Array, array, first_square_to, rotated
from manifoldgen.manifold.model import Section
from manifoldgen.mesh.cutting import behind, minus
from manifoldgen.mesh.rings import SAG, edges_of, filled, ring, sleeve
from manifoldgen.mesh.triangles import STEEL, Colour, Mesh

SHORTEST = 1e-6  # mm: a straight shorter than this has no ring of its own


def tube(
    name: str,
    path: Path,
    section: Section,
    *,
    start: Sequence[HalfSpace] = (),
    end: Sequence[HalfSpace] = (),
    colour: Colour = STEEL,
) -> Mesh:
    """A tube as one closed mesh.

    Parameters
    ----------
    path, section : centreline and tube, mm.
    start, end : planes that cut the ends; what lies behind every one of them stays. The tube is drawn on in
        a straight line as far as they need.
    """
    stands = stations(path, section.radius)
    waste = [
        _cut_off(stands, path, section.radius, planes, last=last)
        for planes, last in ((start, False), (end, True))
        if planes
    ]
    count = edges_of(section.radius)
    outer, inner = (
        [ring(at, u, v, r, count) for at, u, v in stands] for r in (section.radius, section.bore_radius)
    )
    made = sleeve(name, outer, inner, colour)
    return minus(made, [w for w in waste if w is not None]) if waste else made


def rod(name: str, path: Path, radius: float) -> Mesh:
    """A full round bar along a path: the outside of a tube, or the gas in it."""
    count = edges_of(radius)
    return filled(name, [ring(at, u, v, radius, count) for at, u, v in stations(path, radius)])


Station = tuple[Array, Array, Array]


def stations(path: Path, radius: float) -> list[Station]:
    """Where rings stand along a path: centre and two unit vectors across, carried along without twist.

    Bends are stepped so that the chord on their back stays within `SAG` of it.
    """
    u = first_square_to((path.start.normal, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)), path.start.direction)
    travel = array(path.start.direction)
    made: list[Station] = [(array(path.start.at), u, np.cross(travel, u))]
    for segment in path.segments:
        if not isinstance(segment, Arc):
            if segment.length > SHORTEST:
                _, u, v = made[-1]
                made.append((segment.point(segment.length), u, v))
            continue
        steps = math.ceil(segment.angle / _step_deg(segment.clr + radius))
        _, first_u, first_v = made[-1]
        for k in range(1, steps + 1):
            turned = segment.angle * k / steps
            at = segment.point(segment.length * k / steps)
            made.append((at, rotated(first_u, segment.axis, turned), rotated(first_v, segment.axis, turned)))
    if len(made) == 1:
        made.append(made[0])
    return made


def _step_deg(reach: float) -> float:
    """Degrees of bend whose chord on a radius of `reach` mm stays within `SAG`."""
    return 2 * math.degrees(math.acos(1 - SAG / reach))


def _cut_off(
    stands: list[Station], path: Path, radius: float, planes: Sequence[HalfSpace], *, last: bool
) -> Mesh | None:
    """What the planes cut off one end; the end's ring is moved out along the tube until they cut all of it.

    Only the straight at that end is cut: the planes go on for ever, the saw does not.
    """
    index = -1 if last else 0
    at, u, v = stands[index]
    along = np.cross(u, v) * (1.0 if last else -1.0)
    out = _overrun(at, along, radius, planes)
    stands[index] = (at + out * along, u, v)
    segment = path.segments[index] if path.segments else None
    straight = segment.length if isinstance(segment, Line) else 0.0
    ends = (at - straight * along, at + 2 * out * along)
    count = edges_of(radius)
    block = filled("waste", [ring(p, *_across(u, v, last=last), 1.1 * radius, count) for p in ends])
    kept = behind(block, planes)
    return minus(block, [kept]) if abs(block.volume - kept.volume) > SHORTEST else None


def _across(u: Array, v: Array, *, last: bool) -> tuple[Array, Array]:
    return (u, v) if last else (v, u)


def _overrun(at: Array, along: Array, radius: float, planes: Sequence[HalfSpace]) -> float:
    """How far an end ring is moved out: to where the last place of the tube's wall meets its first plane."""
    around = first_square_to(np.eye(3), along)
    across = np.cross(along, around)
    turn = np.arange(72) * (2 * math.pi / 72)
    rim = at + 1.1 * radius * (np.outer(np.cos(turn), around) + np.outer(np.sin(turn), across))
    room = np.full(len(rim), math.inf)
    for plane in planes:
        n = array(plane.normal)
        rate = float(n @ along)
        if rate > SHORTEST:
            room = np.minimum(room, (array(plane.at) - rim) @ n / rate)
    return max(float(room[np.isfinite(room)].max(initial=0.0)), 0.0) + 1.0
