"""A tube along a path: one hollow solid with exact cylinder and torus faces, its ends square or cut by planes.

The tube is swept as an annulus along the exact centreline. An end that is not square to the tube (a tilted
port on a flange, an inlet mitred into its neighbours) is swept on in a straight line and cut back; the cut
stays within the straight at that end.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import cadquery as cq
import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Bend, Line, Path, Segment, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import Array, Vec, array, vec
from manifoldgen.manifold.model import Section
from manifoldgen.solids import _occ

Fill = Literal["hollow", "filled", "bore"]

_TANGENT = 1e-9  # radians: the kernel notices kinks of 1e-8
_SQUARE = 1e-9  # sine of the tilt below which an end counts as square
_LEVEL = 1e-9  # mm
_BEYOND = 2.0  # mm the tube is swept past an oblique cut
_AROUND = 1.1  # the waste cut off is this much wider than the tube


def tube_solid(
    path: Path,
    section: Section,
    *,
    start: Sequence[HalfSpace] = (),
    end: Sequence[HalfSpace] = (),
    fill: Fill = "hollow",
) -> cq.Shape:
    """A tube as one solid.

    Parameters
    ----------
    path, section : centreline and tube, mm.
    start, end : planes the ends are cut by; what lies behind every one of them stays, so their normals
        point away from the tube. None: square ends where the path begins and ends. A plane may lie
        before the start or behind the end: the tube is made longer.
    fill : ``hollow``, ``filled`` (outer radius, solid) or ``bore`` (inner radius, solid).

    Raises
    ------
    GeometryError : a bend no tube can take (clr ≤ od / 2), a wall that leaves no bore, a straight too
        short for its oblique cut.
    """
    check_tube(path, section)
    outer = section.bore_radius if fill == "bore" else section.radius
    inner = section.bore_radius if fill == "hollow" else 0.0
    before, first = _room(path.start.reversed(), _first_straight(path), section, start, "start")
    after, last = _room(path.end, _first_straight(_reversed_view(path)), section, end, "end")
    longer = _lengthened(path, before, after)
    solid = _occ.pipe(_occ.wire(longer.segments), _ring(longer.start, outer, inner))
    waste = []
    if start and (before or first):
        waste.append(_waste(path.start.reversed(), first, before, section, start))
    if end and (after or last):
        waste.append(_waste(path.end, last, after, section, end))
    return _occ.cut(solid, waste) if waste else solid


def tube_volume(path: Path, section: Section, fill: Fill = "hollow") -> float:
    """Volume of a tube with square ends, mm³: area times centreline length (Pappus).

    It also holds where one plane cuts an end obliquely through the end of the centreline.
    """
    outer = section.bore_radius if fill == "bore" else section.radius
    inner = section.bore_radius if fill == "hollow" else 0.0
    return math.pi * (outer**2 - inner**2) * path.length


def check_tube(path: Path, section: Section) -> None:
    """Refuse what the kernel would build wrongly without a word.

    Raises
    ------
    GeometryError : no wall or no bore, no length, a bend with clr ≤ od / 2, a kink (the smallest one
        makes the kernel give up cylinders and tori without saying so).
    """
    if not 0 < section.wall < section.radius:
        raise GeometryError(
            f"a tube of OD {section.od:.1f} mm cannot have a wall of {section.wall:.2f} mm;"
            f" the wall must be more than 0 and less than {section.radius:.1f} mm"
        )
    if not path.length > 0:
        raise GeometryError("a tube of no length is not possible; give its path a straight or a bend")
    for number, element in enumerate(path.elements, 1):
        if isinstance(element, Bend) and not element.clr > section.radius:
            raise GeometryError(
                f"element {number}: a bend with CLR {element.clr:.1f} mm is too tight for a tube of OD"
                f" {section.od:.1f} mm; its CLR must be more than {section.radius:.1f} mm"
            )
    travel = array(path.start.direction)
    for number, segment in enumerate(path.segments, 1):
        kink = max(_off(segment.tangent(0.0), travel), _skew(segment))
        if kink > _TANGENT:
            raise GeometryError(
                f"element {number} leaves the one before it with a kink of {math.degrees(kink):.1e}°;"
                " a path's start needs a direction of length 1 and a normal square to it"
            )
        travel = segment.tangent(segment.length)


def _off(a: Array, b: Array) -> float:
    return float(np.linalg.norm(a - b))


def _skew(segment: Segment) -> float:
    """How far an arc's radius and travel are from unit length and square to each other."""
    if isinstance(segment, Line):
        return abs(float(np.linalg.norm(segment.direction)) - 1.0)
    radial, travel = array(segment.radial), array(segment.direction)
    return float(np.abs([radial @ radial - 1.0, travel @ travel - 1.0, radial @ travel]).max())


