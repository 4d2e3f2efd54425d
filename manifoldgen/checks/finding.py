"""One finding: what was measured, what was asked, where, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from manifoldgen.errors import Where
from manifoldgen.geometry.vectors import Vec
from manifoldgen.public import public

Severity = Literal["error", "warning", "note"]
RANK: dict[Severity, int] = {"error": 0, "warning": 1, "note": 2}


@public
@dataclass(frozen=True)
class Finding:
    """What one check has to say.

    name : fixed (``runner-gap``).  message : one sentence with parts, value and limit.
    do : what to do about it, with numbers.  value, limit : in `unit`; None where a number does not apply.
    parts : names of the parts.  points : the two closest points, or the place, mm, bench frame.
    where : place in the parameter file, or None.
    """

    name: str
    severity: Severity
    message: str
    do: str
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    parts: tuple[str, ...] = ()
    points: tuple[Vec, ...] = ()
    where: Where | None = None

    @property
    def miss(self) -> float:
        """How far the value is off, as a share of the limit (of 1 where the limit is smaller)."""
        if self.value is None or self.limit is None:
            return 0.0
        return abs(self.value - self.limit) / max(abs(self.limit), 1.0)

    @property
    def rank(self) -> tuple[int, float, str, tuple[str, ...]]:
        """Sorts worst first: severity, then how far off (rounding is no order), then by name."""
        return (RANK[self.severity], -round(self.miss, 6), self.name, self.parts)

    def __lt__(self, other: Finding) -> bool:
        return self.rank < other.rank

    def __str__(self) -> str:
        place = f" (line {self.where.line})" if self.where else ""
        return f"{self.severity} {self.name}{place}: {self.message} {self.do}"

    def as_dict(self) -> dict[str, Any]:
        """The keys of report.json; numbers as they are, None for what does not apply."""
        return {
            "name": self.name,
            "severity": self.severity,
            "message": self.message,
            "value": self.value,
            "limit": self.limit,
            "unit": self.unit,
            "parts": list(self.parts),
            "points": [list(p) for p in self.points],
            "where": {"line": self.where.line, "column": self.where.column} if self.where else None,
            "do": self.do,
        }


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Errors before warnings before notes, the furthest off first."""
    return tuple(sorted(findings))
