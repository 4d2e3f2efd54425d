"""What can hurt, in short; local rules and licensed people come first."""

from __future__ import annotations

from functools import partial

from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow, filled
from manifoldgen.drawing.table import Column
from manifoldgen.manifold.model import Manifold

_SIZES = (2.6, 2.3, 2.1, 1.9)  # mm, capitals: the largest that keep it to one page
_FIRST = (
    "These sheets are a help to people who know their trade. Local codes and laws, the rules of the workplace, data sheets and "
    "qualified or licensed practice come first; where they say otherwise, they are right."
)
_NOT_SAID = (
    "These sheets do not certify that the engine, the vehicle or the road allow it, nor that the part will last. The numbers come from "
    "the parameter file: measure the real engine before cutting, and try each step dry."
)
_HOT = (
    "Before the first run: leak test, every nut tight, heat shields where a hose, wire or tank is near, fuel and oil lines checked, "
    "extinguisher at hand, outdoors. Stop at any hiss, smell or glow where none belongs. Retighten when cold."
)


def caution_sheet(m: Manifold, paper: Paper) -> tuple[Draft, ...]:
    """The sheet of cautions."""
    return filled("Cautions", paper, partial(_fill, m), _SIZES)


def _fill(m: Manifold, flow: Flow) -> None:
    flow.words(_FIRST, flow.size, bold=True, gap=4.0)
    rows = [
        [str(row["hazard"]), str(row.get("limit", "")), str(row["do"])]
        for row in m.tables.table("shop", "safety").values()
    ]
    flow.table([Column("hazard", width=62.0), Column("limit", width=44.0), "do"], rows)
    flow.words(_HOT, gap=3.0)
    flow.words(_NOT_SAID)