def cut_reach(pose: Pose, radius: float, planes: Sequence[HalfSpace]) -> tuple[float, float]:
    """Where planes cut a straight tube, as (nearest, farthest) mm along `pose` from its point.

    A line of the tube at distance q from its axis meets a plane at s = ((a − p)·n − q·n) / (d·n); over
    all q of length `radius` that is its middle ± radius·tan(tilt). Of several planes the nearest counts.

    Raises
    ------
    GeometryError : a plane that the tube does not run into.
    """
    p, d = array(pose.at), array(pose.direction)
    nearest, farthest = math.inf, math.inf
    for plane in planes:
        n = array(plane.normal) / np.linalg.norm(plane.normal)
        along = float(d @ n)
        if along <= _SQUARE:
            raise GeometryError("a tube's end cannot be cut by a plane that it does not run into")
        middle = float((array(plane.at) - p) @ n) / along
        swing = radius * float(np.linalg.norm(np.cross(d, n))) / along
        nearest, farthest = min(nearest, middle - swing), min(farthest, middle + swing)
    return nearest, farthest


def _room(
    out: Pose, straight: float, section: Section, planes: Sequence[HalfSpace], which: str
) -> tuple[float, float]:
    """How far an end is swept on, and how far the waste reaches back into its straight, mm."""
    if not planes:
        return 0.0, 0.0
    nearest, farthest = cut_reach(out, section.radius, planes)
    if max(abs(nearest), abs(farthest)) < _LEVEL:
        return 0.0, 0.0
    if -nearest > straight + _LEVEL:
        raise GeometryError(
            f"the straight at the {which} of the tube is {straight:.1f} mm long, its oblique cut needs"
            f" {-nearest:.1f} mm; make that straight longer"
        )
    return max(farthest, 0.0) + _BEYOND, max(-nearest, 0.0)


def _waste(out: Pose, back: float, on: float, section: Section, planes: Sequence[HalfSpace]) -> cq.Shape:
    """What is cut off an end: a wide cylinder round it, without the part behind all planes."""
    p, d = array(out.at), array(out.direction)
    radius = section.radius * _AROUND
    nearest, _ = cut_reach(out, radius, planes)
    begin = min(nearest, -back) - 1.0
    whole = _occ.cylinder(p + begin * d, d, radius, on + 1.0 - begin)
    size = 4 * (radius + on - begin)
    kept = whole
    for plane in planes:
        n = array(plane.normal) / np.linalg.norm(plane.normal)
        centre = p - float((p - array(plane.at)) @ n) * n
        kept = _occ.common(kept, [_occ.half_space(centre, n, size)])
    return _occ.cut(whole, [kept])


def _ring(pose: Pose, outer: float, inner: float) -> cq.Shape:
    return _occ.annulus(pose.at, pose.direction, outer, inner, pose.normal)


def _first_straight(path: Path) -> float:
    """Length of straight at the path's start, mm."""
    total = 0.0
    for element in path.elements:
        if not isinstance(element, Straight):
            break
        total += element.length
    return total


def _reversed_view(path: Path) -> Path:
    return replace(path, elements=path.elements[::-1])


def _lengthened(path: Path, before: float, after: float) -> Path:
    """The path with its first and last straight longer; a bend at an end gets a straight."""
    elements = list(path.elements)
    at: Array | Vec = path.start.at
    if before > 0:
        at = array(path.start.at) - before * array(path.start.direction)
        if elements and isinstance(elements[0], Straight):
            elements[0] = Straight(elements[0].length + before)
        else:
            elements.insert(0, Straight(before))
    if after > 0:
        if elements and isinstance(elements[-1], Straight):
            elements[-1] = Straight(elements[-1].length + after)
        else:
            elements.append(Straight(after))
    return Path(Pose(vec(at), path.start.direction, path.start.normal), tuple(elements))
