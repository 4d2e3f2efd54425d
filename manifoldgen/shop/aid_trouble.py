"""Why a printed aid that a job has use for cannot be made; empty words where it can. Numbers only, nothing is made.

What the printer's bed has no room for shows when it is made.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import GeometryError, SolidError
from manifoldgen.geometry.path import Line
from manifoldgen.manifold.model import Branch, Manifold, Piece
from manifoldgen.manifold.mouth import parent_of
from manifoldgen.shop.elbow_cuts import ElbowCut
from manifoldgen.shop.hole import on_parent, spots
from manifoldgen.shop.stand_place import placed
from manifoldgen.wording import size

THROAT = 3.0  # mm of room that must stay between a guide and the centre of the bend
LEAST_OPEN = 3.0  # mm of a cradle's window on the side of a short piece
SHORTEST = 4.0  # mm of trough that still holds and prints
AHEAD = 2.0  # mm of bend or leg between a window's stop and the hole


@dataclass(frozen=True)
class HoleSpan:
    """Where the hole of a branch begins and ends on its bend, and where it may begin at the earliest; degrees."""

    first: float
    last: float
    least: float


def too_tight(m: Manifold, cut: ElbowCut) -> str:
    """Whether the bend of a cut leaves no room for a saw guide's wall in its throat."""
    wall = m.workshop.sound_wall
    radius = cut.od / 2 + m.workshop.fit + wall
    if cut.clr - radius >= THROAT:
        return ""
    return (
        f"{cut.piece}: a saw guide with a wall of {wall:.1f} mm needs a CLR of {radius + THROAT:.1f} mm or more on a"
        f" tube of {size(cut.od)} mm, this bend has {size(cut.clr)} mm; mark it with the wrap instead"
    )


def too_short(piece: Piece, *, ends: bool) -> str:
    """Whether a piece is too short to lie in a cradle's trough; `ends`: it ends at the joint."""
    whole = (piece.path.length if piece.path else 0.0) + (0.0 if ends else piece.leg)
    if whole >= LEAST_OPEN + SHORTEST:
        return ""
    return (
        f"{piece.id} is {whole:.1f} mm long, a trough needs {LEAST_OPEN + SHORTEST:.1f}; tack it square to its neighbour"
        " by hand"
    )


def no_window(m: Manifold, branch: Branch) -> str:
    """Whether the hole of a branch cannot be marked by half-shells on the bend it leaves."""
    try:
        hole = hole_span(m, branch)
    except GeometryError as error:
        return str(error)
    if hole.first >= hole.least:
        return ""
    return (
        f"its hole begins {hole.first:.1f}° into the bend, a stop needs {hole.least:.1f}°; "
        "mark it from the fishmouthed branch instead"
    )


def hole_span(m: Manifold, branch: Branch) -> HoleSpan:
    """The hole of a branch along the bend it leaves.  Raises GeometryError where it stands on no bend."""
    parent = parent_of(m, branch)
    if parent is None:
        raise GeometryError(f"{branch.run.name}: it leaves no bend")
    clocks = np.arange(0.0, 360.0, 5.0)
    angles = [s.angle for s in spots(parent, on_parent(m, branch, clocks, branch.run.section.bore_radius))]
    throat = parent.bend.clr - window_od(m, branch) / 2
    least = math.degrees((AHEAD - leg_before(window_piece(m, branch))) / throat)
    return HoleSpan(min(angles), max(angles), least)


def window_piece(m: Manifold, branch: Branch) -> Piece | None:
    """The piece that the hole of a branch is cut into."""
    return next((p for p in m.pieces if p.part == branch.takeoff and branch.element in p.elements), None)


def window_od(m: Manifold, branch: Branch) -> float:
    """Outside of the stock that the bend under a branch is cut from, mm."""
    piece = window_piece(m, branch)
    taken = m.cutting.of(piece.id) if piece else None
    return taken.item.od if taken else next(r.section.od for r in m.runs if r.name == branch.takeoff)


def leg_before(piece: Piece | None) -> float:
    """Straight of a piece before its bend, mm."""
    first = piece.path.segments[0] if piece and piece.path else None
    return first.length if isinstance(first, Line) else 0.0


def no_stand(m: Manifold) -> str:
    """Whether the turbo flange cannot be held by a printed stand."""
    try:
        placed(m)
    except SolidError as error:
        return error.reason
    return ""
