"""The shop's tables of a job, each worked out once: cuts, marks, mill, templates, plates, welds.

cut list ─┬─ marks, what errors cost, rounding
├─ mill sheets ── blanks as sawn ── templates
└─ saw guides
weld plan (hands)
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from manifoldgen.access.hands import Hands
from manifoldgen.manifold.model import CuttingPlan, Manifold
from manifoldgen.shop import (
    bends,
    cone,
    cut_plates,
    cuts,
    hole,
    jig,
    marks,
    mill,
    rounding,
    saw_guides,
    sawn,
    weldplan,
    wraps,
)  # fmt: skip
from manifoldgen.shop.bends import BendTable
from manifoldgen.shop.cone import ConePattern
from manifoldgen.shop.cut_plates import CutPlate
from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.hole import HoleTable
from manifoldgen.shop.jig import JointRow
from manifoldgen.shop.marks import RollMark, Sensitivity
from manifoldgen.shop.mill import MillSheet
from manifoldgen.shop.rounding import EndError
from manifoldgen.shop.saw_guides import GuideGroup
from manifoldgen.shop.sawn import Sawn
from manifoldgen.shop.weldplan import WeldPlan
from manifoldgen.shop.wrap import Wrap


@dataclass(frozen=True)
class ShopTables:
    """The shop's tables of a split manifold; each is worked out when it is first read, and kept.

    manifold : with pieces and joints.  hands : what tools and torch reach; None where it was not measured: then
    there are no stages and no purge.
    """

    manifold: Manifold
    hands: Hands | None = None

    @cached_property
    def cuts(self) -> tuple[CutRow, ...]:
        """Every piece of tube, in the order of the pieces."""
        return cuts.cut_list(self.manifold)

    @cached_property
    def shrink_left(self) -> Mapping[str, float]:
        """By run, mm that its welds draw in and no straight makes good."""
        return cuts.shrink_left(self.manifold)

    @cached_property
    def marks(self) -> tuple[RollMark, ...]:
        """The roll of every bent piece, run by run downstream."""
        return marks.marks(self.manifold, self.cuts)

    @cached_property
    def sensitivity(self) -> tuple[Sensitivity, ...]:
        """What an error at each bent piece does to the far end of its run."""
        return marks.sensitivity(self.manifold, self.cuts)

    @cached_property
    def end_errors(self) -> tuple[EndError, ...]:
        """What rounding the printed numbers does to the end of each run."""
        return rounding.end_errors(self.manifold, self.cuts, self.marks)

    @cached_property
    def bends(self) -> tuple[BendTable, ...]:
        """Every run as the bender reads it."""
        return tuple(bends.bend_table(self.manifold, run) for run in self.manifold.runs if run.path)

    @cached_property
    def joints(self) -> tuple[JointRow, ...]:
        """Where every joint stands over the bench plate."""
        return jig.joint_rows(self.manifold)

    @cached_property
    def mill(self) -> tuple[MillSheet, ...]:
        """One sheet a collector, in their order."""
        return mill.mill_sheets(self.manifold, self.cuts, self.hands)

    @cached_property
    def sawn(self) -> Mapping[str, Sawn]:
        """Every piece of tube as the saw leaves it, by its id."""
        return sawn.sawn(self.cuts, self.mill)

    @cached_property
    def wraps(self) -> tuple[Wrap, ...]:
        """The templates; raises GeometryError where a branch does not stand on its parent all round."""
        return wraps.wraps(self.manifold, self.sawn)

    @cached_property
    def holes(self) -> tuple[HoleTable, ...]:
        """The hole of every branch that leaves a bend; raises as `wraps`."""
        return hole.holes(self.manifold)

    @cached_property
    def cones(self) -> tuple[ConePattern, ...]:
        """The flat pattern of every cone."""
        return cone.cones(self.manifold)

    @cached_property
    def plates(self) -> tuple[CutPlate, ...]:
        """Every part cut from plate: flanges, then the collectors' lids."""
        return cut_plates.plates(self.manifold)

    @cached_property
    def saw_guides(self) -> tuple[GuideGroup, ...]:
        """The saw guides with the cuts that each serves."""
        return saw_guides.saw_guides(self.manifold)

    @cached_property
    def welding(self) -> WeldPlan:
        """Welds and purges; raises GeometryError where the purge asked for cannot be had."""
        return weldplan.weld_plan(self.manifold, self.hands)

    @property
    def stock(self) -> CuttingPlan:
        """What is taken from stock and how it is cut up."""
        return self.manifold.cutting

    def of(self, part: str) -> tuple[CutRow, ...]:
        """The cut list of one run."""
        return tuple(row for row in self.cuts if row.part == part)
