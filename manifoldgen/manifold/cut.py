"""What is cut and welded: stock, pieces and the joints between them; frozen numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from manifoldgen.errors import Where
from manifoldgen.geometry.path import Path
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.bolted import Section

RunKind = Literal["runner", "outlet", "wastegate"]


@dataclass(frozen=True)
class StockItem:
    """What can be bought or lies on the shelf.

    kind : ``elbow`` (arc without legs, may be cut anywhere), ``bend`` (arc with straight legs) or
        ``straight``.  tube : ``runner``, ``outlet`` or ``wastegate``.  od, wall : the item's own.
    clr, angle : of the arc.  legs : straight ends, mm.  whole : True for a bought elbow that is not a
        plain arc (centre_to_end given): it is used whole, as legs + arc, and never cut shorter.
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
    where: Where | None = None


@dataclass(frozen=True)
class Piece:
    """One piece to cut: a bend, a straight, a straight with its mitred inlet, the lid, the cone.

    id : ``R2-P3``, ``O-P1``, ``W-P1``, ``C-P1``.  part : the part it belongs to (``runner 2``).
    elements : the elements' numbers in the run's path that it covers (0-based).
    path : its own centreline, up to the ring plane (lid and cone: None).  stock : name of the stock item,
        or None.
    inlet : the cylinder whose collector inlet is part of it, or 0.
    leg : centreline of that inlet from the ring plane to the flat cut, mm, not counted in `path`.
    joints : the welds at its start and at its end (a mitred inlet: both its crotches).
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


@dataclass(frozen=True)
class Joint:
    """A weld: id, place (for a butt ring: centre and travel), the two things it joins."""

    id: str
    kind: Literal["flange", "butt", "crotch", "inner seam", "star", "lid", "cone", "saddle"]
    at: Vec
    direction: Vec
    radius: float
    between: tuple[str, str]
