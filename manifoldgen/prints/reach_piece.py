"""A reach test piece: the head flange round one stud, with the runners' beginnings beside it, to try the real ratchet.

Small: of the flange only the ports near the stud, of their runners only what lies within reach of its tool.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from manifoldgen.access.results import StudAccess
from manifoldgen.errors import SolidError
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.model import Manifold, Run, Stud
from manifoldgen.pieces.part import part_of
from manifoldgen.prints import bodies, marks, plates
from manifoldgen.prints.aid import COLD, Told, printed
from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.aids import hardest

REACH = 75.0  # mm from the stud's axis that are kept of the runners
HIGH = 90.0  # mm over the flange
LEAST = 25.0  # mm of every stub
STEP = 2.0
SHORTER = (1.0, 0.85, 0.7, 0.55)  # shares of the reach that are tried until the piece fits on the bed
SUPPORT = "Where a stub bends over it needs support in the slicer."


def reach_piece(m: Manifold, reach: Sequence[StudAccess], stud: str | None = None) -> tuple[PrintedPart, ...]:
    """The piece for one stud of the head; None takes the one that is hardest to reach.

    reach : what is known of every stud.

    Raises SolidError where the head has no such stud, or the piece does not fit on the bed however short.
    """
    of_head = [s for s in m.studs if s.flange == m.head.name]
    if not of_head:
        return ()
    chosen = hardest(of_head, reach) if stud is None else next((s for s in of_head if s.id == stud), None)
    if chosen is None:
        raise SolidError(
            "reach piece", f"the head has no stud {stud}; it has {', '.join(s.id for s in of_head)}"
        )
    last: SolidError | None = None
    for share in SHORTER:
        try:
            return (_piece(m, chosen, share),)
        except SolidError as error:
            last = error
    raise last or SolidError("reach piece", "could not be made")


def _piece(m: Manifold, stud: Stud, share: float) -> PrintedPart:
    stubs = [(run, long) for run in m.runners if (long := _near(run, stud, share)) > 0]
    if not stubs:
        raise SolidError(f"reach piece {stud.id}", "no runner is laid near it yet; route the job first")
    solid = piece_solid(m, stud, stubs)
    names = ", ".join(r.name for r, _ in stubs)
    told = Told(
        "reach",
        f"reach piece {stud.id}",
        stud.id,
        f"The head flange round {stud.id} with {names}: try the real ratchet before any steel is cut.",
        f"Bolt it down by {stud.id}, or hold it on the bench and screw a real stud and nut in; swing the ratchet as the reach"
        " table says.",
        (SUPPORT, COLD),
    )
    return printed(m, solid, told, m.head.frame)


def _near(run: Run, stud: Stud, share: float) -> float:
    """How much of a runner from the flange stands near a stud, mm; 0 where it keeps away."""
    if run.path is None:
        return 0.0
    s = np.arange(0.0, run.path.length, STEP)
    v = np.array([run.path.point(float(x)) for x in s]) - array(stud.at)
    up = v @ array(stud.axis)
    off = np.linalg.norm(v - up[:, None] * array(stud.axis), axis=1)
    inside = np.flatnonzero((off < share * REACH + run.section.radius) & (up < share * HIGH))
    gone = np.flatnonzero((off >= share * REACH + run.section.radius) | (up >= share * HIGH))
    if len(inside) == 0:
        return 0.0
    first = float(s[gone[0]]) if len(gone) else run.path.length
    return max(first, LEAST) if inside[0] == 0 else 0.0


def piece_solid(m: Manifold, stud: Stud, stubs: list[tuple[Run, float]]) -> bodies.Body:
    """The piece in the head flange's axes."""
    flange, frame = m.head, m.head.frame
    at = frame.into(stud.at)
    turned = frame.matrix.T
    placing = np.column_stack([turned, -turned @ array(frame.at)])

    def into(solid: bodies.Body) -> bodies.Body:
        return solid.transform(placing)

    plate = into(plates.body(flange))
    ports = [frame.into(r.start.at) for r, _ in stubs]
    around = [at, *ports]
    half = flange.tube.radius + 6.0
    x0, x1 = min(p[0] for p in around), max(p[0] for p in around)
    edge = max(half, 15.0)
    low, high = plate.bounding_box()[2], plate.bounding_box()[5]
    keep = bodies.box((x0 - edge, -1e3, low - 1.0), (x1 + edge, 1e3, high + 1.0))
    body = bodies.common(plate, keep)
    skins, bores = [], []
    for run, long in stubs:
        path = run.path
        if path is None:
            continue
        stub = part_of(path, 0.0, min(long, path.length))
        skins.append(into(bodies.tube(stub, run.section.radius, before=2.0)))
        bores.append(
            into(
                bodies.tube(
                    stub, run.section.radius - m.workshop.sound_wall, before=2 * flange.thickness, after=2.0
                )
            )
        )
    holes = [into(h) for h in plates.holes(flange, m.workshop.hole_extra)]
    above = bodies.box((-1e4, -1e4, low), (1e4, 1e4, 1e4))
    solid = bodies.minus(bodies.common(bodies.union([body, *skins]), above), *bores, *holes)
    towards = math.copysign(stud.hole / 2 + 8.0, (x0 + x1) / 2 - float(at[0]))
    under = Frame(
        (float(at[0]) + towards, float(at[1]), low), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0)
    )
    return bodies.minus(solid, marks.flat(stud.id, under, 5.0))
