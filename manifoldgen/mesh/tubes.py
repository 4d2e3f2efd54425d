"""Tubes as rings along their exact centreline: outside and bore, ends square or cut by planes."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import Array, array, first_square_to, rotated
from manifoldgen.manifold.model import Section
from manifoldgen.mesh.cutting import behind
from manifoldgen.mesh.rings import SAG, edges_of, filled, ring, sleeve
from manifoldgen.mesh.triangles import STEEL, WELD_MM, Colour, Mesh, merged, welded

SHORTEST = 1e-6  # mm: a straight shorter than this has no ring of its own


def tube(
    name: str,
    path: Path,
    section: Section,
    *,
    start: Sequence[HalfSpace] = (),
    end: Sequence[HalfSpace] = (),
    sag: float = SAG,
    colour: Colour = STEEL,
) -> Mesh:
    """A tube as one closed mesh.

    Parameters
    ----------
    path, section : centreline and tube, mm.
    start, end : planes that cut the ends; what lies behind every one of them stays. The tube is drawn on in
        a straight line as far as they need.
    sag : mm between a chord and its arc; smaller where an edge runs out flat, as a mitre's does.
    """
    stands = stations(path, section.radius, sag)
    for planes, last in ((start, False), (end, True)):
        if planes:
            _move_out(stands, section.radius, planes, last=last)
    count = edges_of(section.radius, sag)

    def between(first: int, last: int) -> Mesh:
        here = stands[first : last + 1]
        outer = [ring(at, u, v, section.radius, count) for at, u, v in here]
        bore = [ring(at, u, v, section.bore_radius, count) for at, u, v in here]
        return sleeve(name, outer, bore, colour)

    # only the straight at an end is cut: the planes go on for ever, the saw does not
    final = len(stands) - 1
    a, b = (1 if start else 0), (final - 1 if end else final)
    if final == 1 or a > b:
        return behind(between(0, final), (*start, *end)) if start or end else between(0, final)
    parts = [behind(between(0, a), start)] if start else []
    parts += [between(a, b)] if a < b else []
    parts += [behind(between(b, final), end)] if end else []
    seams = [stands[k] for k in dict.fromkeys((a, b)) if 0 < k < final]
    return _glued(name, parts, seams, colour)


def _glued(name: str, parts: list[Mesh], seams: list[Station], colour: Colour) -> Mesh:
    """Stretches of one tube as one mesh: the rims where they meet are taken out, their corners made one."""
    kept = []
    for part in parts:
        inside = np.zeros(len(part.triangles), bool)
        for at, u, v in seams:
            on_plane = np.abs((part.vertices - at) @ np.cross(u, v)) < WELD_MM
            inside |= on_plane[part.triangles].all(axis=1)
        kept.append(Mesh(name, part.vertices, part.triangles[~inside]))
    return welded(merged(name, tuple(kept), colour))


def rod(name: str, path: Path, radius: float, sag: float = SAG) -> Mesh:
    """A full round bar along a path: the outside of a tube, or the gas in it."""
    count = edges_of(radius, sag)
    return filled(name, [ring(at, u, v, radius, count) for at, u, v in stations(path, radius, sag)])


Station = tuple[Array, Array, Array]


def stations(path: Path, radius: float, sag: float = SAG) -> list[Station]:
    """Where rings stand along a path: centre and two unit vectors across, carried along without twist.

    Bends are stepped so that the chord on their back stays within `sag` mm of it.
    """
    u = first_square_to((path.start.normal, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)), path.start.direction)
    travel = array(path.start.direction)
    made: list[Station] = [(array(path.start.at), u, np.cross(travel, u))]
    straight = False
    for segment in path.segments:
        if not isinstance(segment, Arc):
            if segment.length > SHORTEST:
                _, u, v = made[-1]
                if straight:  # one straight after another is one
                    made.pop()
                made.append((segment.point(segment.length), u, v))
                straight = True
            continue
        straight = False
        steps = math.ceil(segment.angle / _step_deg(segment.clr + radius, sag))
        _, first_u, first_v = made[-1]
        for k in range(1, steps + 1):
            turned = segment.angle * k / steps
            at = segment.point(segment.length * k / steps)
            made.append((at, rotated(first_u, segment.axis, turned), rotated(first_v, segment.axis, turned)))
    if len(made) == 1:
        made.append(made[0])
    return made


def _step_deg(reach: float, sag: float) -> float:
    """Degrees of bend whose chord on a radius of `reach` mm stays within `sag`."""
    return 2 * math.degrees(math.acos(1 - sag / reach))


def _move_out(stands: list[Station], radius: float, planes: Sequence[HalfSpace], *, last: bool) -> None:
    """Move an end's ring out along the tube until the planes cut all of it."""
    index = -1 if last else 0
    at, u, v = stands[index]
    along = np.cross(u, v) * (1.0 if last else -1.0)
    stands[index] = (at + _overrun(at, along, radius, planes) * along, u, v)


def _overrun(at: Array, along: Array, radius: float, planes: Sequence[HalfSpace]) -> float:
    """How far an end ring is moved out: to where the last place of the tube's wall meets its first plane."""
    around = first_square_to(np.eye(3), along)
    across = np.cross(along, around)
    turn = np.arange(720) * (math.pi / 360)  # a place between two mitres runs out fast
    circle = np.outer(np.cos(turn), around) + np.outer(np.sin(turn), across)
    rim = at + np.concatenate([share * radius * circle for share in np.linspace(0.7, 1.05, 15)])
    room = np.full(len(rim), math.inf)
    for plane in planes:
        n = array(plane.normal)
        rate = float(n @ along)
        if rate > SHORTEST:
            room = np.minimum(room, (array(plane.at) - rim) @ n / rate)
    return max(float(room[np.isfinite(room)].max(initial=0.0)), 0.0) + 2.0
