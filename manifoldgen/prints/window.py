"""Half-shells with the wastegate's hole as a window, to mark it on the elbow that the branch leaves.

Branch and bend share a plane, so the hole is the same on both sides of it: two half-shells, each other's
mirror image, are tied on the elbow; each has half of the hole cut into its rim at the back. A flat template cannot
be wrapped round a bend.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, vec
from manifoldgen.manifold.model import Branch, Manifold
from manifoldgen.manifold.mouth import parent_of
from manifoldgen.prints import bodies, marks, shell
from manifoldgen.prints.aid import COLD, Told, printed
from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.aid_trouble import hole_span, leg_before, no_window, window_od, window_piece
from manifoldgen.shop.aids import window_code, window_words
from manifoldgen.shop.elbow_cuts import bend_frame

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
    return tuple(make() for make in window_makers(m).values())


def window_makers(m: Manifold) -> dict[str, Callable[[], PrintedPart]]:
    """By its name what makes each half-shell."""
    made: dict[str, Callable[[], PrintedPart]] = {}
    for branch in m.branches:
        if branch.element is not None and branch.run.path is not None:
            first, second = window_words(m, branch)
            made |= {first: partial(_half, m, branch, 1), second: partial(_half, m, branch, -1)}
    return made


def _half(m: Manifold, branch: Branch, side: int) -> PrintedPart:
    if told := no_window(m, branch):
        raise SolidError(f"window {branch.run.name}", told)
    bend = parent_of(m, branch)
    assert bend is not None  # noqa: S101 - `window_makers` leaves the others out
    solid = window_solid(m, branch, bend.bend, side, window_code(m, branch))
    piece = window_piece(m, branch)
    joint = piece.joints[0] if piece and piece.joints else ""
    said = Told(
        "window",
        window_words(m, branch)[0 if side > 0 else 1],
        f"{window_code(m, branch)} {_MIRROR[side]}",
        f"Marks the hole of the {branch.run.name} on the bend of the {branch.takeoff}.",
        f"Both halves round the elbow, their rims together, the stop hard on the elbow's end"
        f"{f' at {joint}' if joint else ''}, its upstream end; a cable tie in each notch. Scribe along the edge of the window:"
        " that is the hole, the branch's bore; its outside stands a wall beyond it.",
        (COLD, "Mark it while the elbow is still a loose piece: the stop needs its end free."),
    )
    down = (0.0, 0.0, -1.0) if side > 0 else (0.0, 0.0, 1.0)
    return printed(m, solid, said, bend_frame(bend.bend), down=down)


def window_solid(m: Manifold, branch: Branch, arc: Arc, side: int, code: str) -> bodies.Body:
    """Half a window shell in the bend's axes (origin at its centre, the arc from +x).

    side : below or above z = 0.  code : the branch's mark.
    """
    frame = bend_frame(arc)
    od, leg = window_od(m, branch), leg_before(window_piece(m, branch))
    angle = min(arc.angle, hole_span(m, branch).last + math.degrees(BEYOND / arc.clr))
    bore = od / 2 + m.workshop.fit
    radius = bore + m.workshop.sound_wall
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
