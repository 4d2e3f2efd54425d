"""A wrap template as numbers: the cut's edge round one tube, measured from a place the shop can find."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.model import Section
from manifoldgen.shop import developed

Kind = Literal["inlet", "mitre", "saddle"]
Side = Literal["downstream", "upstream"]


@dataclass(frozen=True)
class WrapMark:
    """A line along the tube that the template names.  at : degrees from the back line."""

    at: float
    text: str


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
    datum: str
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
