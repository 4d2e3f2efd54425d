"""`manifoldgen schema`: the JSON Schema of the parameter file, for an editor's completion and hints."""

from __future__ import annotations

import json

from manifoldgen.cli import terminal


def schema() -> None:
    """Print the JSON Schema of the parameter file."""
    from manifoldgen.parameters import json_schema

    terminal.emit(json.dumps(json_schema(), indent=2, ensure_ascii=False))
