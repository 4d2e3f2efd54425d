"""The whole job in small steps to be ticked, in the order it is worked.

sheets, gauges, printed model ─ stock ─ flanges ─ pieces ─ collector's plate and cone ─ holes
─ tacked in place, tried on the engine ─ welded stage by stage ─ skimmed, tested, run
"""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Sequence

from manifoldgen.shop.aids import Aid
from manifoldgen.shop.steps_parts import hole_steps, piece_steps
from manifoldgen.shop.steps_plates import collector_steps, flange_steps
from manifoldgen.shop.steps_prints import Printing
from manifoldgen.shop.steps_start import first_steps
from manifoldgen.shop.steps_welds import last_steps, weld_steps
from manifoldgen.shop.tables import ShopTables
from manifoldgen.shop.work_step import Step

HEADER = ("number", "done", "id", "station", "what", "minutes", "stage", "needs")


def steps(shop: ShopTables, aids: tuple[Aid, ...]) -> tuple[Step, ...]:
    """Every step of a job; none stands before one that it needs. Without hands all joints are one stage.

    aids : the printed parts, each used in its step.
    """
    m = shop.manifold
    printing = Printing(m, aids)
    return (
        *first_steps(m, printing),
        *flange_steps(shop, printing),
        *piece_steps(shop, printing),
        *collector_steps(shop),
        *hole_steps(m, printing),
        *weld_steps(shop, printing),
        *last_steps(shop),
    )


def csv_text(listed: Sequence[Step], done: Collection[str] = ()) -> str:
    """The steps as CSV in their order: comma, point, header, one line a step."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(HEADER)
    for number, s in enumerate(listed, start=1):
        tick, minutes = "x" if s.id in done else "", f"{s.minutes:.1f}"
        write.writerow((number, tick, s.id, s.station, s.what, minutes, s.stage or "", " ".join(s.needs)))
    return out.getvalue()
