"""`manifoldgen build FILE`: checks, solids and files, whole or not at all."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from manifoldgen.cli import terminal
from manifoldgen.cli.job import SEED
from manifoldgen.cli.options import Format, FormatOption, JobFile, SeedOption
from manifoldgen.errors import ManifoldgenError

if TYPE_CHECKING:
    from manifoldgen.checks.finding import Finding
    from manifoldgen.manifold.model import Manifold
    from manifoldgen.solids import Solids

PARTS = {
    "solids": "model.* and lumen.stl",
    "shop": "shop papers",
    "fixtures": "printed parts",
    "report": "page",
}
READY = ("solids",)


def build(
    file: JobFile,
    out: Annotated[Path, typer.Option(metavar="DIR", help="Results go into DIR/<name>/.")] = Path("exports"),
    only: Annotated[
        str | None, typer.Option(metavar="PARTS", help=f"Only these, with commas: {', '.join(PARTS)}.")
    ] = None,
    seed: SeedOption = SEED,
    format_: FormatOption = Format.TEXT,
) -> None:
    """Check, then write all files of a job into DIR/<name>/.

    An old result is replaced whole; errors never stop a build, it writes what it can.
    """
    _refuse_unready(only)
    from manifoldgen.checks.finding import worst_first
    from manifoldgen.cli.job import examined
    from manifoldgen.cli.show import job_text
    from manifoldgen.export import manifest
    from manifoldgen.export.atomic import whole_folder
    from manifoldgen.report import dump, report

    with timed("checks"):
        job = examined(file, seed=seed)
    target = out / job.manifold.name
    with timed("solids"):
        from manifoldgen.export.model import write_model
        from manifoldgen.solids import build as build_solids

        solids = build_solids(job.manifold)
    findings = worst_first((*job.findings, *_unsound(solids)))
    content = report(job.manifold, findings, _numbers(job.manifold, solids), job.hands)
    with whole_folder(target) as folder, timed("files"):
        write_model(folder, solids)
        (folder / "report.json").write_text(dump(content), encoding="utf-8", newline="\n")
        manifest.write(folder, job.manifold.name, seed)
    terminal.say(f"written to {target}")
    if format_ is Format.JSON:
        terminal.emit(dump(content))
    else:
        terminal.emit(job_text(content, job, findings, file, next_command=f"open {target / 'model.step'}"))
    raise typer.Exit(0 if content["ok"] else 1)


def _refuse_unready(only: str | None) -> None:
    if only is None:
        return
    wanted = [part.strip() for part in only.split(",") if part.strip()]
    unknown = [part for part in wanted if part not in PARTS]
    if unknown or not wanted:
        raise ManifoldgenError(f"--only takes {', '.join(PARTS)}, not {', '.join(unknown) or 'nothing'}")
    later = [part for part in wanted if part not in READY]
    if later:
        what = " and ".join(f"{part} ({PARTS[part]})" for part in later)
        raise ManifoldgenError(
            f"this version does not make {what} yet; --only {','.join(READY)} is what there is"
        )


def _unsound(solids: Solids) -> Iterator[Finding]:
    """Turn what could not be built or joined into findings beside those of the checks."""
    from manifoldgen.checks.finding import Finding

    for error in solids.errors:
        yield Finding(
            "solid-not-sound",
            "error",
            f"{error.part} is not sound: {error.reason}.",
            "Do what the sentence asks; if it asks for nothing, mend the other errors first.",
            parts=(error.part,),
        )


def _numbers(m: Manifold, solids: Solids) -> dict[str, Any] | None:
    """Give the acceptance of the whole as report.json's `solids`; None where it was not joined."""
    if solids.joined is None:
        return None
    from manifoldgen.report import whole_kg

    found = solids.acceptance
    mass = whole_kg(m, {name: solids.accepted[name].volume for name in solids.parts})
    return {
        "valid": found.valid,
        "solids": found.solids,
        "watertight": found.watertight,
        "genus": found.genus,
        "genus_expected": found.genus_expected,
        "volume_mm3": found.volume,
        "volume_expected_mm3": found.volume_expected,
        **({} if mass is None else {"mass_kg": mass}),
    }


@contextmanager
def timed(what: str) -> Iterator[None]:
    """Say on stderr that a step starts and how long it took."""
    started = time.perf_counter()
    terminal.say(f"{what} ...")
    yield
    terminal.say(f"{what} took {time.perf_counter() - started:.1f} s")
