"""Measuring routines compiled before a job is worked out, told on stderr with the paths that are known meanwhile."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from manifoldgen.cli import terminal
from manifoldgen.compiled import kept, ready
from manifoldgen.manifold.model import Manifold
from manifoldgen.readers import Scan

_EVERY = 3.0  # s between two lines


def compiled_for(m: Manifold, *, search: bool) -> None:
    """Have all routines compiled that a job needs; silent where they are kept already.

    search : its ``auto`` paths will be searched for.
    """
    scans = m.engine.movement is not None or any(isinstance(o.shape, Scan) for o in m.obstacles)
    searched = search and any(run.todo == "auto" for run in m.runners)
    ready.make_ready(ready.needed(scans=scans, search=searched), _told(m))


def _told(m: Manifold) -> Callable[[int, int], None]:
    """A listener that says how many are ready: at once and, in a terminal, every few seconds and at the end."""
    said: list[tuple[int, float]] = []

    def tell(done: int, total: int) -> None:
        now = time.monotonic()
        if said and (not sys.stderr.isatty() or done == said[-1][0]):
            return
        if said and now < said[-1][1] + _EVERY and done < total:
            return
        terminal.say(f"compiling measuring routines: {done} of {total}, {_how_often()}")
        if not said and any(run.path is not None for run in m.runners):
            from manifoldgen.cli.show import runner_table
            from manifoldgen.reports.numbers import runners

            table = runner_table({"runners": runners(m)})
            terminal.say(terminal.rendered(table, stream=sys.stderr).rstrip())
        said.append((done, now))

    return tell


def _how_often() -> str:
    folder = kept.folder()
    if folder is None or not kept.lasting():
        return "anew in every run: no folder takes them"
    if folder.parent != kept.place():
        return f"kept in {folder.parent}, as {kept.place()} cannot be written or is full"
    return "once for this version"
