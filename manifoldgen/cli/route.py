"""`manifoldgen route FILE`: the paths left open, found, shown and written into a copy of the file."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from manifoldgen.cli import terminal
from manifoldgen.cli.job import SEED
from manifoldgen.cli.options import Format, FormatOption, JobFile, SeedOption
from manifoldgen.errors import ManifoldgenError, OutputError

if TYPE_CHECKING:
    from manifoldgen.manifold.model import Manifold
    from manifoldgen.routing.route import Routed


def route(
    file: JobFile,
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="OUT", help="A copy of FILE with the paths written out."),
    ] = None,
    seed: SeedOption = SEED,
    round_: Annotated[
        float | None,
        typer.Option(
            "--round",
            metavar="MM",
            min=0.01,
            max=5,
            help="Numbers in such steps (mm, degrees), but the five that close each runner.",
        ),
    ] = None,
    format_: FormatOption = Format.TEXT,
) -> None:
    """Find the paths left open; Ctrl-C keeps the best so far."""
    _refuse(file, write)
    from manifoldgen.cli.job import laid, worked_out
    from manifoldgen.cli.route_text import routed_report, routed_text
    from manifoldgen.reports import dump

    started = time.perf_counter()
    m = laid(file)
    raw = file.read_bytes()
    design = worked_out(m, search=True, seed=seed, rounding=round_)
    routed = design.routed
    assert routed is not None  # noqa: S101 - a search was asked for
    terminal.say(f"searched for {time.perf_counter() - started:.1f} s")
    if routed.stopped:
        terminal.say("stopped: the best so far is kept")
    if round_ is not None and not _in_steps(m, routed, round_):
        terminal.say(
            f"no layout meets all limits when rounded to {round_:g} (the five numbers that close a runner would have "
            f"to take up millimetres): they stay as found; {_instead(routed)}"
        )
    searched_for = [run.number for run in m.runners if run.todo == "auto"]
    content = routed_report(design, routed, searched_for)
    if write is not None:
        _write(file, raw, m, routed, write)
    if format_ is Format.JSON:
        terminal.emit(dump(content))
    else:
        terminal.emit(routed_text(content, routed, file, write))
    raise typer.Exit(0 if routed.verified else 1)


def _instead(routed: Routed) -> str:
    """What to do where the steps are too coarse."""
    if routed.finer is not None:
        return f"--round {routed.finer:g} works"
    return "round less, or lower limits.inlet_straight or limits.gap a little"


def _refuse(file: Path, write: Path | None) -> None:
    """Nothing is overwritten; said before a search begins."""
    if write is None:
        return
    if write.exists() or write.is_symlink():
        same = write.exists() and file.exists() and write.samefile(file)
        what = f"--write {write} is the file itself" if same else f"{write} exists and is not overwritten"
        raise ManifoldgenError(f"{what}: take another name")
    if not write.absolute().parent.is_dir():
        raise ManifoldgenError(f"there is no folder {write.parent} to write {write.name} into")


def _write(file: Path, raw: bytes, m: Manifold, routed: Routed, out: Path) -> None:
    from manifoldgen.cli.written import copied

    copy = copied(file, raw, m, routed.manifold, out)
    try:
        with out.open("xb") as target:
            target.write(copy)
    except OSError as error:
        raise OutputError(f"could not write {out}: {error.strerror}") from error
    terminal.say(f"written to {out}" + ("" if routed.verified else ": an attempt, not clear of everything"))


def _in_steps(m: Manifold, routed: Routed, step: float) -> bool:
    """Whether the paths found have no more than the closing numbers off the steps."""
    from manifoldgen.geometry.path import Straight
    from manifoldgen.routing.rounding import CLOSING

    for before, after in zip(m.runners, routed.manifold.runners, strict=True):
        if before.todo == "auto" and after.path is not None:
            numbers = [
                v
                for e in after.path.elements
                for v in ((e.length,) if isinstance(e, Straight) else (e.angle, e.roll))
            ]
            if sum(abs(v / step - round(v / step)) > 1e-6 for v in numbers) > CLOSING:
                return False
    return True
