"""The work list on paper, in the order it is worked, each step with its number and a box to tick."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from itertools import groupby

from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow, filled
from manifoldgen.drawing.table import TICK, Column, Row
from manifoldgen.shop.work_step import OPERATIONS, Operation, Step, clock, minutes_by_station

_HEADS: dict[Operation, str] = {"lay": "mark out"}  # an operation that is no word for a head
Numbered = Sequence[tuple[int, Step]]


def step_sheet(steps: Sequence[Step], paper: Paper) -> tuple[Draft, ...]:
    """The sheets of the work list."""
    return filled("Work list", paper, partial(_fill, steps))


def _fill(steps: Sequence[Step], flow: Flow) -> None:
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
        (_grid if in_grid else _list)(flow, list(found))


def _grid(flow: Flow, steps: Numbered) -> None:
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
    flow.table(["piece", *heads, Column("min", "right")], rows, 2.0)


def _from_to(numbers: Sequence[int]) -> str:
    """Where the steps of an operation stand in the list."""
    return f"{min(numbers)} to {max(numbers)}" if len(numbers) > 1 else f"no. {numbers[0]}"


def _list(flow: Flow, steps: Numbered) -> None:
    """Steps as lines, with a line across where the station changes."""
    rows: list[Row] = []
    station = ""
    for n, s in steps:
        if s.station != station:
            station = s.station
            rows.append(station.upper())
        rows.append([str(n), s.id, s.what, f"{s.minutes:.0f}", TICK])
    flow.table(
        [
            Column("", "right", 10.0), Column("id", width=42.0), "what", Column("min", "right", 10.0),
            Column("done", "middle", 12.0),
        ],
        rows, 1.9,
    )  # fmt: skip
