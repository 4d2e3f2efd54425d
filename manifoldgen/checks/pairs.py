"""What every gap check shares: a measured pair, the gap asked along a runner, the finding of a short one."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.errors import Where
from manifoldgen.geometry.gap import Asked, Gap
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.asked import asked_along
from manifoldgen.manifold.model import Limits, Run
from manifoldgen.wording import compared, fixed, some

TOLERANCE = 1e-3  # mm: how far a gap is certified, and what is let pass


@dataclass(frozen=True)
class Pair:
    """Two parts and the place where the gap between them is worst.

    kind : of the finding it would make.  do : the cure, the missing mm to be filled in for ``{}``.
    surely : False where an overlap is only not ruled out.
    known_to : mm by which the gap may be off because of the survey (95 %); 0 where both places are exact.
    told : what the sentence adds about the gap (`` over the engine's movement (…)``).
    """

    kind: FindingKind
    a: str
    b: str
    gap: Gap
    do: str
    where: Where | None = None
    told: str = ""
    surely: bool = True
    known_to: float = 0.0

    @property
    def short(self) -> bool:
        """Whether the gap is smaller than asked by more than is let pass."""
        return bool(self.gap.margin < -TOLERANCE)

    def as_dict(self) -> dict[str, object]:
        """A row of report.json's ``gaps``."""
        points = [list(vec(p)) for p in self.gap.points]
        gap, asked = float(self.gap.gap), float(self.gap.asked)
        row = {"a": self.a, "b": self.b, "gap_mm": gap, "asked_mm": asked, "points": points}
        return row | ({"known_to_mm": self.known_to} if self.known_to else {})


def along_runner(run: Run, limits: Limits) -> Asked:
    """The gap a runner asks of other runners, along its length."""
    return asked_along(run.path.length if run.path else 0.0, limits)


def worst(gaps: Iterable[Gap | None]) -> Gap | None:
    """The gap with the least margin, or None where nothing was measured."""
    return min((g for g in gaps if g is not None), key=lambda g: g.margin, default=None)


def short(pairs: Iterable[Pair]) -> tuple[Finding, ...]:
    """A finding for every pair whose gap is smaller than asked."""
    return tuple(_finding(p) for p in pairs if p.short)


def _finding(p: Pair) -> Finding:
    gap, asked = float(p.gap.gap), float(p.gap.asked)
    who = (
        f"{p.a} crosses itself" if p.a == p.b else f"{p.a} {'overlaps' if p.surely else 'may overlap'} {p.b}"
    )
    if gap >= 0:
        who = f"{p.a} to itself" if p.a == p.b else f"{p.a} to {p.b}"
    told = compared(gap, asked)
    size = f"by {some(-gap)} mm" if gap < 0 else f"is {told.value} mm"
    message = f"{who} {size}{p.told}, {told.limit} mm required." if gap >= 0 else f"{who} {size}{p.told}."
    if not p.gap.certified:
        message += f" Not certified: it may be up to {fixed(_up(float(p.gap.slack)))} mm less."
    points = tuple(vec(q) for q in p.gap.points)
    parts = (p.a,) if p.a == p.b else (p.a, p.b)
    return p.kind.finding(
        message=message,
        do=p.do.format(f"{told.apart} mm"),
        value=gap,
        limit=asked,
        unit="mm",
        parts=parts,
        points=points,
        where=p.where,
    )


def _up(mm: float) -> float:
    """A bound to 0.1 mm, never too small."""
    return math.ceil(10.0 * mm - 1e-6) / 10.0 if math.isfinite(mm) else mm
