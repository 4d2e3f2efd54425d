"""`manifoldgen check FILE`: every check, without the CAD kernel."""

from __future__ import annotations

import time

import typer

from manifoldgen.cli import terminal
from manifoldgen.cli.options import Format, FormatOption, JobFile


def check(file: JobFile, format_: FormatOption = Format.TEXT) -> None:
    """Find the mistakes in a parameter file and all that will not fit."""
    from manifoldgen.cli.job import designed
    from manifoldgen.cli.show import job_text
    from manifoldgen.reports import dump, report

    started = time.perf_counter()
    design = designed(file, search=False)
    content = report(design)
    terminal.say(f"checked in {time.perf_counter() - started:.1f} s")
    if format_ is Format.JSON:
        terminal.emit(dump(content))
    else:
        terminal.emit(
            job_text(content, design, design.findings, file, next_command=f"manifoldgen build {file}")
        )
    raise typer.Exit(0 if content["ok"] else 1)
