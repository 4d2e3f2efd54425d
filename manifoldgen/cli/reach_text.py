"""What hand tools and torch reach, as compact tables: one line a stud, one line a weld stage."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING

from manifoldgen.wording import fixed, some

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from manifoldgen.access.hands import Hands
    from manifoldgen.access.results import StudAccess
    from manifoldgen.access.results_welds import Welding


def reach_tables(hands: Hands) -> Iterator[RenderableType]:
    """A table of studs for every flange that has some, the way off, and a table of weld stages."""
    from rich.text import Text

    for flange, found in groupby(hands.studs, key=lambda s: s.flange):
        yield _studs(flange, list(found))
    if hands.removal.order:
        yield Text(f"off the engine: {'; '.join(hands.removal.order)}\n")
    if hands.welding is not None:
        yield _stages(hands.welding)


def _studs(flange: str, studs: list[StudAccess]) -> Table:
    table = _table(
        (flange, False), ("tool", False), ("swing °", True), ("room mm", True), ("in the way", False)
    )
    for stud in studs:
        if stud.reachable:
            table.add_row(stud.id, stud.tool or "", f"{stud.swing_deg:.0f}", fixed(stud.clearance_mm), "")
        else:
            short = f"{some(stud.shortfall_mm)} short"
            table.add_row(stud.id, "none", "", short, stud.blocked_by or "")
    return table


def _stages(welding: Welding) -> Table:
    table = _table(("welds", False), ("joints", False), ("on the bench", False))
    for stage in welding.stages:
        table.add_row(f"stage {stage.stage}", _told(stage.joints), _told(stage.fitted, "pieces"))
    apart = sum(w.apart for w in welding.welds)
    times = {0: "never", 1: "once", 2: "twice"}.get(welding.taken_apart, f"{welding.taken_apart} times")
    table.caption = f"{len(welding.welds)} welds, {apart} of them not with all in place; taken apart {times}"
    table.caption_justify = "left"
    return table


def _told(names: tuple[str, ...], what: str = "joints", most: int = 8) -> str:
    return ", ".join(names) if len(names) <= most else f"{', '.join(names[:most])} … {len(names)} {what}"


def _table(*columns: tuple[str, bool]) -> Table:
    """A table with these heads; True for a column of numbers."""
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for head, numbers in columns:
        table.add_column(head, justify="right" if numbers else "left")
    return table
