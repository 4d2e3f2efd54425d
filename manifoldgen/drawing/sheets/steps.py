"""The work list on paper, by station, each step with a box to tick."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow, filled
from manifoldgen.drawing.table import TICK, Column, Row
from manifoldgen.shop.work_step import Step, minutes_by_station

_OPERATIONS = ("lay", "cut", "true", "bevel", "deburr", "mark", "mill", "flat", "saddle")
_HEADS = {"lay": "mark out"}  # an operation's id that is no word for a head


def step_sheet(steps: Sequence[Step], paper: Paper) -> tuple[Draft, ...]:
    """The sheets of the work list."""
    return filled("Work list", paper, partial(_fill, steps))


def _fill(steps: Sequence[Step], flow: Flow) -> None:
    totals = minutes_by_station(steps)
    told = ", ".join(f"{station} {hours(minutes)}" for station, minutes in totals.items())
    flow.words(
        f"{len(steps)} steps, {hours(sum(totals.values()))} in all: {told}. Minutes are common practice; your own go into the shop "
        "file under rates. manifoldgen worklist FILE --done ID keeps what is done."
    )
    made = {s.id: s for s in steps}
    pieces = list(dict.fromkeys(s.about for s in steps if s.id == f"mark-{s.about}"))
    used = [op for op in _OPERATIONS if any(f"{op}-{p}" in made for p in pieces)]
    in_grid = {f"{op}-{p}" for op in used for p in pieces} & set(made)
    listed = [(n, s) for n, s in enumerate(steps, start=1) if s.id not in in_grid]
    first = next((n for n, s in enumerate(steps, start=1) if s.id in in_grid), 0)
    _list(flow, [(n, s) for n, s in listed if n < first])
    flow.heading("Every piece, one operation after the other; the id is operation-piece: cut-R1-P1")
    grid: list[Row] = []
    for p in pieces:
        minutes = sum(made[i].minutes for i in in_grid if made[i].about == p)
        grid.append([p, *(TICK if f"{op}-{p}" in made else "" for op in used), f"{minutes:.0f}"])
    flow.table(
        ["piece", *(Column(_HEADS.get(op, op), "middle") for op in used), Column("min", "right")], grid, 2.0
    )
    _list(flow, [(n, s) for n, s in listed if n > first])


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
