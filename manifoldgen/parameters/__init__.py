"""What the user writes: models of the parameter file, its loader with line and column, its JSON Schema."""

from __future__ import annotations

from manifoldgen.parameters.job import Parameters

__all__ = ["Parameters"]
