"""`manifoldgen view FILE`: the page of a job, opened; no solids are made for it."""

from __future__ import annotations

import webbrowser
from pathlib import Path
from typing import Annotated

import typer

from manifoldgen.cli import terminal
from manifoldgen.cli.job import SEED
from manifoldgen.cli.options import JobFile, SeedOption


def view(
    file: JobFile,
    out: Annotated[Path, typer.Option(metavar="DIR", help="The page goes to DIR/<name>.html.")] = Path(
        "exports"
    ),
    show: Annotated[bool, typer.Option("--open/--no-open", help="Open it in the browser.")] = True,
    seed: SeedOption = SEED,
) -> None:
    """Check a job and open its page: everything in 3-D, findings, nuts, welds, pieces, in one file.

    What cannot be routed or is wrong is left out and said; the page is made all the same.
    """
    from manifoldgen.cli.job import designed
    from manifoldgen.export.one_file import write_file
    from manifoldgen.reports import report
    from manifoldgen.reports.page import made
    from manifoldgen.results.made import timed

    with timed("checks", terminal.say):
        design = designed(file, seed=seed)
    content = report(design)
    target = out / f"{design.name}.html"
    with timed("page", terminal.say):
        page = made(design, content)
        out.mkdir(parents=True, exist_ok=True)
        write_file(target, page.text.encode("utf-8"))
    if show and not webbrowser.open(target.absolute().as_uri()):
        terminal.say("no browser was found here; open the file in one")
    terminal.emit(str(target))
    raise typer.Exit(0 if content["ok"] else 1)
