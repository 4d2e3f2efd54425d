"""The whole job in small steps to be ticked, in an order that can be worked."""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Sequence

from manifoldgen.access.hands import Hands
from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.steps_parts import collector_steps, first_steps, flange_steps, piece_steps
from manifoldgen.shop.steps_welds import last_steps, weld_steps
from manifoldgen.shop.weldplan import WeldPlan, weld_plan
from manifoldgen.shop.work_step import Step

HEADER = ("done", "id", "station", "what", "minutes", "stage", "needs")


def steps(m: Manifold, hands: Hands | None, plan: WeldPlan | None = None) -> tuple[Step, ...]:
    """Every step of a split manifold; none stands before one that it needs.

    hands : what the torch reaches; without it all joints are one stage.  plan : if it is there already.
    """
    planned = plan or weld_plan(m, hands)
    return (
        *first_steps(m),
        *flange_steps(m),
        *piece_steps(m),
        *collector_steps(m),
        *weld_steps(m, hands, planned),
        *last_steps(m, planned),
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
