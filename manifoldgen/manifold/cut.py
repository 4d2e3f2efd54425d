"""What is cut and welded: stock, pieces and the joints between them; frozen numbers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from manifoldgen.errors import Where
from manifoldgen.geometry.path import Path
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.bolted import Section

RunKind = Literal["runner", "outlet", "wastegate"]
PieceRole = Literal["tube", "inlet", "lid", "plate", "cone"]
JointKind = Literal[
    "flange", "butt", "crotch", "inner seam", "star", "lid", "plate", "cone", "saddle"
]  # fmt: skip


JOINT_WORDS: dict[JointKind, str] = {  # as the shop says it
    "flange": "tube to flange",
    "butt": "butt",
    "crotch": "outer valley",
    "inner seam": "inner seam",
    "star": "centre point",
    "lid": "inlets to transition plate",
    "plate": "inlet to plate",
    "cone": "cone to plate",
    "saddle": "saddle",
}
COLLECTOR_WORDS = {"merge": "merge collector", "bundle": "plate collector"}  # by its kind
ROLE_WORDS: dict[PieceRole, str] = {
    "tube": "tube",
    "inlet": "inlet",
    "lid": "transition plate",
    "plate": "plate",
    "cone": "cone",
}


@dataclass(frozen=True)
class Owner:
    """The run or the collector that a piece or a joint belongs to.

    name : the run's (``runner 2``) or the collector's (``A``).
    """

    kind: RunKind | Literal["collector"]
    name: str


@dataclass(frozen=True)
class StockItem:
    """What can be bought or lies on the shelf.

    kind : ``elbow`` (arc without legs, may be cut anywhere), ``bend`` (arc with straight legs) or
        ``straight``.  tube : ``runner``, ``outlet`` or ``wastegate``.  od, wall : the item's own.
    clr, angle : of the arc.  legs : straight ends, mm.  whole : True for a bought elbow that is not a
        plain arc (centre_to_end given): it is used whole, as legs + arc, and never cut shorter.
    count : how many there are; None where as many can be had as are wanted.
    """

    name: str
    kind: Literal["elbow", "bend", "straight"]
    tube: RunKind
    od: float
    wall: float
    clr: float = 0.0
    angle: float = 0.0
    legs: tuple[float, float] = (0.0, 0.0)
    length: float = 0.0
    whole: bool = False
    price: float | None = None
    count: int | None = None
    where: Where | None = None


@dataclass(frozen=True)
class Piece:
    """One piece to cut: a bend, a straight, a straight with its mitred inlet, the lid, the cone.

    id : ``R2-P3``, ``O-P1``, ``W-P1``, ``C-P1``.  part : the part it is listed under (``runner 2``, ``collector``).
    elements : the elements' numbers in the run's path that it covers (0-based).
    path : its own centreline, up to the ring plane (lid and cone: None).  stock : name of the stock item,
        or None.
    inlet : the cylinder whose collector inlet is part of it, or 0.
    leg : centreline of that inlet from the ring plane to the flat cut, mm, not counted in `path`.
    joints : the welds at its start and at its end (a mitred inlet: both its crotches).
    role : a plain ``tube``; an ``inlet``, the tube that ends in a collector; a merge collector's ``lid``, a bundle's
        ``plate``, a collector's ``cone``.
    owner : the run or the collector it belongs to.  number : which of the owner's pieces, from 1.
    """

    id: str
    part: str
    path: Path | None
    section: Section
    elements: tuple[int, ...] = ()
    stock: str | None = None
    inlet: int = 0
    joints: tuple[str, ...] = ()
    leg: float = 0.0
    role: PieceRole = field(kw_only=True)
    owner: Owner = field(kw_only=True)
    number: int = field(kw_only=True)


@dataclass(frozen=True)
class Joint:
    """A weld: id, place (for a butt ring: centre and travel), the two things it joins.

    kind : ``lid`` is all inlets of a merge collector on its lid, ``plate`` one inlet of a bundle in its plate.
    owner : the run it lies on, or the collector whose inlets, lid, plate and cone it joins.
    """

    id: str
    kind: JointKind
    at: Vec
    direction: Vec
    radius: float
    between: tuple[str, str]
    owner: Owner = field(kw_only=True)


@dataclass(frozen=True)
class Slice:
    """A piece as it lies in the stock item it is cut from.

    at : where it begins in the item: degrees of the arc, or mm of a bar.  angle : degrees of arc (0 from a
    bar).  legs : straight it takes at its beginning and its end, mm as cut (from a bar: its length, 0).
    turned : it lies the other way round in the item: its downstream end first.
    """

    piece: str
    at: float
    angle: float
    legs: tuple[float, float]
    turned: bool = False


@dataclass(frozen=True)
class Taken:
    """One elbow, bend or bar taken from stock and what comes out of it, in cut order.

    number : counts the items of that name, from 1.  kerf : mm of saw and truing between two pieces.
    kerf_deg : what that takes of the arc (0 for a bar).  left : what is left over: degrees, or mm of a bar.
    """

    item: StockItem
    number: int
    slices: tuple[Slice, ...]
    kerf: float
    kerf_deg: float
    left: float


@dataclass(frozen=True)
class CuttingPlan:
    """What is taken from stock: arcs first, then bars, in the order of the stock list.

    missing : pieces that stock does not give.  cost : of what is taken, None where a price is not known.
    proven : the fewest pieces, then the least cost, then the least waste; False where the search was cut short.
    """

    taken: tuple[Taken, ...] = ()
    missing: tuple[str, ...] = ()
    cost: float | None = 0.0
    proven: bool = True

    def of(self, piece: str) -> Taken | None:
        """The item a piece is cut from."""
        return next((t for t in self.taken if any(s.piece == piece for s in t.slices)), None)
