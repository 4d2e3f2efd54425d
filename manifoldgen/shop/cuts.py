"""The cut list: every piece of tube, what it is cut from, and its net length apart from what is added to it.

    net ── along the finished tube, to the flat cut of an inlet
    + shrink ── what the welds at its ends draw in
    + beyond ── metal past the centreline's end: a slanted face, a socket, a mitre, a saddle
    + trim ── on the last piece of each runner, taken off on the jig; on what closes on a surveyed turbo, on the engine
    = cut

Only a straight end can be longer than net; what a joint between two arcs draws in is made good on the jig.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from manifoldgen.geometry.path import Arc, Line
from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.known import closing, end_error
from manifoldgen.manifold.model import Manifold, Piece
from manifoldgen.pieces.added import DRAWING, Added, added_to
from manifoldgen.pieces.part import SLIVER


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
    left_on : of that, at the start past the joint's line: shrink and trim.
    survey : of the trim, what is there because the survey leaves the turbo's place open by as much.
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
    survey: float
    cut: float
    add: tuple[float, float]
    left_on: float
    inlet: int
    joints: tuple[str, ...]

    @property
    def comes_off(self) -> tuple[float, float]:
        """The least and the most of its trim that comes off, wherever the survey leaves the turbo, mm."""
        return self.trim - self.survey, self.trim + self.survey


def cut_list(m: Manifold) -> tuple[CutRow, ...]:
    """A row for every piece of tube, in the order of the pieces (lid and cone have none)."""
    grown = added_to(m)
    return tuple(_row(m, p, grown[p.id]) for p in m.pieces if p.path is not None)


def shrink_left(m: Manifold) -> dict[str, float]:
    """By run: what its welds draw in that no straight beside them makes good, for the jig, mm."""
    allowed = Allowances.of(m.tables)
    drawn: dict[str, float] = {p.part: 0.0 for p in m.pieces if p.path is not None}
    for piece in m.pieces:
        if piece.path is not None:
            first = [j for j in m.joints if j.id in piece.joints[:1] and j.kind in DRAWING]
            drawn[piece.part] += allowed.shrink(piece.section.wall) * len(first)
    ends = {p.part: p for p in m.pieces if p.path is not None}
    for part, piece in ends.items():
        last = [j for j in m.joints if j.id in piece.joints[1:] and j.kind in DRAWING]
        drawn[part] += allowed.shrink(piece.section.wall) * len(last)
    for name, more in added_to(m).items():
        part = next(p.part for p in m.pieces if p.id == name)
        drawn[part] -= sum(more.shrink)
    return {part: left if left > SLIVER else 0.0 for part, left in drawn.items()}


def _row(m: Manifold, piece: Piece, more: Added) -> CutRow:
    before, after, arc = _shape(piece)
    taken = m.cutting.of(piece.id)
    od, wall = (taken.item.od, taken.item.wall) if taken else (piece.section.od, piece.section.wall)
    angle, clr = (arc.angle, arc.clr) if arc else (0.0, 0.0)
    turn = math.radians(angle)
    half = 2 * math.sin(turn / 2)
    roll = piece.path.bends[0].roll if piece.path and arc else 0.0
    net = before + after + turn * clr
    trim = sum(more.trim)
    run = m.run_of(piece.owner)
    survey = end_error(m, run)[0] if run and trim and run.name in closing(m) else 0.0
    return CutRow(
        piece=piece.id, part=piece.part, stock=piece.stock, number=taken.number if taken else 0, od=od, wall=wall,
        angle=angle, clr=clr, before=before, after=after,
        back=turn * (clr + od / 2), centre=turn * clr, throat=turn * (clr - od / 2) if arc else 0.0,
        back_chord=half * (clr + od / 2), throat_chord=half * (clr - od / 2) if arc else 0.0,
        roll=roll, roll_mm=math.radians(roll) * od / 2,
        net=net, shrink=sum(more.shrink), beyond=sum(more.beyond), trim=trim, survey=survey, cut=net + sum(more.ends),
        add=more.ends, left_on=more.left_on,
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
