"""What the user writes: models of the parameter file, its loader with line and column, its JSON Schema."""

from __future__ import annotations

from manifoldgen.parameters.job import Parameters
from manifoldgen.parameters.load import load, load_text
from manifoldgen.parameters.schema import json_schema

__all__ = ["Parameters", "json_schema", "load", "load_text"]
