"""`manifoldgen schema`: the JSON Schema of the parameter file, for an editor's completion and hints."""

from __future__ import annotations

from manifoldgen.cli import terminal


def schema() -> None:
    """Print the JSON Schema of the parameter file."""
    from manifoldgen.parameters.schema import text

    terminal.emit(text())
