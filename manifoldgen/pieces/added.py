"""What a piece is cut longer than net, at each end: for shrink, for the shape of its end, for trimming.

Only a straight can be longer than net. Half of what a weld draws in is added on each side of it, all of it on one
side where only that side has a straight; where neither has, it is made good on the jig.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from manifoldgen.geometry.path import Straight
from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.model import Joint, Manifold, Piece, Run
from manifoldgen.pieces.blanks import inlet_of
from manifoldgen.pieces.ends import formed, past_end, past_start
from manifoldgen.pieces.part import SLIVER
from manifoldgen.pieces.trims import trim_of

DRAWING = frozenset({"butt", "flange"})  # kinds of joint that draw a tube shorter


@dataclass(frozen=True)
class Added:
    """mm at the piece's start and at its end.

    shrink : for what the welds draw in.  beyond : metal past the centreline's end: a slanted face, a socket, a
    mitre, a saddle.  trim : taken off when it is fitted.
    blank : what an inlet is sawn to before its end is milled, mm: a straight all of it, a bent piece from the end
    of its bend; 0 where nothing is milled.
    """

    shrink: tuple[float, float]
    beyond: tuple[float, float]
    trim: tuple[float, float]
    blank: float = 0.0

    @property
    def ends(self) -> tuple[float, float]:
        """All of it at each end."""
        return (
            self.shrink[0] + self.beyond[0] + self.trim[0],
            self.shrink[1] + self.beyond[1] + self.trim[1],
        )

    @property
    def left_on(self) -> float:
        """Of it, mm at the start that stay on past the joint's line: shrink and trim."""
        return self.shrink[0] + self.trim[0]

    def sawn(self, net: float) -> float:
        """What a straight of `net` mm is sawn to, mm."""
        return self.blank or net + sum(self.ends)


def added_to(m: Manifold) -> dict[str, Added]:
    """What is added to every piece of tube of a manifold that is cut up, by its id."""
    return added(m, m.pieces, m.joints, {s.piece for t in m.cutting.taken if t.item.whole for s in t.slices})


def added(
    m: Manifold, pieces: Sequence[Piece], joints: Sequence[Joint], uncut: Collection[str]
) -> dict[str, Added]:
    """What is added to every piece of tube, by its id.  uncut : pieces that are bought elbows, used whole."""
    allowed = Allowances.of(m.tables)
    tubes = [p for p in pieces if p.path is not None]
    first, last = {p.part: p.id for p in reversed(tubes)}, {p.part: p.id for p in tubes}
    runs = {r.name: r for r in m.runs}
    straight = {p.id: (False, False) if p.id in uncut else straight_ends(p) for p in tubes}
    shrink = _shrink(tubes, joints, straight, allowed)
    made: dict[str, Added] = {}
    for p in tubes:
        run = runs[p.part]
        start = past_start(m, run) if p.id == first[p.part] and straight[p.id][0] else 0.0
        end = past_end(m, run) if p.id == last[p.part] and straight[p.id][1] else 0.0
        trim = trim_of(m, run, allowed) if p.id == last[p.part] else 0.0
        at = 0 if p.inlet and p.leg else 1  # a mitre is cut to size, the other end of its tube is trimmed
        trims = (trim if at == 0 and straight[p.id][0] else 0.0, trim if at and straight[p.id][1] else 0.0)
        one = Added(shrink[p.id], (start, end), trims)
        head = past_start(m, run) - formed(m) if p.id == first[p.part] else 0.0
        made[p.id] = replace(one, blank=_blank(m, p, run, head, one.left_on))
    return made


def _blank(m: Manifold, piece: Piece, run: Run, head: float, left_on: float) -> float:
    """The blank of a piece with a milled inlet, mm, or 0.  head : tube ahead of the run's centreline, mm."""
    blank = inlet_of(m, run) if piece.inlet else None
    if blank is None or piece.path is None:
        return 0.0
    before = 0.0
    for element in reversed(piece.path.elements):
        if not isinstance(element, Straight):
            return blank.from_line(before)
        before += element.length
    return blank.length(before + head, left_on)


def straight_ends(piece: Piece) -> tuple[bool, bool]:
    """Whether the piece begins and ends with a straight."""
    path = piece.path
    if path is None:
        return (False, False)
    kept = [e for e in path.elements if not isinstance(e, Straight) or e.length > SLIVER]
    if not kept or piece.leg > SLIVER:
        return (not kept or isinstance(kept[0], Straight), True)
    return isinstance(kept[0], Straight), isinstance(kept[-1], Straight)


def _shrink(
    tubes: Sequence[Piece],
    joints: Sequence[Joint],
    straight: dict[str, tuple[bool, bool]],
    allowed: Allowances,
) -> dict[str, tuple[float, float]]:
    drawing = {j.id for j in joints if j.kind in DRAWING}
    giving: dict[str, list[tuple[str, int]]] = {}
    for p in tubes:
        for end, joint in enumerate(p.joints[:1] if p.inlet and p.leg else p.joints[:2]):
            if joint in drawing and straight[p.id][end]:
                giving.setdefault(joint, []).append((p.id, end))
    made = {p.id: [0.0, 0.0] for p in tubes}
    walls = {p.id: p.section.wall for p in tubes}
    for ends in giving.values():
        for piece, end in ends:
            made[piece][end] = allowed.shrink(walls[piece]) / len(ends)
    return {piece: (a, b) for piece, (a, b) in made.items()}
