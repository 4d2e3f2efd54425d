"""`manifoldgen worklist FILE`: what is left to do, in small steps; what is done is kept beside the job."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from manifoldgen.cli import terminal
from manifoldgen.cli.options import Format, FormatOption, JobFile

if TYPE_CHECKING:
    from rich.console import RenderableType

    from manifoldgen.cli.ticked import Ticked
    from manifoldgen.shop.work_step import Step

Done = Annotated[
    list[str] | None,
    typer.Option("--done", metavar="ID", help="This is done: a step, or all of a piece or joint. Repeat it.", show_default=False),
]  # fmt: skip
Undo = Annotated[
    list[str] | None,
    typer.Option("--undo", metavar="ID", help="This is not done after all. Repeat it.", show_default=False),
]


def worklist(
    file: JobFile, done: Done = None, undo: Undo = None, format_: FormatOption = Format.TEXT
) -> None:
    """Show what is left to do, in small steps by station, and keep what is done beside the job."""
    from manifoldgen.cli import ticked
    from manifoldgen.cli.job import designed
    from manifoldgen.errors import ManifoldgenError
    from manifoldgen.reports import dump

    path = ticked.file_of(file)
    before = ticked.read(path)
    design = designed(file)
    if design.open_paths:
        told = ", ".join(design.open_paths)
        raise ManifoldgenError(
            f"there is no path yet for {told}, so there are no pieces to work on: manifoldgen route {file}"
        )
    listed = design.shop.steps
    by_id = {s.id: s for s in listed}
    now = before.without(ticked.meant(undo or (), listed, before.notes))
    now = now.with_done(by_id[i] for i in ticked.meant(done or (), listed))
    if now != before:
        ticked.write(path, now)
        terminal.say(f"kept in {path}")
    errors = tuple(f.message for f in design.findings if f.severity == "error")
    if format_ is Format.JSON:
        terminal.emit(dump(_content(design.name, path, listed, now, design.findings)))
    else:
        terminal.emit(_text(design.name, listed, now, errors))
    raise typer.Exit(1 if errors else 0)


def changed(listed: Sequence[Step], now: Ticked) -> tuple[tuple[Step, str], ...]:
    """Steps that were done to other numbers than the job has now: the step, and those numbers."""
    from manifoldgen.cli.ticked import numbers

    notes = now.notes
    found = ((s, notes[s.id]) for s in listed if s.size and numbers(notes.get(s.id, "")))
    return tuple((s, note) for s, note in found if note != s.size)


def gone(listed: Sequence[Step], now: Ticked) -> tuple[str, ...]:
    """Ids in the file that the job does not have any more."""
    known = {s.id for s in listed}
    return tuple(i for i in now.notes if i not in known)


def _content(
    name: str, path: Path, listed: Sequence[Step], now: Ticked, findings: Sequence[Any]
) -> dict[str, Any]:
    from manifoldgen.checks.finding import worst_first
    from manifoldgen.reports import SCHEMA_VERSION
    from manifoldgen.shop.work_step import minutes_by_station

    done = now.notes
    return {
        "schema_version": SCHEMA_VERSION,
        "name": name,
        "ok": not any(f.severity == "error" for f in findings),
        "findings": [f.as_dict() for f in worst_first(findings)],
        "work_list": {
            "file": path.name,
            "minutes_left": sum(s.minutes for s in listed if s.id not in done),
            "minutes_by_station": minutes_by_station(listed, done),
            "not_in_job": list(gone(listed, now)),
            "done_to_other_numbers": [
                {"id": s.id, "done_to": note, "now": s.size} for s, note in changed(listed, now)
            ],
            "steps": [
                {
                    "id": s.id, "station": s.station, "what": s.what, "minutes": s.minutes, "needs": list(s.needs),
                    "about": s.about or None, "stage": s.stage or None, "done": s.id in done,
                }
                for s in listed
            ],
        },
    }  # fmt: skip


def _text(name: str, listed: Sequence[Step], now: Ticked, errors: Sequence[str]) -> str:
    from rich.text import Text

    from manifoldgen.shop.work_step import minutes_by_station, ready

    done = now.notes
    left = [s for s in listed if s.id not in done]
    parts: list[RenderableType] = []
    for station, minutes in minutes_by_station(listed, done).items():
        parts.append(Text(f"{station}: {clock(minutes)}", style="bold"))
        parts.append(_table([s for s in left if s.station == station]))
    parts += [Text(f"error  {e}", style="bold red") for e in errors]
    if errors:
        parts.append(Text("do not cut before the errors are mended", style="bold red"))
    for step, note in changed(listed, now):
        parts.append(
            Text(f"! {step.id} was done to {note}, the job now says {step.size}: --undo {step.about}, or check it", style="yellow")
        )  # fmt: skip
    if gone(listed, now):
        parts.append(
            Text(f"! done, but no longer in the job: {', '.join(gone(listed, now))}", style="yellow")
        )
    text = terminal.rendered(*parts) if parts else ""
    first = next(iter(ready(listed, done)), None)
    following = f"next: {first.id} ({first.station}): {first.what}" if first else "next: nothing, all is done"
    count = sum(s.id in done for s in listed)
    minutes = sum(s.minutes for s in left)
    return f"{text}{following}\n{name}: {count} of {len(listed)} steps done, {clock(minutes)} left\n"


def clock(minutes: float) -> str:
    """Minutes as ``2 h 05 min``, or ``45 min``."""
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"


def _table(rows: Sequence[Step]) -> RenderableType:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_header=False)
    table.add_column("id", no_wrap=True)
    table.add_column("min", justify="right")
    table.add_column("what")
    for s in rows:
        table.add_row(s.id, f"{s.minutes:.0f}", s.what)
    return table
