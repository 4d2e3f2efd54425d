"""Whether the runners are as equal in length as was asked."""

from __future__ import annotations

import math

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.manifold.model import Manifold
from manifoldgen.wording import compared, some

LENGTH_SPREAD = FindingKind(
    name="length-spread",
    means="The longest and the shortest runner differ by more than runners.length.equal_within of their mean.",
    why="Pulses reach the turbine unevenly spaced; equal lengths are what the file wants.",
    do="Lengthen the shortest or shorten the longest by the millimetres given, or ask for less.",
)
EXACT = 1e-9  # share of the mean: rounding is no spread


def spread(lengths: list[float]) -> float:
    """(longest - shortest) / mean, a fraction."""
    return (max(lengths) - min(lengths)) / (math.fsum(lengths) / len(lengths))


def check(m: Manifold) -> tuple[Finding, ...]:
    """`length-spread`: more than `runners.length.equal_within`, once every runner has a path."""
    laid = [(r.path.length, r) for r in m.runners if r.path is not None]
    if m.equal_within is None or len(laid) < max(2, len(m.runners)):
        return ()
    value = spread([length for length, _ in laid])
    if value <= m.equal_within + EXACT:
        return ()
    (shortest, short), (longest, long) = min(laid, key=lambda x: x[0]), max(laid, key=lambda x: x[0])
    mean = math.fsum(length for length, _ in laid) / len(laid)
    allowed = m.equal_within * mean
    told, ends = compared(100 * value, 100 * m.equal_within, least=2), compared(longest, shortest)
    message = f"{long.name} is {ends.value} mm, {short.name} {ends.limit} mm: {told.value} % apart, {100 * m.equal_within:g} % allowed."
    over = longest - shortest - allowed
    do = f"Lengthen {short.name} or shorten {long.name} by {some(over)} mm or more between them."
    return (
        LENGTH_SPREAD.finding(
            message=message,
            do=do,
            value=100 * value,
            limit=100 * m.equal_within,
            unit="%",
            parts=(long.name, short.name),
            where=short.where,
        ),
    )


CHECK = Check(kinds=(LENGTH_SPREAD,), ask=check)
