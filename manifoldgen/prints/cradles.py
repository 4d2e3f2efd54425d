"""Joint cradles: two pieces laid in one block, tangent and clocked, the joint open between them for the tacks.

          ╭─────╮     window     ╭─────╮
    ══════│═════│═══════╪════════│═════│══════   centreline through the joint
       ▁▁▁│▁▁▁▁▁│▁▁▁          ▁▁▁│▁▁▁▁▁│▁▁▁
       ▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔     rails beside the window, which is open underneath too

The trough is what the tubes leave when they are lifted straight up, so whatever way they bend they can be laid
in and taken out, and it prints without support. Which side is up is searched: the one on which the pieces
lie flattest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, first_square_to, rotated, unit, vec
from manifoldgen.manifold.model import Joint, Manifold, Piece
from manifoldgen.prints import bodies, marks
from manifoldgen.prints.aid import Told, printed
from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.aid_trouble import LEAST_OPEN, too_short
from manifoldgen.shop.aids import cradled

WINDOW = 25.0  # mm of joint left open; common practice, no source
HELD = 28.0  # mm of each piece that lies in the trough
LEAST_HELD = 8.0
STEP = 3.0  # mm between the sections a trough is made of
BASE = 4.0  # mm: plate under the troughs
RAIL = 9.0  # mm: beside the troughs, for clamp and mark
AIR = 1.0  # mm between the bench and what hangs out of the cradle
TIE = (6.0, 3.0)  # mm: tunnel for a cable tie, width and height
STEEPEST = 0.75  # sine of the climb at which a trough ends
FLAT = 0.35  # sine of a climb that costs nothing in the search
UP = (0.0, 0.0, 1.0)
_TURNS = 72
HOT = "Plastic: three or four quick tacks in the window only, let it cool between them, and take it off before welding."


@dataclass(frozen=True, eq=False)
class CradleSide:
    """One piece in a cradle, walked from the joint outwards.

    s : (n,) mm from the joint.  at, along : (n, 3) points and travel, in the cradle's axes or the bench's.
    opens, ends : where the trough begins and ends, mm.
    """

    piece: str
    radius: float
    s: Array
    at: Array
    along: Array
    opens: float
    ends: float

    def into(self, frame: Frame) -> CradleSide:
        """The same in a frame's coordinates."""
        along: Array = self.along @ frame.matrix
        return CradleSide(self.piece, self.radius, self.s, frame.into(self.at), along, self.opens, self.ends)

    @property
    def held(self) -> slice:
        """The stations that lie in the trough."""
        first, last = np.searchsorted(self.s, [self.opens - 1e-9, self.ends + 1e-9])
        return slice(int(first), int(last))


def cradles(m: Manifold) -> tuple[PrintedPart, ...]:
    """A cradle for every butt joint between two pieces of tube.

    Raises SolidError for a piece too short to be held, or a cradle that does not fit on the printer's bed.
    """
    return tuple(cradle(m, joint, *pieces) for joint, pieces in cradled(m))


def cradle(m: Manifold, joint: Joint, before: Piece, after: Piece) -> PrintedPart:
    """The cradle of one joint; `before` ends where `after` begins."""
    sides = (_side(m, before, ends=True), _side(m, after, ends=False))
    frame = seat(joint, sides)
    window = sides[0].opens + sides[1].opens
    short = f" The window is only {window:.0f} mm: a piece is short." if window < WINDOW - 0.05 else ""
    told = Told(
        "cradle",
        f"cradle {joint.id}",
        f"{joint.id} {before.id} {after.id}",
        f"Holds {before.id} and {after.id} in line and clocked for tacking {joint.id}.",
        f"Flat on the bench, clamped by its rail. Lay {before.id} and {after.id} each on the side marked with it, butted in the"
        f" middle of the window, back lines meeting as scribed; a cable tie through each tunnel.{short}",
        (HOT,),
    )
    return printed(m, cradle_solid(m, joint, sides, frame), told, frame)


def _side(m: Manifold, piece: Piece, *, ends: bool) -> CradleSide:
    path = piece.path
    if path is None:
        raise ValueError(f"{piece.id} is no tube")
    taken = m.cutting.of(piece.id)
    radius = (taken.item.od if taken else piece.section.od) / 2
    if told := too_short(piece, ends=ends):
        raise SolidError("cradle", told)
    whole = path.length + (0.0 if ends else piece.leg)
    opens = max(LEAST_OPEN, min(WINDOW / 2, whole - LEAST_HELD))
    most = min(opens + HELD, whole)
    s = _stations(path, [0.0, opens, most, whole], ends=ends)
    places = path.length - s if ends else s
    at = np.array([path.point(float(p)) for p in places])
    travel = np.array([path.tangent(float(p)) for p in places])
    at += travel * np.maximum(places - path.length, 0.0)[:, None]  # an inlet's leg runs straight on
    return CradleSide(piece.id, radius, s, at, -travel if ends else travel, opens, most)


def _stations(path: Path, fixed: list[float], *, ends: bool) -> Array:
    """Arc lengths from the joint: the fixed ones, and every `STEP` mm of the bends."""
    found, reached = list(fixed), 0.0
    for segment in path.segments[::-1] if ends else path.segments:
        count = math.ceil(segment.length / STEP) if isinstance(segment, Arc) else 1
        found += [reached + segment.length * k / count for k in range(count + 1)]
        reached += segment.length
    inner = [s for s in found if all(abs(s - f) > STEP / 3 for f in fixed)]
    return np.unique(np.round([*inner, *fixed], 9))


