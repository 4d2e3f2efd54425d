"""Where a piece of tube begins for the shop: its straight ends, its square ends, the back lines of its bends."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.path import Arc, Path, Straight
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Manifold, Piece, Run

SQUARE = 0.05  # degrees: an end nearer to square than this is sawn square
_SLIVER = 1e-6  # mm


@dataclass(frozen=True)
class HeadCut:
    """How a runner's tube begins on the head flange.

    tilt : degrees between the tube and the flange's normal.  sunk : mm of tube in the flange's socket.
    formed : mm of a formed tube before it.
    """

    tilt: float
    sunk: float
    formed: float


def head_cut(m: Manifold, run: Run) -> HeadCut:
    """The start of one runner."""
    if m.head.transition == "tube":
        return HeadCut(0.0, 0.0, m.head.transition_length)
    cosine = float(array(run.start.direction) @ array(m.head.frame.z))
    tilt = math.degrees(math.acos(min(cosine, 1.0)))
    return HeadCut(tilt if tilt > SQUARE else 0.0, m.head.seat_depth / cosine, 0.0)


def run_of(m: Manifold, piece: Piece) -> Run:
    """The run a piece belongs to."""
    return next(r for r in m.runs if r.name == piece.part)


def begins(run: Run, piece: Piece) -> bool:
    """Whether a piece is the first of its run."""
    path = piece.path
    return path is not None and math.dist(path.start.at, run.start.at) < _SLIVER


def straight_at_end(path: Path) -> float:
    """Length of the straight a path ends with, mm."""
    return _leading(tuple(reversed(path.elements)))


def straight_at_start(path: Path) -> float:
    """Length of the straight a path begins with, mm."""
    return _leading(path.elements)


def _leading(elements: tuple[object, ...]) -> float:
    total = 0.0
    for element in elements:
        if not isinstance(element, Straight):
            break
        total += element.length
    return total


def back_line(path: Path, before: float) -> Array | None:
    """Direction from the centreline to the back of the last bend that ends at or before arc length `before`.

    The line runs on along the straight behind that bend.  None where there is no bend.
    """
    at, found = 0.0, None
    for segment in path.segments:
        at += segment.length
        if at > before + _SLIVER:
            break
        if isinstance(segment, Arc):
            found = -array(segment.end.normal)
    return found


def next_back_line(path: Path) -> Array | None:
    """Direction from the centreline to the back of the first bend, at its start; None where there is none."""
    return next((array(s.radial) for s in path.segments if isinstance(s, Arc)), None)


def turn_of(direction: Array, back: Array, along: Array) -> float:
    """Degrees from the back line to a direction square to the tube, right-handed about the flow, 0 to 360."""
    side = np.cross(along, back)
    return math.degrees(math.atan2(float(direction @ side), float(direction @ back))) % 360.0
