"""`manifoldgen build FILE`: checks, solids, shop sheets, printed parts and page, whole or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from manifoldgen.cli import log, terminal
from manifoldgen.cli.job import SEED
from manifoldgen.cli.options import Format, FormatOption, JobFile, SeedOption

NEXT = {
    "report": "report.html",
    "shop": "shop/build-sheets.pdf",
    "solids": "model.step",
    "prints": "prints",
}


def build(
    file: JobFile,
    out: Annotated[Path, typer.Option(metavar="DIR", help="Results go into DIR/<name>/.")] = Path("exports"),
    only: Annotated[
        str | None,
        typer.Option(metavar="PARTS", help="Only these, with commas: solids, shop, prints, report."),
    ] = None,
    seed: SeedOption = SEED,
    format_: FormatOption = Format.TEXT,
) -> None:
    """Check, then write all files of a job into DIR/<name>/.

    An old result of the same file is replaced whole, another file's never; errors never stop a build, it writes what it can.
    """
    from manifoldgen.cli.job import designed
    from manifoldgen.cli.show import job_text
    from manifoldgen.reports import dump
    from manifoldgen.results.made import timed, wanted
    from manifoldgen.results.owner import refuse_others
    from manifoldgen.results.write import write

    parts = wanted(only)
    with timed("checks", terminal.say):
        design = designed(file, seed=seed, first=lambda m: refuse_others(m, out, lambda _: None))
    built = write(design, parts, out, terminal.say)
    log.told(built.faults)
    terminal.say(f"written to {built.folder}")
    if format_ is Format.JSON:
        terminal.emit(dump(built.report))
    else:
        first = next(NEXT[part] for part in NEXT if part in parts)
        shown = built.folder / first
        terminal.emit(job_text(built.report, design, built.findings, file, next_command=f"open {shown}"))
    raise typer.Exit(0 if built.ok else 1)
