"""Solid shapes in place that a tube can be measured against: pure numbers, mm, bench frame."""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.path import Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Vec


@dataclass(frozen=True)
class Box:
    """An oriented box: `frame` at its centre, half sizes along the frame's axes."""

    frame: Frame
    half: Vec


@dataclass(frozen=True)
class Cylinder:
    """A solid cylinder with flat ends."""

    start: Vec
    end: Vec
    radius: float


@dataclass(frozen=True)
class Capsule:
    """A solid cylinder with round ends (a sphere where both ends agree)."""

    start: Vec
    end: Vec
    radius: float


@dataclass(frozen=True)
class Cone:
    """A solid frustum with flat ends, `radius_start` at `start`, `radius_end` at `end`."""

    start: Vec
    end: Vec
    radius_start: float
    radius_end: float


@dataclass(frozen=True)
class Plate:
    """A plate: `contour` in the frame's x-y plane, from local z = 0 to `thickness`. Holes are not seen."""

    frame: Frame
    contour: Contour
    thickness: float


@dataclass(frozen=True)
class HalfSpace:
    """Everything behind a plane: points p with (p - at) · normal ≤ 0."""

    at: Vec
    normal: Vec


@dataclass(frozen=True)
class Tube:
    """A path with an outer radius; flat ends, counted as solid inside."""

    path: Path
    radius: float


Shape = Box | Cylinder | Capsule | Cone | Plate | HalfSpace
