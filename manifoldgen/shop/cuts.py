"""The cut list: every piece of tube, what it is cut from, and its net length apart from what is added to it.

    net ── along the finished tube, to the flat cut of an inlet
    + shrink ── what the welds at its ends draw in
    + beyond ── metal past the centreline's end: a slanted face, a socket, a mitre, a saddle
    + trim ── on the last piece of each runner, taken off on the jig
    = cut

Only a straight end can be longer than net; what a joint between two arcs draws in is made good on the jig.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from manifoldgen.geometry.path import Arc, Line
from manifoldgen.manifold.model import Manifold, Piece
from manifoldgen.pieces.allowances import Allowances
from manifoldgen.pieces.part import SLIVER
from manifoldgen.shop.ends import beyond


@dataclass(frozen=True)
class CutRow:
    """One piece to cut; mm along the centreline unless said.

    stock, number : name of the item and which of them (None and 0 where stock has none).  od, wall : of the item.
    angle : degrees of bend kept, 0 for a straight.  clr : of the bend, 0 for a straight.
    before, after : net straight before and after the bend (a straight has all of it before); an inlet's
        tube counts to its flat cut.
    back, centre, throat : along the bend alone, outside, middle, inside.  back_chord, throat_chord : with calipers.
    roll : degrees from the back line of the previous bend, right-handed about the travel; roll_mm : the same
        round the outside.
    net, shrink, beyond, trim, cut : as above.  add : what of it is added at the start and at the end.
    inlet : the cylinder whose mitred inlet it is, or 0.  joints : at its start and its end.
    """

    piece: str
    part: str
    stock: str | None
    number: int
    od: float
    wall: float
    angle: float
    clr: float
    before: float
    after: float
    back: float
    centre: float
    throat: float
    back_chord: float
    throat_chord: float
    roll: float
    roll_mm: float
    net: float
    shrink: float
    beyond: float
    trim: float
    cut: float
    add: tuple[float, float]
    inlet: int
    joints: tuple[str, ...]


def cut_list(m: Manifold) -> tuple[CutRow, ...]:
    """A row for every piece of tube, in the order of the pieces (lid and cone have none)."""
    allowed = Allowances.of(m.tables)
    tubes = [p for p in m.pieces if p.path is not None]
    shares = _shares(m, tubes, allowed)
    last = {p.part: p.id for p in tubes if p.part.startswith("runner")}
    return tuple(_row(m, p, shares[p.id], allowed.trim if last.get(p.part) == p.id else 0.0) for p in tubes)


def shrink_left(m: Manifold) -> dict[str, float]:
    """By runner (and outlet, branch): shrink that no straight beside the joint makes good, for the jig, mm."""
    allowed = Allowances.of(m.tables)
    given = {row.part: 0.0 for row in cut_list(m)}
    for row in cut_list(m):
        given[row.part] += row.shrink
    return {part: max(0.0, _drawn(m, part, allowed) - made) for part, made in given.items()}


def _drawn(m: Manifold, part: str, allowed: Allowances) -> float:
    """What all butt joints of a part draw in together, mm."""
    names = {j for p in m.pieces if p.part == part for j in p.joints}
    wall = next(p.section.wall for p in m.pieces if p.part == part)
    return sum(allowed.shrink(wall) for j in m.joints if j.id in names and j.kind in {"butt", "flange"})


def _shares(m: Manifold, tubes: list[Piece], allowed: Allowances) -> dict[str, tuple[float, float]]:
    """What each piece is lengthened by for the shrink of the joints at its start and its end, mm.

    Half of a joint's shrink on each side; all of it on one where only that side has a straight.
    """
    stretch = {(p.id, end): _stretches(m, p, end) for p in tubes for end in (0, 1)}
    shrinking = {j.id for j in m.joints if j.kind in {"butt", "flange"}}
    sides: dict[str, list[tuple[str, int]]] = {}
    for p in tubes:
        for end, joint in enumerate(p.joints[:2]):
            if joint in shrinking and not (p.inlet and end):
                sides.setdefault(joint, []).append((p.id, end))
    made = {p.id: [0.0, 0.0] for p in tubes}
    wall = {p.id: p.section.wall for p in tubes}
    for ends in sides.values():
        giving = [e for e in ends if stretch[e]]
        for piece, end in giving:
            made[piece][end] = allowed.shrink(wall[piece]) / len(giving)
    return {k: (a, b) for k, (a, b) in made.items()}


def _stretches(m: Manifold, piece: Piece, end: int) -> bool:
    """Whether the piece has a straight at that end that can be cut longer."""
    taken = m.cutting.of(piece.id)
    if piece.path is None or (taken is not None and taken.item.whole):
        return False
    before, after, _ = _shape(piece)
    bent = bool(piece.path.bends)
    return (before if end == 0 or not bent else after) > SLIVER


def _row(m: Manifold, piece: Piece, shrink: tuple[float, float], trim: float) -> CutRow:
    before, after, arc = _shape(piece)
    taken = m.cutting.of(piece.id)
    od, wall = (taken.item.od, taken.item.wall) if taken else (piece.section.od, piece.section.wall)
    angle, clr = (arc.angle, arc.clr) if arc else (0.0, 0.0)
    turn = math.radians(angle)
    half = 2 * math.sin(turn / 2)
    roll = piece.path.bends[0].roll if piece.path and arc else 0.0
    past = beyond(m, piece)
    net = before + after + turn * clr
    trimmed = (
        (trim, 0.0) if piece.inlet else (0.0, trim)
    )  # a mitre is cut to size, its tube's other end is not
    add = tuple(shrink[i] + past[i] + trimmed[i] for i in (0, 1))
    return CutRow(
        piece=piece.id, part=piece.part, stock=piece.stock, number=taken.number if taken else 0, od=od, wall=wall,
        angle=angle, clr=clr, before=before, after=after,
        back=turn * (clr + od / 2), centre=turn * clr, throat=turn * (clr - od / 2),
        back_chord=half * (clr + od / 2), throat_chord=half * (clr - od / 2),
        roll=roll, roll_mm=math.radians(roll) * od / 2,
        net=net, shrink=sum(shrink), beyond=sum(past), trim=trim, cut=net + sum(add), add=(add[0], add[1]),
        inlet=piece.inlet, joints=piece.joints,
    )  # fmt: skip


def _shape(piece: Piece) -> tuple[float, float, Arc | None]:
    """Straight before the bend and after it, mm, and the bend; a straight piece has all of it before."""
    lengths = [0.0, 0.0]
    arc: Arc | None = None
    for segment in piece.path.segments if piece.path else ():
        if isinstance(segment, Line):
            lengths[arc is not None] += segment.length
        else:
            arc = segment
    lengths[arc is not None] += piece.leg
    return lengths[0], lengths[1], arc
