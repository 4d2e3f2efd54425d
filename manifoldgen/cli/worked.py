"""`manifoldgen worklist FILE`, answered: ticks set and taken back, what is left as text or JSON. Loads nothing heavy."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from manifoldgen.cli import terminal, ticked
from manifoldgen.cli.listed import WorkList, listed
from manifoldgen.shop.work_step import Step, clock, minutes_by_station, ready

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from manifoldgen.cli.ticked import Ticked

_LEAST = 30  # columns for what is done


def answer(file: Path, *, done: Sequence[str] = (), undo: Sequence[str] = (), as_json: bool = False) -> int:
    """Keep what is done beside the job, show what is left; the exit code.

    Raises
    ------
    ManifoldgenError : the file is wrong, an id is unknown, or the ticks cannot be read or written.
    """
    path = ticked.file_of(file)
    before = ticked.read(path)
    found = listed(file)
    by_id = {s.id: s for s in found.steps}
    now = before.without(ticked.meant(undo, found.steps, before.notes))
    now = now.with_done(by_id[i] for i in ticked.meant(done, found.steps))
    if now != before:
        ticked.write(path, now)
        terminal.say(f"kept in {path}")
    if as_json:
        import json

        terminal.emit(json.dumps(_content(found, path, now), indent=2, allow_nan=False, ensure_ascii=False))
    else:
        terminal.emit(_text(found, now))
    return 1 if found.errors else 0


def changed(steps: Sequence[Step], now: Ticked) -> tuple[tuple[Step, str], ...]:
    """Steps that were done to other numbers than the job has now: the step, and those numbers."""
    notes = now.notes
    found = ((s, notes[s.id]) for s in steps if s.size and ticked.numbers(notes.get(s.id, "")))
    return tuple((s, note) for s, note in found if note != s.size)


def gone(steps: Sequence[Step], now: Ticked) -> tuple[str, ...]:
    """Ids in the file that the job does not have any more."""
    known = {s.id for s in steps}
    return tuple(i for i in now.notes if i not in known)


def _content(found: WorkList, path: Path, now: Ticked) -> dict[str, Any]:
    done = now.notes
    return {
        "schema_version": found.schema_version,
        "name": found.name,
        "ok": not found.errors,
        "findings": list(found.findings),
        "work_list": {
            "file": path.name,
            "minutes_left": sum(s.minutes for s in found.steps if s.id not in done),
            "minutes_by_station": minutes_by_station(found.steps, done),
            "not_in_job": list(gone(found.steps, now)),
            "done_to_other_numbers": [
                {"id": s.id, "done_to": note, "now": s.size} for s, note in changed(found.steps, now)
            ],
            "steps": [
                {
                    "number": n, "id": s.id, "station": s.station, "what": s.what, "minutes": s.minutes,
                    "needs": list(s.needs), "about": s.about or None, "stage": s.stage or None, "done": s.id in done,
                }
                for n, s in enumerate(found.steps, start=1)
            ],
        },
    }  # fmt: skip


def _text(found: WorkList, now: Ticked) -> str:
    done, steps = now.notes, found.steps
    left = [(n, s) for n, s in enumerate(steps, start=1) if s.id not in done]
    lines = [*_table(left), ""] if left else []
    totals = minutes_by_station(steps, done)
    if totals:
        told = ", ".join(f"{station} {clock(minutes)}" for station, minutes in totals.items())
        lines += terminal.wrapped(f"left by station: {told}", "  ")
    lines += [line for e in found.errors for line in terminal.wrapped(e, " " * 7, "error  ")]
    if found.errors:
        lines.append("do not cut before the errors are mended")
    for step, note in changed(steps, now):
        lines.append(
            f"! {step.id} was done to {note}, the job now says {step.size}: --undo {step.about}, or check it"
        )
    if gone(steps, now):
        lines.append(f"! done, but no longer in the job: {', '.join(gone(steps, now))}")
    first = next(iter(ready(steps, done)), None)
    following = f"{first.id} ({first.station}): {first.what}" if first else "nothing, all is done"
    lines += terminal.wrapped(f"next: {following}", "  ")
    count = sum(s.id in done for s in steps)
    minutes = sum(s.minutes for _, s in left)
    lines.append(f"{found.name}: {count} of {len(steps)} steps done, {clock(minutes)} left")
    return "\n".join(lines) + "\n"


def _table(left: Sequence[tuple[int, Step]]) -> list[str]:
    """A line a step: number, id, station, minutes, what; long words go on under their beginning."""
    ids = max(len(s.id) for _, s in left)
    stations = max(len(s.station) for _, s in left)
    lines = [f"{'no.':>4}  {'id':<{ids}}  {'station':<{stations}}  min  what"]
    for n, s in left:
        head = f"{n:>4}  {s.id:<{ids}}  {s.station:<{stations}}  {s.minutes:>3.0f}  "
        lines += terminal.wrapped(s.what, " " * len(head), head, least=_LEAST)
    return lines
