"""The work list on paper, by station, each step with a box to tick."""

from __future__ import annotations

from collections.abc import Sequence

from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow
from manifoldgen.drawing.table import TICK, Column, Row
from manifoldgen.shop.step import Step, minutes_by_station


def step_sheet(steps: Sequence[Step], paper: Paper) -> tuple[Draft, ...]:
    """The sheets of the work list."""
    flow = Flow("Work list", paper)
    totals = minutes_by_station(steps)
    told = ", ".join(f"{station} {hours(minutes)}" for station, minutes in totals.items())
    flow.words(
        f"{len(steps)} steps, {hours(sum(totals.values()))} in all: {told}. Minutes are common practice; your own go into the shop "
        "file under rates. manifoldgen worklist FILE --done ID keeps what is done."
    )
    rows: list[Row] = []
    station = ""
    for n, s in enumerate(steps, start=1):
        if s.station != station:
            station = s.station
            rows.append(station.upper())
        rows.append([str(n), s.id, s.what, f"{s.minutes:.0f}", TICK])
    columns: list[Column | str] = [
        Column("", "right", 10.0), Column("id", width=39.0), "what", Column("min", "right", 10.0), Column("done", "middle", 12.0),
    ]  # fmt: skip
    flow.table(columns, rows, 1.9)
    return flow.drafts()


def hours(minutes: float) -> str:
    """Minutes as ``2 h 05 min``, or ``45 min``."""
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"
