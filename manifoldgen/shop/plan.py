"""Everything saw, mill, bench and welder need to know about a job: the tables, and what is read off them as a whole.

    tables ─── printed parts ─── work list

Sheets, page, report, lists and printed parts read it; none of them works anything out for itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from manifoldgen.shop import aids, worklist
from manifoldgen.shop.aids import Aid
from manifoldgen.shop.tables import ShopTables
from manifoldgen.shop.work_step import Step


@dataclass(frozen=True)
class ShopPlan(ShopTables):
    """The shop's tables of a split manifold, the printed parts it needs and the whole work in order."""

    @cached_property
    def aids(self) -> tuple[Aid, ...]:
        """The printed parts, in the order they are of use; none without a printer."""
        return aids.aids(self)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The work list; raises as `welding`."""
        return worklist.steps(self, self.aids)
