"""The whole job in small steps to be ticked, in an order that can be worked."""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from manifoldgen.shop.steps_parts import collector_steps, first_steps, flange_steps, piece_steps
from manifoldgen.shop.steps_welds import last_steps, weld_steps
from manifoldgen.shop.work_step import Step

if TYPE_CHECKING:
    from manifoldgen.shop.plan import ShopPlan

HEADER = ("done", "id", "station", "what", "minutes", "stage", "needs")


def steps(shop: ShopPlan) -> tuple[Step, ...]:
    """Every step of a job; none stands before one that it needs. Without hands all joints are one stage."""
    m = shop.manifold
    return (
        *first_steps(m),
        *flange_steps(m),
        *piece_steps(shop),
        *collector_steps(m),
        *weld_steps(shop),
        *last_steps(shop),
    )


def csv_text(listed: Sequence[Step], done: Collection[str] = ()) -> str:
    """The steps as CSV: comma, point, header, one line a step."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(HEADER)
    for s in listed:
        tick = "x" if s.id in done else ""
        write.writerow((tick, s.id, s.station, s.what, f"{s.minutes:.1f}", s.stage or "", " ".join(s.needs)))
    return out.getvalue()
