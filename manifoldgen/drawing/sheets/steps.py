"""The work list on paper, by station, each step with a box to tick."""

from __future__ import annotations

from collections.abc import Sequence

from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow
from manifoldgen.drawing.table import TICK, Column, Row
from manifoldgen.shop.work_step import OPERATIONS, Operation, Step, minutes_by_station

_HEADS: dict[Operation, str] = {"lay": "mark out"}  # an operation that is no word for a head


def step_sheet(steps: Sequence[Step], paper: Paper) -> tuple[Draft, ...]:
    """The sheets of the work list."""
    flow = Flow("Work list", paper)
    totals = minutes_by_station(steps)
    told = ", ".join(f"{station} {hours(minutes)}" for station, minutes in totals.items())
    flow.words(
        f"{len(steps)} steps, {hours(sum(totals.values()))} in all: {told}. Minutes are common practice; your own go into the shop "
        "file under rates. manifoldgen worklist FILE --done ID keeps what is done."
    )
    on_pieces = [s for s in steps if s.op]
    pieces = [s.about for s in on_pieces if s.op == "mark"]
    used = [op for op in OPERATIONS if any(s.op == op for s in on_pieces)]
    listed = [(n, s) for n, s in enumerate(steps, start=1) if not s.op]
    first = next((n for n, s in enumerate(steps, start=1) if s.op), 0)
    _list(flow, [(n, s) for n, s in listed if n < first])
    flow.heading("Every piece, one operation after the other; the id is operation-piece: cut-R1-P1")
    grid: list[Row] = []
    for p in pieces:
        mine = [s for s in on_pieces if s.about == p]
        done = {s.op for s in mine}
        grid.append([p, *(TICK if op in done else "" for op in used), f"{sum(s.minutes for s in mine):.0f}"])
    flow.table(
        ["piece", *(Column(_HEADS.get(op, op), "middle") for op in used), Column("min", "right")], grid, 2.0
    )
    _list(flow, [(n, s) for n, s in listed if n > first])
    return flow.drafts()


def _list(flow: Flow, steps: Sequence[tuple[int, Step]]) -> None:
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


def hours(minutes: float) -> str:
    """Minutes as ``2 h 05 min``, or ``45 min``."""
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"
