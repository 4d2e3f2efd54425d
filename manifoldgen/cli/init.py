"""`manifoldgen init NAME`: a commented parameter file that builds as it stands."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from manifoldgen.cli import terminal
from manifoldgen.errors import ManifoldgenError, OutputError

_DEFAULT_CYLINDERS = 4


def init(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Small letters, digits, hyphens.")],
    cylinders: Annotated[
        int | None,
        typer.Option("--cylinders", metavar="N", help="How many: 2 to 4.", show_default=False),
    ] = None,
) -> None:
    """Write NAME.yaml, a commented parameter file to start from; it builds as it stands."""
    from manifoldgen.parameters.starter import starter

    text = starter(name, cylinders if cylinders is not None else _asked_cylinders())
    target = Path(f"{name}.yaml")
    if target.exists():
        raise ManifoldgenError(f"{target} exists and is not overwritten: move it away or take another name")
    try:
        with target.open("x", encoding="utf-8", newline="\n") as out:
            out.write(text)
    except OSError as error:
        raise OutputError(f"could not write {target}: {error.strerror}") from error
    terminal.emit(f"wrote {target}\n\nnext: manifoldgen check {target}")


def _asked_cylinders() -> int:
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return _DEFAULT_CYLINDERS
    return int(typer.prompt("How many cylinders", default=_DEFAULT_CYLINDERS, type=int, err=True))
