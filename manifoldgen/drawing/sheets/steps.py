"""The work list on paper, in the order it is worked, each step with its number and a box to tick."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import groupby

from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow, filled
from manifoldgen.drawing.table import TICK, Column, Row
from manifoldgen.shop.cautions import Hazard, hazard_line
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.work_step import OPERATIONS, Operation, Step, clock, minutes_by_station

_HEADS: dict[Operation, str] = {"lay": "mark out"}  # an operation that is no word for a head
Numbered = Sequence[tuple[int, Step]]


@dataclass
class _Minded:
    """The lines of hazard, each said once, before the first step it is for."""

    shop: ShopPlan
    said: set[Hazard] = field(default_factory=set)

    def before(self, steps: Iterable[Step]) -> list[str]:
        """What is still to be said before some steps."""
        new = [h for h in dict.fromkeys(s.hazard for s in steps) if h is not None and h not in self.said]
        self.said.update(new)
        return [f"Caution. {hazard_line(self.shop.manifold.tables, h)}" for h in new]


def step_sheet(shop: ShopPlan, paper: Paper) -> tuple[Draft, ...]:
    """The sheets of the work list; what can hurt stands before the first step at which it can."""
    return filled("Work list", paper, partial(_fill, shop))


def _fill(shop: ShopPlan, flow: Flow) -> None:
    steps, minded = shop.steps, _Minded(shop)
    totals = minutes_by_station(steps)
    told = ", ".join(f"{station} {clock(minutes)}" for station, minutes in totals.items())
    flow.words(
        f"{len(steps)} steps in the order they are worked, {clock(sum(totals.values()))} in all: {told}. Minutes are common "
        "practice; your own go into the shop file under rates. manifoldgen worklist FILE --done ID keeps what is done."
    )
    if "printer" in totals:
        flow.words(
            "Hours of printing are listed with the printed parts. A shop without a printer writes print: {printer: false} into "
            "its shop file; these steps then go."
        )
    for in_grid, found in groupby(enumerate(steps, start=1), key=lambda entry: entry[1].op is not None):
        (_grid if in_grid else _list)(flow, list(found), minded)


def _grid(flow: Flow, steps: Numbered, minded: _Minded) -> None:
    """One line a piece, one column an operation, the numbers of its steps at its head; worked column by column."""
    flow.heading("Every piece, one operation after the other; the id is operation-piece: cut-R1-P1")
    numbers = {op: [n for n, s in steps if s.op == op] for op in OPERATIONS}
    used = [op for op in OPERATIONS if numbers[op]]
    rows: list[Row] = [["step", *(_from_to(numbers[op]) for op in used), ""]]
    # in the order in which they are cut: each column is then worked from its top
    for p in dict.fromkeys(s.about for _, s in steps if s.op == "cut"):
        mine = [s for _, s in steps if s.about == p]
        done = {s.op for s in mine}
        rows.append([p, *(TICK if op in done else "" for op in used), f"{sum(s.minutes for s in mine):.0f}"])
    heads = (Column(_HEADS.get(op, op), "middle") for op in used)
    for said in minded.before(s for _, s in steps):
        flow.words(said, 1.9, bold=True)
    flow.table(["piece", *heads, Column("min", "right")], rows, 2.0)


def _from_to(numbers: Sequence[int]) -> str:
    """Where the steps of an operation stand in the list."""
    return f"{min(numbers)} to {max(numbers)}" if len(numbers) > 1 else f"no. {numbers[0]}"


def _list(flow: Flow, steps: Numbered, minded: _Minded) -> None:
    """Steps as lines, with a line across where the station changes."""
    rows: list[Row] = []
    station = ""
    for n, s in steps:
        if s.station != station:
            station = s.station
            rows.append(station.upper())
        rows += minded.before([s])
        rows.append([str(n), s.id, s.what, f"{s.minutes:.0f}", TICK])
    flow.table(
        [
            Column("", "right", 10.0), Column("id", width=42.0), "what", Column("min", "right", 10.0),
            Column("done", "middle", 12.0),
        ],
        rows, 1.9,
    )  # fmt: skip
