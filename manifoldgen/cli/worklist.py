"""`manifoldgen worklist FILE`: what is left to do, in the order it is worked; what is done is kept beside the job.

Read by the parser where `plain` leaves it; `worked` answers either way.
"""

from __future__ import annotations

from typing import Annotated

import typer

from manifoldgen.cli.options import Format, FormatOption, JobFile

Done = Annotated[
    list[str] | None,
    typer.Option("--done", metavar="ID", help="This is done: a step, or all of a piece or joint. Repeat it.", show_default=False),
]  # fmt: skip
Undo = Annotated[
    list[str] | None,
    typer.Option("--undo", metavar="ID", help="This is not done after all. Repeat it.", show_default=False),
]


def worklist(
    file: JobFile, done: Done = None, undo: Undo = None, format_: FormatOption = Format.TEXT
) -> None:
    """Show what is left to do, step by step in working order, and keep what is done beside the job."""
    from manifoldgen.cli.worked import answer

    raise typer.Exit(answer(file, done=done or (), undo=undo or (), as_json=format_ is Format.JSON))
