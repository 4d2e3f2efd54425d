"""Arguments that several verbs share."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class Format(StrEnum):
    """How a result is printed."""

    TEXT = "text"
    JSON = "json"


JobFile = Annotated[Path, typer.Argument(metavar="FILE", help="The parameter file.", show_default=False)]
FormatOption = Annotated[Format, typer.Option("--format", help="text, or one JSON object on stdout.")]
SeedOption = Annotated[
    int, typer.Option("--seed", metavar="K", min=0, max=2**31, help="Of the search: same seed, same paths.")
]
