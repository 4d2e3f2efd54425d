"""Findings in report.json's form, worst first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from manifoldgen.checks.finding import Finding

SEVERITIES = ("error", "warning", "note")


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort by severity, then by name; equal ones stay in the order they came."""
    return tuple(sorted(findings, key=lambda f: (SEVERITIES.index(f.severity), f.name)))


def counts(findings: Iterable[Finding]) -> dict[str, int]:
    """How many findings there are of each severity, in the order error, warning, note."""
    found = [f.severity for f in findings]
    return {severity: found.count(severity) for severity in SEVERITIES}


def entry(finding: Finding) -> dict[str, Any]:
    """One finding as report.json writes it."""
    where = finding.where
    return {
        "name": finding.name,
        "severity": finding.severity,
        "message": finding.message,
        "value": finding.value,
        "limit": finding.limit,
        "unit": finding.unit,
        "parts": list(finding.parts),
        "points": [[float(c) for c in point] for point in finding.points],
        "where": None if where is None else {"line": where.line, "column": where.column},
        "do": finding.do,
    }
