"""One finding: what was measured, what was asked, where, what to do about it; and its kind, which never changes.

A kind stands beside the check that makes it, and findings are made from it by keyword::

    RUNNER_GAP = FindingKind(name="runner-gap", means="…", why="…", do="…")
    RUNNER_GAP.finding(message="…", do="…", value=4.2, limit=12.0, unit="mm")
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape
from typing import Any, Literal

from manifoldgen.errors import Where
from manifoldgen.geometry.vectors import Vec
from manifoldgen.public import public

Severity = Literal["error", "warning", "note"]
SIGNS: dict[Severity, str] = {"error": "✕", "warning": "▲", "note": "·"}
RANK: dict[Severity, int] = {"error": 0, "warning": 1, "note": 2}
_NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)+")


@dataclass(frozen=True, kw_only=True)
class FindingKind:
    """What is true of every finding of one name, in shop language.

    name : fixed; small words and hyphens (``runner-gap``).
    severities : those it may have, the worst first.
    means : what was found.  why : why it matters.  do : what to do about it in general.

    Raises
    ------
    ValueError : another kind of name, a severity that there is not, or nothing said.
    """

    name: str
    severities: tuple[Severity, ...] = ("error",)
    means: str
    why: str
    do: str

    def __post_init__(self) -> None:
        if not _NAME.fullmatch(self.name):
            raise ValueError(f"a finding is called like runner-gap, not {self.name!r}")
        if list(self.severities) != [s for s in RANK if s in self.severities] or not self.severities:
            raise ValueError(
                f"{self.name} may be {', '.join(RANK)}, the worst first, not {self.severities!r}"
            )
        if not (self.means and self.why and self.do):
            raise ValueError(f"{self.name} has to say what it means, why it matters and what to do")

    @property
    def headline(self) -> str:
        """The first sentence of what it means."""
        return self.means.split(". ")[0].rstrip(".") + "."

    @property
    def explanation(self) -> str:
        """All there is to say of it: name and severity, what it means, why it matters, what to do."""
        said = f"{self.name} ({' or '.join(self.severities)}): {self.means}"
        return f"{said}\n\nWhy: {self.why}\n\nDo: {self.do}"

    def finding(
        self,
        *,
        message: str,
        do: str,
        severity: Severity | None = None,
        value: float | None = None,
        limit: float | None = None,
        unit: str | None = None,
        parts: tuple[str, ...] = (),
        points: tuple[Vec, ...] = (),
        where: Where | None = None,
    ) -> Finding:
        """One of this kind; the fields are those of `Finding`.

        severity : has to be said only where there are several.

        Raises
        ------
        ValueError : the kind has no such severity, or has several and none was said.
        """
        if severity is None:
            if len(self.severities) > 1:
                raise ValueError(f"{self.name} may be {' or '.join(self.severities)}: say which")
            severity = self.severities[0]
        return Finding(
            kind=self, severity=severity, message=message, do=do, value=value, limit=limit, unit=unit,
            parts=parts, points=points, where=where,
        )  # fmt: skip


@public
@dataclass(frozen=True, kw_only=True)
class Finding:
    """What one check has to say.

    kind : what it is.  severity : one of the kind's.  message : one sentence with parts, value and limit.
    do : what to do about it, with numbers.  value, limit : in `unit`; None where a number does not apply.
    parts : names of the parts.  points : the two closest points, or the place, mm, bench frame.
    where : place in the parameter file, or None.

    Raises
    ------
    ValueError : no kind, or a severity that its kind does not have.
    """

    kind: FindingKind
    severity: Severity
    message: str
    do: str
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    parts: tuple[str, ...] = ()
    points: tuple[Vec, ...] = ()
    where: Where | None = None

    def __post_init__(self) -> None:
        if not isinstance(self.kind, FindingKind):
            raise ValueError(f"a finding is made from its kind, not from {self.kind!r}")  # noqa: TRY004
        if self.severity not in self.kind.severities:
            allowed = " or ".join(self.kind.severities)
            raise ValueError(f"{self.kind.name} is of severity {allowed}, not {self.severity!r}")

    @property
    def name(self) -> str:
        """Its kind's (``runner-gap``)."""
        return self.kind.name

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


class Findings(tuple[Finding, ...]):
    """Findings in their order; they show themselves as lines, in a notebook as a table."""

    __slots__ = ()

    def __repr__(self) -> str:
        """A line a finding: ``✕ runner-gap: runner 1 to runner 2 is 3.1 mm, …``."""
        return (
            "\n".join(f"{SIGNS[f.severity]} {f.name}: {f.message} {f.do}".rstrip() for f in self)
            or "no findings"
        )

    def _repr_html_(self) -> str:
        cells = ((f"{SIGNS[f.severity]} {f.severity}", f.name, f.message, f.do) for f in self)
        rows = "".join(f"<tr>{''.join(f'<td>{escape(c)}</td>' for c in row)}</tr>" for row in cells)
        heads = "".join(
            f"<th>{head}</th>" for head in ("severity", "finding", "what was found", "what to do")
        )
        return (
            f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>" if rows else "no findings"
        )


def worst_first(findings: Iterable[Finding]) -> Findings:
    """Errors before warnings before notes, the furthest off first."""
    return Findings(sorted(findings))
