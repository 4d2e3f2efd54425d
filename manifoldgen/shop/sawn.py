"""What the saw takes off the stock: cut lengths, and the longer blanks of inlets that go to the mill first.

    blank of an inlet   |<- hold ->|<- left on ->| joint's line ...... mill's cuts |<- spare ->|

hold : sawn off after milling.  left on : shrink and what is trimmed on the jig.  The mill measures from the joint's line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.mill import MillInlet, MillSheet


@dataclass(frozen=True)
class Sawn:
    """One piece as it is sawn, mm.

    before, after : straight before and after its bend (a straight piece has all of it before).
    line : from the sawn end to the line the mill measures from; None where nothing is milled from a square end.
    hold : of that, sawn off after milling.
    """

    piece: str
    before: float
    after: float
    line: float | None = None
    hold: float = 0.0

    @property
    def more(self) -> bool:
        """Whether it is a blank for the mill."""
        return self.line is not None


def sawn(cuts: Sequence[CutRow], mill: Sequence[MillSheet]) -> dict[str, Sawn]:
    """Every piece of tube of a cut list as it is sawn, by its id; blanks as the mill sheets ask for them."""
    milled = {i.piece: i for sheet in mill for i in sheet.inlets}
    return {row.piece: _sawn(row, milled.get(row.piece)) for row in cuts}


def _sawn(row: CutRow, inlet: MillInlet | None) -> Sawn:
    plain = Sawn(row.piece, row.cut, 0.0) if not row.angle else _bent(row)
    if inlet is None:
        return plain
    if not inlet.datum.square:
        return Sawn(row.piece, plain.before, max(plain.after, inlet.blank))
    if row.angle:
        return plain
    return Sawn(row.piece, inlet.blank, 0.0, inlet.extra, inlet.extra - inlet.left_on)


def _bent(row: CutRow) -> Sawn:
    """A leg that is not there gets nothing added: shrink beside a bend is made good on the jig."""
    before = row.before + row.add[0] if row.before > _NONE else 0.0
    return Sawn(row.piece, before, row.after + row.add[1] if row.after > _NONE else 0.0)


_NONE = 0.005  # mm