def seat(joint: Joint, sides: tuple[CradleSide, CradleSide]) -> Frame:
    """The cradle's axes: origin at the joint, x with the gas, z the way the pieces are lifted out."""
    along = unit(joint.direction)
    first = first_square_to(((0.0, 0.0, 1.0), (1.0, 0.0, 0.0)), along)
    best: tuple[float, Array] | None = None
    for k in range(_TURNS):
        up = rotated(first, along, 360.0 * k / _TURNS)
        climb = max(float(np.abs(s.along[: s.held.stop] @ up).max()) for s in sides)
        low = min(float(((s.at - array(joint.at)) @ up).min()) for s in sides)
        score = 400.0 * max(0.0, climb - FLAT) - low
        if best is None or score < best[0] - 1e-6:
            best = (score, up)
    up = best[1] if best else first
    return Frame(joint.at, vec(along), vec(np.cross(up, along)), vec(up))


def cradle_solid(
    m: Manifold, joint: Joint, sides: tuple[CradleSide, CradleSide], frame: Frame
) -> bodies.Body:
    """A cradle in its own axes (`seat`)."""
    placed = [s.into(frame) for s in sides]
    fit, thick = m.workshop.fit, m.workshop.sound_wall
    bore = max(s.radius for s in placed) + fit
    wide = bore + thick
    floor = min(
        min(
            float(s.at[s.held, 2].min()) - bore - BASE - TIE[1] - thick,
            float(s.at[:, 2].min()) - s.radius - AIR,
        )
        for s in placed
    )
    blocks = [_block(s, wide, floor) for s in placed]
    body = bodies.union(blocks)
    x0, y0, _, x1, y1, _ = body.bounding_box()
    y0, y1 = min(y0, -wide - 2.0) - RAIL, max(y1, wide + 2.0) + RAIL
    plate = bodies.box((x0, y0, floor), (x1, y1, floor + BASE))
    window = bodies.box((-placed[0].opens, -wide - 2.0, floor - 1), (placed[1].opens, wide + 2.0, 4 * wide))
    cutters = [
        window,
        *(_lifted(s, s.radius + fit) for s in placed),
        *(_tunnel(s, floor, wide) for s in placed if s.ends - s.opens > 2 * TIE[0]),
    ]
    half = (x1 - x0) / 2 - 2.0
    for text, room, at in (
        (joint.id, 2 * half, ((x0 + x1) / 2, y1 - RAIL / 2)),
        (placed[0].piece, half, ((3 * x0 + x1) / 4, y0 + RAIL / 2)),
        (placed[1].piece, half, ((x0 + 3 * x1) / 4, y0 + RAIL / 2)),
    ):
        place = Frame((*at, floor + BASE), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), UP)
        cutters.append(marks.flat(text, place, min(6.0, 6.0 * room / marks.width(text))))
    made = bodies.minus(bodies.union([body, plate]), *cutters)
    return max(
        made.decompose(), key=lambda b: b.volume()
    )  # a corner of a trough may be cut loose by the window


def _block(side: CradleSide, wide: float, floor: float) -> bodies.Body:
    """What stands under one piece: upright sections from the floor to the centreline."""
    at, along = side.at[side.held], side.along[side.held]
    steep = np.flatnonzero(np.abs(along[:, 2]) > STEEPEST)
    count = max(2, int(steep[0])) if len(steep) else len(at)
    rings = []
    for p, t in zip(at[:count], along[:count], strict=True):
        left = wide * unit(np.cross(UP, t))
        low_right, low_left = p - left, p + left
        low_right[2] = low_left[2] = floor
        rings.append(np.array([p - left, low_right, low_left, p + left]))
    return bodies.loft(_spared(rings, along[:count]))


def _lifted(side: CradleSide, radius: float) -> bodies.Body:
    """All that a piece passes through when it is lifted straight up, with `radius`.

    A round is widest where its skin is plumb: under that its lower half, above it plumb walls.
    """
    n = bodies.facets(radius) // 2
    out = bodies.corner_radius(radius, 2 * n)
    turn = np.linspace(math.pi, 2 * math.pi, n + 1)[:, None]
    at = np.concatenate([side.at[:1] - side.along[:1], side.at, side.at[-1:] + 2.0 * side.along[-1:]])
    along = np.concatenate([side.along[:1], side.along, side.along[-1:]])
    top = float(at[:, 2].max()) + 2 * radius
    rings = []
    for p, t in zip(at, along, strict=True):
        left = unit(np.cross(UP, t))
        half = p + out * (np.cos(turn) * left + np.sin(turn) * np.cross(t, left))
        above = half[[-1, 0]]
        above[:, 2] = top
        rings.append(np.concatenate([half, above]))
    return bodies.loft(_spared(rings, along))


def _spared(rings: list[Array], along: Array) -> list[Array]:
    """The rings without those inside a straight."""
    turns = np.linalg.norm(np.diff(along, axis=0), axis=1) > 1e-9
    inner = np.flatnonzero(turns[:-1] | turns[1:]) + 1
    return [rings[k] for k in (0, *inner.tolist(), len(rings) - 1)]


def _tunnel(side: CradleSide, floor: float, wide: float) -> bodies.Body:
    """The way of a cable tie under the middle of a trough."""
    middle = (side.opens + side.ends) / 2
    at = [float(np.interp(middle, side.s, side.at[:, i])) for i in (0, 1)]
    x = unit([*(np.interp(middle, side.s, side.along[:, i]) for i in (0, 1)), 0.0])
    place = Frame((at[0], at[1], floor + BASE), vec(x), vec(np.cross(UP, x)), UP)
    return bodies.box((-TIE[0] / 2, -3 * wide, 0.0), (TIE[0] / 2, 3 * wide, TIE[1]), place)
