"""What the user writes: models of the parameter file, its loader with line and column, its JSON Schema."""

from __future__ import annotations

from manifoldgen.parameters.job import Parameters
from manifoldgen.parameters.load import load, load_text

__all__ = ["Parameters", "load", "load_text"]
