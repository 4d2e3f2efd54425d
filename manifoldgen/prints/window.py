"""Half-shells with the wastegate's hole as a window, to mark it on the elbow that the branch leaves.

Branch and bend share a plane, so the hole is the same on both sides of it: two half-shells, each other's
mirror image, are tied on the elbow; each has half of the hole cut into its rim at the back. A flat template cannot
be wrapped round a bend.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Arc, Line, Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, vec
from manifoldgen.manifold.model import Branch, Manifold, Piece
from manifoldgen.manifold.mouth import parent_of
from manifoldgen.prints import bodies, marks, shell
from manifoldgen.prints.aid import COLD, Told, printed, wall
from manifoldgen.prints.elbow_cuts import bend_frame
from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.hole import on_parent, spots

BEYOND = 9.0  # mm of shell round the hole
STOP = 4.0  # mm: the stop on the elbow's end
TIE = 5.5
TIE_DEEP = 1.6
_MIRROR = {1: "A", -1: "B"}


def windows(m: Manifold) -> tuple[PrintedPart, ...]:
    """Two half-shells for every branch that leaves a bend; none for one that leaves a cone.

    Raises
    ------
    GeometryError : a mouth that does not fit on its parent.
    SolidError : a hole that begins before the bend, or a shell that does not fit on the bed.
    """
    made: list[PrintedPart] = []
    for number, branch in enumerate(m.branches, 1):
        run = next((r for r in m.runs if r.name == branch.takeoff), None)
        if branch.element is None or run is None or run.path is None or branch.run.path is None:
            continue
        code = "W" if len(m.branches) == 1 else f"W{number}"
        bend = run.path.segments[branch.element]
        if not isinstance(bend, Arc):
            raise SolidError(branch.run.name, "it leaves a straight; a window shell is for bends")
        made += [_half(m, branch, bend, code, side) for side in (1, -1)]
    return tuple(made)


def why_not(m: Manifold) -> tuple[str, ...]:
    """A sentence for every branch that has no window, and why."""
    return tuple(
        f"{b.run.name}: it leaves the cone, which its wrap fits; a window shell is for bends."
        for b in m.branches
        if b.element is None
    )


def _half(m: Manifold, branch: Branch, arc: Arc, code: str, side: int) -> PrintedPart:
    solid = window_solid(m, branch, arc, side, code)
    piece = _piece(m, branch)
    joint = piece.joints[0] if piece and piece.joints else ""
    told = Told(
        "window",
        f"window {code} {_MIRROR[side]}",
        f"{code} {_MIRROR[side]}",
        f"Marks the hole of the {branch.run.name} on the bend of the {branch.takeoff}.",
        f"Both halves round the elbow, their rims together, the stop hard on the elbow's end"
        f"{f' at {joint}' if joint else ''}, where the gas comes in; a cable tie in each notch. Scribe along the edge of the window:"
        " that is the hole, the branch's bore; its outside stands a wall beyond it.",
        (COLD, "Mark it while the elbow is still a loose piece: the stop needs its end free."),
    )
    down = (0.0, 0.0, -1.0) if side > 0 else (0.0, 0.0, 1.0)
    return printed(m, solid, told, bend_frame(arc), down=down)


def window_solid(m: Manifold, branch: Branch, arc: Arc, side: int, code: str) -> bodies.Body:
    """Half a window shell in the bend's axes (origin at its centre, the arc from +x).

    side : below or above z = 0.  code : the branch's mark.
    """
    frame, piece = bend_frame(arc), _piece(m, branch)
    od = _measured(m, branch, piece)
    leg = _leg(piece)
    parent = parent_of(m, branch)
    if parent is None:
        raise SolidError(branch.run.name, "it leaves no bend; a window shell is for bends")
    clocks = np.arange(0.0, 360.0, 5.0)
    turns = [s.angle for s in spots(parent, on_parent(m, branch, clocks, branch.run.section.bore_radius))]
    least = math.degrees((2.0 - leg) / (arc.clr - od / 2))
    if min(turns) < least:
        raise SolidError(
            f"window {branch.run.name}",
            f"its hole begins {min(turns):.1f}° into the bend, a stop needs {least:.1f}°; mark it from the fishmouthed branch instead",
        )
    angle = min(arc.angle, max(turns) + math.degrees(BEYOND / arc.clr))
    bore = od / 2 + m.workshop.fit
    radius = bore + wall(m)
    bent = shell.bend_path(arc.clr, angle, before=leg)
    body = shell.swept(bent, shell.outside(radius), before=STOP)
    root, axis = frame.into(branch.root), array(frame.matrix.T @ array(branch.axis))
    root, axis = _leveled(root, axis)
    hole = bodies.cylinder(root, axis, branch.run.section.bore_radius, 6 * arc.clr)
    hole = bodies.minus(hole, bodies.box((-4 * arc.clr, -4 * arc.clr, -radius), (4 * arc.clr, 0.0, radius)))
    cutters = [bodies.tube(bent, bore, after=2.0), hole, *_notches(bent, angle, radius)]
    text = f"{code} {_MIRROR[side]}"
    solid = bodies.minus(body, *cutters)
    end = Frame((arc.clr, -leg - STOP, -0.45 * radius), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
    if side < 0:
        solid = solid.mirror((0.0, 0.0, 1.0))
        end = Frame(
            (arc.clr, -leg - STOP, 0.45 * radius), (-1.0, 0.0, 0.0), (0.0, 0.0, -1.0), (0.0, -1.0, 0.0)
        )
    return bodies.minus(solid, marks.flat(text, end, 7.0, 0.4))


def _leveled(root: Array, axis: Array) -> tuple[Array, Array]:
    """Branch root and axis, which lie in the bend's plane but for rounding."""
    flat = np.array([1.0, 1.0, 0.0])
    return root * flat, axis * flat / float(np.linalg.norm(axis * flat))


def _notches(path: Path, angle: float, radius: float) -> list[bodies.Body]:
    made = []
    for share in (0.12, 0.92):
        at, travel = shell.along(path, angle * share)
        place = Frame(vec(at), vec(shell.back_of(travel)), vec(travel), (0.0, 0.0, 1.0))
        made.append(
            bodies.box((-2 * radius, -TIE / 2, -radius - 1), (2 * radius, TIE / 2, TIE_DEEP - radius), place)
        )
    return made


def _piece(m: Manifold, branch: Branch) -> Piece | None:
    """The piece that the hole is cut into."""
    return next((p for p in m.pieces if p.part == branch.takeoff and branch.element in p.elements), None)


def _leg(piece: Piece | None) -> float:
    """Straight of the piece before its bend, mm."""
    first = piece.path.segments[0] if piece and piece.path else None
    return first.length if isinstance(first, Line) else 0.0


def _measured(m: Manifold, branch: Branch, piece: Piece | None) -> float:
    """Outside of the stock that the bend is cut from, mm."""
    taken = m.cutting.of(piece.id) if piece else None
    if taken:
        return taken.item.od
    return next(r.section.od for r in m.runs if r.name == branch.takeoff)
