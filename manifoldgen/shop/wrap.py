"""A wrap template as numbers: the cut's edge round one tube, measured from a place the shop can find."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.model import Section
from manifoldgen.shop import developed

Kind = Literal["inlet", "mitre", "saddle"]
Side = Literal["downstream", "upstream"]


_DATUM = {
    "end": "square end",
    "line": "line",
    "bend start": "start of the bend",
    "bend end": "end of the bend",
}


@dataclass(frozen=True)
class Datum:
    """What the lengths of a template or of a mill set-up are measured from.

    kind : the square ``end`` of a piece; a ``line`` scribed where that end comes to lie; where a bend has its
        ``bend start`` or ``bend end``.
    joint : at a square end or a line.  scribed : mm from the sawn end to the line.
    """

    kind: Literal["end", "line", "bend start", "bend end"]
    joint: str = ""
    scribed: float = 0.0

    @property
    def square(self) -> bool:
        """Whether it is a square end."""
        return self.kind == "end"

    @property
    def name(self) -> str:
        """What it is called."""
        return f"{_DATUM[self.kind]} {self.joint}".rstrip()

    @property
    def line(self) -> str:
        """What it is called on the blank, where a square end is a scribed line."""
        return replace(self, kind="line").name if self.square else self.name

    @property
    def words(self) -> str:
        """Its name, and how a line is found on the blank."""
        if self.kind == "line":
            return f"{self.name}, scribed {self.scribed:.1f} mm from the sawn end"
        return self.name


@dataclass(frozen=True)
class WrapMark:
    """A line along the tube that the template names.

    at : degrees from the back line.  kind : one of the four ``side`` lines, the back of a ``bend``, the ``joint`` at
    a scallop.  text : its name; shorter : the same for where there is less room, the longest first.
    """

    at: float
    kind: Literal["side", "bend", "joint"]
    text: str
    shorter: tuple[str, ...] = ()

    @classmethod
    def side(cls, at: float, name: str = "", what: str = "") -> WrapMark:
        """A side line: its degrees, ``0 back``, ``0 back: outermost``."""
        degrees = f"{at:.0f}"
        plain = f"{degrees} {name}".rstrip()
        names = (f"{plain}: {what}" if what else plain, plain, degrees)
        return cls(at, "side", names[0], tuple(dict.fromkeys(n for n in names[1:] if n != names[0])))

    @classmethod
    def bend(cls, at: float, where: str) -> WrapMark:
        """The back of the bend ``before`` or ``behind``."""
        return cls(at, "bend", f"bend {where}: its back", (f"bend {where}", "bend"))


@dataclass(frozen=True, eq=False)
class Wrap:
    """One template.

    name : what is cut, in words.  pieces : ids it is for; they are all cut alike.  joints : welds on the cut.
    phi : degrees from the back line, counter-clockwise seen from the downstream end, 0 to 360.
    outside, inside : the cut's two edges, mm along the tube from the datum, downstream positive.
    cut : where the cut is made, straight through the wall: on the outside where a saw or cutter follows the
        plane; on a saddle the one of the two that stands further out, so that one edge touches and the
        other leaves the weld its gap.
    waste : which side of the cut falls off.
    datum : the square end (or tangent point) everything is measured from, with its joint.
    frame : at the datum on the centreline; x to the back line, z downstream.
    marks : the named lines.  paper : mm of its thickness.
    """

    name: str
    kind: Kind
    pieces: tuple[str, ...]
    joints: tuple[str, ...]
    section: Section
    phi: Array
    outside: Array
    inside: Array
    cut: Array
    waste: Side
    datum: Datum
    frame: Frame
    marks: tuple[WrapMark, ...]
    paper: float
    notes: tuple[str, ...] = ()

    @property
    def off(self) -> int:
        """How many pieces are cut by it."""
        return len(self.pieces)

    @property
    def od(self) -> float:
        """The tube's outside diameter, mm."""
        return self.section.od

    @property
    def girth(self) -> float:
        """Length of the paper once round, mm: the middle of the paper, half its thickness off the tube."""
        return float(np.pi * (self.od + self.paper))

    @cached_property
    def nearest(self) -> float:
        """Distance from the datum to the cut's nearest point, mm."""
        return float(np.abs(self.cut).min())

    @cached_property
    def farthest(self) -> float:
        """Distance from the datum to the cut's farthest point, mm."""
        return float(np.abs(self.cut).max())

    @property
    def length(self) -> float:
        """Length of the outside edge, mm."""
        return developed.length(self.phi, self.outside, self.section.radius)

    def points(self, *, mirrored: bool = False) -> Array:
        """The outside edge wrapped round the tube in its place, bench frame, (n, 3) mm.

        mirrored : as a print turned inside out would lie.
        """
        turn = np.radians(-self.phi if mirrored else self.phi)
        r = self.section.radius
        return self.frame.out(np.stack([r * np.cos(turn), r * np.sin(turn), self.outside], axis=1))
