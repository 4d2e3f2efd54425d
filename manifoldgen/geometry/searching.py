"""What a search for the worst place is made of, whatever the tube is held against: stretches, results, the worst.

A kernel searches one stretch of a tube and leaves its answer in `best`; `_search` says what stands where in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.gap import Asked, Gap
from manifoldgen.geometry.rows import TubeRows, cut
from manifoldgen.geometry.vectors import Array, Vec, vec

FAR = 1e18  # nothing found yet


@dataclass(frozen=True, eq=False)
class AskedStretch:
    """A stretch of a run on which the asked gap is `ask` at its start and changes by `slope` per mm."""

    run: TubeRows
    ask: float = 0.0
    slope: float = 0.0

    @property
    def most(self) -> float:
        """The largest gap asked on it, mm."""
        return max(self.ask, self.ask + self.slope * self.run.length)


@dataclass(frozen=True)
class FoundGap:
    """What one search found: the gap and what is asked there, mm, between the wall points `p` and `q`."""

    gap: float
    asked: float
    p: Vec
    q: Vec

    @property
    def margin(self) -> float:
        """Gap less asked gap, mm."""
        return self.gap - self.asked


class WorstGap:
    """The worst margin so far, and the bound below which no unfinished search can have gone."""

    def __init__(self) -> None:
        self.found: FoundGap | None = None
        self.left = math.inf

    @property
    def margin(self) -> float:
        """The worst margin so far, mm; `FAR` before the first."""
        return self.found.margin if self.found else FAR

    def take(self, best: Array, before: float, asked: float, found: FoundGap) -> None:
        """Keep `found` if the search bettered `before`; note what it left undone."""
        self.left = min(self.left, float(best[8]) - asked)
        if best[0] < before and found.margin < self.margin:
            self.found = found

    def as_gap(self, along: tuple[float, float | None], tol: float) -> Gap:
        """The worst place as the answer; certified where nothing left undone can be worse by more than `tol`."""
        assert self.found is not None  # noqa: S101 - the first search starts from FAR and always finds
        f = self.found
        slack = max(0.0, f.margin - self.left)
        certified = slack <= tol
        return Gap(f.gap, f.asked, (f.p, f.q), along, certified, 0.0 if certified else slack)


def stretches(run: TubeRows, asked: Asked | None) -> list[AskedStretch]:
    """The run cut where the asked gap has its corners."""
    if asked is None:
        return [AskedStretch(run)]
    if abs(asked.at[-1] - run.length) > 1e-6:
        raise GeometryError(
            f"the asked gaps end at {asked.at[-1]:g} mm but the path at {run.length:g} mm; make them agree"
        )
    if len(set(asked.gap)) == 1:
        return [AskedStretch(run, asked.gap[0])]
    parts = []
    corners = list(zip(asked.at, asked.gap, strict=True))
    for (s0, g0), (s1, g1) in pairwise(corners):
        rows = cut(run.segs, s0, s1)
        if len(rows):
            parts.append(AskedStretch(TubeRows.of(rows), g0, (g1 - g0) / (s1 - s0)))
    return parts


def fresh(value: float) -> Array:
    """A `best` for a search that only wants what is below `value`, mm."""
    best = np.zeros(10)
    best[0] = value
    best[8:] = math.inf
    return best


def matters_below(worst: WorstGap, part: AskedStretch, tol: float) -> float:
    """The distance below which a stretch matters: what would be worse, or an overlap."""
    return max(worst.margin + part.most, 0.0) + 2.0 * tol


def from_walls(best: Array, asked: float) -> FoundGap:
    """A result between two wall points."""
    return FoundGap(float(best[0]), asked, vec(best[1:4]), vec(best[4:7]))


def from_centre(best: Array, radius: float, part: AskedStretch) -> FoundGap:
    """A result whose first point is on the centreline, brought out to the wall."""
    c, q = best[1:4], best[4:7]
    d = float(np.linalg.norm(q - c))
    gap = d - radius
    p = c + (q - c) * (radius / d) if d > 0 else c
    return FoundGap(gap, part.ask if part.slope == 0.0 else gap - float(best[0]), vec(p), vec(q))


def from_lines(best: Array, ra: float, rb: float, part: AskedStretch) -> FoundGap:
    """A result between two centrelines, brought out to both walls."""
    c, e = best[1:4], best[4:7]
    d = float(np.linalg.norm(e - c))
    n = (e - c) / d if d > 0 else np.zeros(3)
    gap = d - ra - rb
    asked = part.ask if part.slope == 0.0 else gap - float(best[0])
    return FoundGap(gap, asked, vec(c + ra * n), vec(e - rb * n))


def along(worst: WorstGap, a: TubeRows, b: TubeRows | None) -> tuple[float, float | None]:
    """Arc lengths of the worst place on the first tube and on the second, mm."""
    from manifoldgen.geometry import _search

    assert worst.found is not None  # noqa: S101 - see WorstGap.as_gap
    on_a = float(_search.foot(a.segs, *worst.found.p))
    return on_a, None if b is None else float(_search.foot(b.segs, *worst.found.q))
