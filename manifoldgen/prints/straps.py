"""The straps of the bench stand: from its foot to two stud holes of the head flange, in parts that fit on the bed.

With them the stand and the head flange make one triangle on the bench; once the foot is screwed down they come off.
"""

from __future__ import annotations

import math

import numpy as np
from manifold3d import CrossSection

from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Flange, Hole, Manifold
from manifoldgen.prints import bodies, marks
from manifoldgen.prints.aid import TONGUE, Told, printed
from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.stand_place import FOOT_THICK, SIDE

SCREW = 5.5
STRAP = (26.0, 6.0)  # mm: width, thickness
LAP = 24.0  # mm that two parts of a strap overlap
HOT = (
    "Plastic: it sets the pose for tacking cold joints. Screw the turbo flange to something of steel before welding near it.",
    "Check the four corners of the turbo flange over the bench with a height gauge before the first tack.",
)
_UP = (0.0, 0.0, 1.0)


def straps(m: Manifold, foot: Frame, depth: float) -> list[PrintedPart]:
    """Bars from the foot to two stud holes of the head flange, each in parts that fit on the bed; none where all are in the way."""
    head = m.head
    room = m.workshop.room
    longest = math.hypot(*room[:2]) - 2.5 * STRAP[0]
    middle = array(foot.at)[:2]
    free = [h for h in head.holes if _clear_of_ports(m, _on_bench(head, h)[:2], middle)]
    if len(free) < 2:
        return []
    free.sort(key=lambda h: (float(np.linalg.norm(_on_bench(head, h)[:2] - middle)), h.id))
    first = free[0]
    near = _on_bench(head, first)[:2]
    second = max(free[1:], key=lambda h: (_angle(near - middle, _on_bench(head, h)[:2] - middle), h.id))
    made = []
    both = _unit2(near - middle) + _unit2(_on_bench(head, second)[:2] - middle)
    ahead = _unit2(both)
    turned = np.abs(foot.matrix[:2, :2].T @ ahead)  # along the foot's own sides
    off = 8.0 + STRAP[0] / 2 + 5.0
    out = float(np.min((np.array([depth, SIDE]) / 2 + off) / np.maximum(turned, 1e-9)))
    aside = np.array([-ahead[1], ahead[0]]) * (STRAP[0] / 2 + 3.0)
    for hole in (first, second):
        end = _on_bench(head, hole)[:2]
        left = float(aside @ (end - middle)) > float(aside @ both) / 2 * float(np.linalg.norm(end - middle))
        anchor = middle + out * ahead + (aside if left else -aside)
        way = _unit2(end - anchor)
        frame = Frame(
            (float(anchor[0]), float(anchor[1]), head.thickness),
            (float(way[0]), float(way[1]), 0.0),
            (-float(way[1]), float(way[0]), 0.0),
            _UP,
        )
        long = float(np.linalg.norm(end - anchor))
        count = max(1, math.ceil((long + STRAP[0]) / (longest - LAP)))
        for k in range(count):
            solid = strap_solid(m, hole, long, (k, count))
            part = f" {k + 1}" if count > 1 else ""
            lap = " The laps go together with two M3 screws each." if count > 1 else ""
            told = Told(
                "stand",
                f"stand strap {hole.id}{part}",
                hole.id,
                f"Ties the stand's foot to the head flange at {hole.id}, so that the two cannot shift on the bench.",
                f"On the flange's tube side, bolted through {hole.id}; the block at its other end screwed to the foot.{lap}"
                " Off again once the foot is screwed to the bench.",
                (HOT[0], TONGUE) if count > 1 else HOT[:1],
            )
            made.append(printed(m, solid, told, frame, down=_UP))
    return made


def strap_solid(m: Manifold, hole: Hole, long: float, which: tuple[int, int]) -> bodies.Body:
    """One part of a strap along x: its block on the foot at 0, its hole for the stud at `long`; z = 0 on the flange."""
    high = m.head.thickness
    k, count = which
    wide, thick = STRAP
    round_ = CrossSection.circle(wide / 2, 48)
    bar = bodies.plate(CrossSection.batch_hull([round_, round_.translate((long, 0.0))]), 0.0, thick)
    if high > FOOT_THICK:
        bar = bodies.union([bar, bodies.plate(round_, FOOT_THICK - high, 0.5)])
    cutters = [
        bodies.cylinder((0.0, 0.0, -high - 1.0), _UP, SCREW / 2, high + thick + 2.0),
        bodies.cylinder((long, 0.0, -1.0), _UP, hole.diameter / 2, thick + 2.0),
    ]
    fit = m.workshop.fit
    far, half = 1e4, thick / 2
    joints = [long * i / count for i in range(1, count)]
    if k > 0:
        x = joints[k - 1]
        cutters += [
            bodies.box((-far, -far, -far), (x - LAP / 2 + fit, far, far)),
            bodies.box((-far, -far, -far), (x + LAP / 2 + fit, far, half)),
        ]
    if k < count - 1:
        x = joints[k]
        cutters += [
            bodies.box((x + LAP / 2, -far, -far), (far, far, far)),
            bodies.box((x - LAP / 2, -far, half), (far, far, far)),
        ]
    for x in joints:
        for side in (-1, 1):
            cutters.append(bodies.cylinder((x + side * LAP / 4, 0.0, -1.0), _UP, 1.7, thick + 2.0))
    start = joints[k - 1] if k else 0.0
    stop = joints[k] if k < count - 1 else long
    text = Frame(((start + stop) / 2, 0.0, thick), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), _UP)
    return bodies.minus(bar, *cutters, marks.flat(hole.id, text))


def _clear_of_ports(m: Manifold, end: Array, start: Array) -> bool:
    """Whether a strap from the post to a stud hole passes beside every port's tube."""
    way = end - start
    for port in m.ports:
        p = array(port.at)[:2]
        share = min(max(float((p - start) @ way) / float(way @ way), 0.0), 1.0)
        if float(np.linalg.norm(start + share * way - p)) < m.head.tube.radius + STRAP[0] / 2 + 1.0:
            return False
    return True


def _unit2(v: Array) -> Array:
    return np.asarray(v, dtype=float) / float(np.linalg.norm(v))


def _angle(a: Array, b: Array) -> float:
    return math.acos(max(-1.0, min(1.0, float(a @ b / (np.linalg.norm(a) * np.linalg.norm(b))))))


def _on_bench(flange: Flange, hole: Hole) -> Array:
    return flange.frame.out((*hole.at, flange.thickness))
