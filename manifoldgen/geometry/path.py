"""Exact centrelines: a start pose and straights and bends whose tangents agree by construction.

    start ──straight──╮
                      bend (angle, clr, roll)
                      ╰──straight── end

A bend turns the travel by `angle` on radius `clr`. Its `roll` is the trade's rotation from the previous
bend's plane to this one, right-handed about the travel; for the first bend it counts from the start
pose's normal. Nothing here is fitted or rounded: points, tangents and lengths are closed forms.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import Array, Vec, array, cos_sin, rotated, unit, vec
from manifoldgen.public import public


@public
@dataclass(frozen=True)
class Straight:
    """A straight of `length` mm (0 allowed).

    >>> import manifoldgen as mg
    >>> mg.Straight(40.0).length
    40.0
    """

    length: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.length) and self.length >= 0):
            raise GeometryError(f"a straight of {self.length:g} mm is not possible")


@public
@dataclass(frozen=True)
class Bend:
    """A bend of `angle` degrees (0 < angle ≤ 360) on centreline radius `clr` mm, after `roll` degrees.

    >>> import manifoldgen as mg
    >>> mg.Bend(60.0, clr=63.6, roll=90.0).clr
    63.6
    """

    angle: float
    clr: float
    roll: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.clr) and self.clr > 0):
            raise GeometryError(f"a bend with CLR {self.clr:g} mm is not possible")
        if not (math.isfinite(self.angle) and 0 < self.angle <= 360 and math.isfinite(self.roll)):
            raise GeometryError(f"a bend of {self.angle:g}° with roll {self.roll:g}° is not possible")


Element = Straight | Bend


@dataclass(frozen=True)
class Line:
    """A straight in place: from `at` along `direction` for `length` mm; `normal` is carried along."""

    at: Vec
    direction: Vec
    normal: Vec
    length: float

    def point(self, s: float) -> Array:
        """Point at arc length `s` mm."""
        return array(self.at) + array(self.direction) * s

    def tangent(self, _s: float) -> Array:
        """Unit travel, the same everywhere."""
        return array(self.direction)

    @property
    def end(self) -> Pose:
        """Pose at its end."""
        return Pose(vec(self.point(self.length)), self.direction, self.normal)


@dataclass(frozen=True)
class Arc:
    """A bend in place.

    centre : centre of curvature.  radial : unit, centre → start point.  direction : unit travel at the
    start.  clr : mm.  angle : degrees.  Point at turn a: centre + clr (cos a · radial + sin a · direction).
    """

    centre: Vec
    radial: Vec
    direction: Vec
    clr: float
    angle: float

    @property
    def length(self) -> float:
        """Centreline length in mm."""
        return self.clr * math.radians(self.angle)

    @property
    def axis(self) -> Array:
        """Unit axis of the turn, right-handed about it: radial × direction."""
        return np.cross(self.radial, self.direction)

    def point(self, s: float) -> Array:
        """Point at arc length `s` mm."""
        c, n = cos_sin(math.degrees(s / self.clr))
        return array(self.centre) + self.clr * (c * array(self.radial) + n * array(self.direction))

    def tangent(self, s: float) -> Array:
        """Unit travel at arc length `s` mm."""
        c, n = cos_sin(math.degrees(s / self.clr))
        return c * array(self.direction) - n * array(self.radial)

    @property
    def end(self) -> Pose:
        """Pose at its end; the normal points at the centre."""
        c, n = cos_sin(self.angle)
        radial = c * array(self.radial) + n * array(self.direction)
        travel = c * array(self.direction) - n * array(self.radial)
        return Pose(vec(array(self.centre) + self.clr * radial), vec(unit(travel)), vec(unit(-radial)))


Segment = Line | Arc


@public
@dataclass(frozen=True)
class Path:
    """A start pose and the elements that follow it, port to inlet (with the gas).

    >>> import manifoldgen as mg
    >>> up = mg.Pose.heading(at=(0, 0, 12), direction=(0, 0, 1))
    >>> path = mg.Path(up, (mg.Straight(40.0), mg.Bend(90.0, 63.6), mg.Straight(20.0)))
    >>> round(path.length, 1), path.bend_deg
    (159.9, 90.0)
    """

    start: Pose
    elements: tuple[Element, ...]

    @cached_property
    def segments(self) -> tuple[Segment, ...]:
        """The elements in place, one segment each, in order."""
        return tuple(self._walk())

    def _walk(self) -> Iterator[Segment]:
        pose = self.start
        for element in self.elements:
            if isinstance(element, Straight):
                segment: Segment = Line(pose.at, pose.direction, pose.normal, element.length)
            else:
                normal = unit(rotated(pose.normal, pose.direction, element.roll))
                centre = array(pose.at) + element.clr * normal
                segment = Arc(vec(centre), vec(-normal), pose.direction, element.clr, element.angle)
            yield segment
            pose = segment.end

    @property
    def end(self) -> Pose:
        """Pose at the end of the last element."""
        return self.segments[-1].end if self.elements else self.start

    @cached_property
    def length(self) -> float:
        """Centreline length in mm."""
        return math.fsum(segment.length for segment in self.segments)

    @property
    def bends(self) -> tuple[Bend, ...]:
        """The bends alone, in order."""
        return tuple(e for e in self.elements if isinstance(e, Bend))

    @property
    def bend_deg(self) -> float:
        """Sum of all bend angles in degrees."""
        return math.fsum(b.angle for b in self.bends)

    def point(self, s: float) -> Array:
        """Point at arc length `s` mm from the start (clamped to the path)."""
        segment, rest = self._at(s)
        return segment.point(rest) if segment else array(self.start.at)

    def tangent(self, s: float) -> Array:
        """Unit travel at arc length `s` mm from the start (clamped to the path)."""
        segment, rest = self._at(s)
        return segment.tangent(rest) if segment else array(self.start.direction)

    def _at(self, s: float) -> tuple[Segment | None, float]:
        segment = None
        rest = max(s, 0.0)
        for segment in self.segments:
            if rest <= segment.length:
                return segment, rest
            rest -= segment.length
        return segment, segment.length if segment else 0.0

    def plus(self, *elements: Element) -> Path:
        """The path with more elements at its end."""
        return replace(self, elements=self.elements + elements)
