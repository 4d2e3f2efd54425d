"""A build: a job worked out and everything of it written into one folder, whole or not at all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from manifoldgen.checks.finding import Finding, worst_first
from manifoldgen.public import public
from manifoldgen.results.made import (
    Made,
    Tell,
    timed,
    wanted,
    with_printed,
    with_solids,
    write_model,
    write_page,
    write_printed,
    write_shop,
)  # fmt: skip
from manifoldgen.results.owner import claim, refuse_others

if TYPE_CHECKING:
    from manifoldgen.designs import Design
    from manifoldgen.designs.make import Source
    from manifoldgen.extensions import Fault
    from manifoldgen.routing.search import Progress

WRITERS: dict[str, Callable[[Path, Made], Made]] = {
    "solids": write_model,
    "shop": write_shop,
    "prints": write_printed,
    "report": write_page,  # last: it shows what the others found
}


@public
@dataclass(frozen=True)
class Built:
    """What a build wrote.

    folder : where.  parts : of ``solids``, ``shop``, ``prints``, ``report``.  design : the job.
    findings : of the checks and of the making, the worst first.  report : report.json's mapping.
    faults : of other packages' printed parts and sheets; those of their checks stand in the design.
    """

    folder: Path
    parts: tuple[str, ...]
    design: Design
    findings: tuple[Finding, ...]
    report: dict[str, Any]
    faults: tuple[Fault, ...] = ()

    @property
    def ok(self) -> bool:
        """Whether no finding is an error."""
        return bool(self.report["ok"])


@public
def build(
    source: Design | Source,
    out: str | PathLike[str] = "exports",
    *,
    only: str | None = None,
    seed: int = 1,
    progress: Callable[[Progress], None] | None = None,
    tell: Tell | None = None,
) -> Built:
    """Check a job, then write all its files into ``out/<name>/``.

    An old result of the same file is replaced whole, another file's never (`results.owner`); errors never stop a build,
    it writes what it can.

    Parameters
    ----------
    source : a design, or what makes one (a file, a mapping, a manifold).  seed : of the search for open paths.
    only : parts with commas between: ``solids``, ``shop``, ``prints``, ``report``; None is everything.
    progress : called after every layout that the search measured.  tell : is told a line when a step starts and ends.

    Raises
    ------
    ManifoldgenError : the file is wrong, or `only` names no part.
    OutputError : another file's results are there, or the disk refused; the old result is as it was.
    KeyboardInterrupt : it was stopped; nothing is made of half a search.

    >>> import manifoldgen as mg, tempfile
    >>> folder = tempfile.mkdtemp()
    >>> built = mg.build("cq_scripts/jobs/snow_groomer_three.yaml", folder, only="report")
    >>> sorted(file.name for file in built.folder.iterdir())
    ['manifest.json', 'report.html', 'report.json']
    """
    parts = wanted(only)
    say = tell or (lambda _: None)
    design = _designed(source, Path(out), seed, progress, say)
    return write(design, parts, Path(out), say)


def write(design: Design, parts: tuple[str, ...], out: Path, tell: Tell) -> Built:
    """Write the parts of a design into ``out/<name>/``.

    Raises
    ------
    OutputError : another file's results are there, or the disk refused; the old result is as it was.
    """
    from manifoldgen.export import manifest
    from manifoldgen.export.atomic import whole_folder
    from manifoldgen.reports import dump

    m = design.manifold
    refuse_others(m, out, tell)
    made = Made(design, tell)
    if "solids" in parts:
        made = with_solids(made)
    if "prints" in parts:
        made = with_printed(made)
    target = out / design.name
    with whole_folder(target) as folder:
        for part in parts:
            made = WRITERS[part](folder, made)
        content = made.content()
        (folder / "report.json").write_text(dump(content), encoding="utf-8", newline="\n")
        job = manifest.MadeBy(Path(m.origin.file).name, m.origin.sha256) if m.origin else None
        manifest.write(folder, design.name, design.seed, job)
    claim(m, out)
    findings = worst_first((*design.findings, *made.found))
    return Built(target, parts, design, findings, content, made.faults)


def _designed(
    source: Design | Source, out: Path, seed: int, progress: Callable[[Progress], None] | None, tell: Tell
) -> Design:
    from manifoldgen.designs import Design, design
    from manifoldgen.designs.make import laid_out

    if isinstance(source, Design):
        return source
    with timed("checks", tell):
        m = laid_out(source)
        refuse_others(m, out, lambda _: None)  # before a long search, not after it
        made = design(m, seed=seed, progress=progress)
    if made.stopped:
        raise KeyboardInterrupt
    return made
