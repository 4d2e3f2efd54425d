"""Where a value stands in the parameter file, as the opening of a message."""

from __future__ import annotations

from manifoldgen.parameters.job import Parameters


def place(job: Parameters, *keys: str | int) -> str:
    """``file:line:column: `` of a value, to open a message with; empty for a job without a file."""
    where = job.where(*keys)
    return f"{job.path}:{where.line}:{where.column}: " if where and job.path else ""
