"""`manifoldgen init NAME`: a commented parameter file that builds as it stands."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from manifoldgen.cli import terminal
from manifoldgen.errors import ManifoldgenError, OutputError

if TYPE_CHECKING:
    from manifoldgen.parameters.starter import Answers


def init(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Small letters, digits, hyphens.")],
    cylinders: Annotated[
        int | None,
        typer.Option("--cylinders", metavar="N", help="How many: 2 to 8.", show_default=False),
    ] = None,
) -> None:
    """Write NAME.yaml, a commented parameter file to start from.

    It builds as it stands; nothing is overwritten.
    """
    from manifoldgen.parameters.starter import starter

    text = starter(name, _answers(cylinders))
    target = Path(f"{name}.yaml")
    if target.exists():
        raise ManifoldgenError(f"{target} exists and is not overwritten: move it away or take another name")
    try:
        with target.open("x", encoding="utf-8", newline="\n") as out:
            out.write(text)
    except OSError as error:
        raise OutputError(f"could not write {target}: {error.strerror}") from error
    terminal.emit(f"wrote {target}\n\nnext: manifoldgen check {target}")


def _answers(cylinders: int | None) -> Answers:
    """What the user says on a terminal; the defaults without one."""
    from manifoldgen.parameters.starter import Answers

    plain = Answers() if cylinders is None else replace(Answers(), cylinders=cylinders)
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return plain
    if cylinders is None:
        plain = replace(plain, cylinders=typer.prompt("Cylinders", default=plain.cylinders, err=True))
    pitch = typer.prompt("Port to port, mm", default=plain.pitch, err=True)
    od = typer.prompt("Runner tube OD, mm", default=plain.od, err=True)
    wall = typer.prompt("Runner tube wall, mm", default=plain.wall, err=True)
    clr = typer.prompt("Elbow CLR, mm", default=round(1.5 * od, 1), err=True)
    return replace(plain, pitch=pitch, od=od, wall=wall, clr=clr)
