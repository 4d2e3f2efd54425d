"""`manifoldgen build FILE`: checks, solids, shop sheets, printed parts and page, whole or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from manifoldgen.cli import terminal
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

    An old result is replaced whole; errors never stop a build, it writes what it can.
    """
    from manifoldgen.cli import outputs

    parts = outputs.wanted(only)
    from manifoldgen.checks.finding import worst_first
    from manifoldgen.cli.job import designed
    from manifoldgen.cli.show import job_text
    from manifoldgen.export import manifest
    from manifoldgen.export.atomic import whole_folder
    from manifoldgen.report import dump

    with outputs.timed("checks"):
        design = designed(file, seed=seed)
    target = out / design.name
    made = outputs.Made(design)
    if "solids" in parts:
        made = outputs.with_solids(made)
    if "prints" in parts:
        made = outputs.with_printed(made)
    writers = {
        "solids": outputs.write_model,
        "shop": outputs.write_shop,
        "prints": outputs.write_printed,
        "report": outputs.write_page,  # last: it shows what the others found
    }
    with whole_folder(target) as folder:
        for part in parts:
            made = writers[part](folder, made)
        content = made.content()
        (folder / "report.json").write_text(dump(content), encoding="utf-8", newline="\n")
        manifest.write(folder, design.name, seed)
    terminal.say(f"written to {target}")
    if format_ is Format.JSON:
        terminal.emit(dump(content))
    else:
        first = next(NEXT[part] for part in NEXT if part in parts)
        findings = worst_first((*design.findings, *made.found))
        terminal.emit(job_text(content, design, findings, file, next_command=f"open {target / first}"))
    raise typer.Exit(0 if content["ok"] else 1)
