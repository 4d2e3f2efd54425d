"""Certified wall-to-wall distances: tube to tube, a tube to itself, tube to shape, point to shape.

Tubes count as solid inside with flat ends.  Distances come from branch and bound over exact closed forms
(`_search`), so each is proved to within its tolerance: no sampling, no mesh.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.rows import NO_EDGES, TubeRows, cut, run_of, shape_rows, slices
from manifoldgen.geometry.shapes import Shape, Tube
from manifoldgen.geometry.vectors import Array, Vec, array, vec

CAP = 400_000.0  # steps of one search, a fraction of a second; parallel walls need some hundreds
FAR = 1e18  # nothing found yet
SLICE_DEG = 5.0
SELF_DEG = 180.0 - 2 * SLICE_DEG  # a pair 180° apart lies in slices at least this far apart


@dataclass(frozen=True)
class Asked:
    """The gap asked along a run: constant pieces joined by ramps.

    at : arc lengths in mm, not decreasing, from 0.0 to the path's length; a step is the same twice.
    gap : asked gap there in mm, linear between.
    """

    at: tuple[float, ...]
    gap: tuple[float, ...]

    def __post_init__(self) -> None:
        rising = all(a <= b for a, b in pairwise(self.at))
        known = all(math.isfinite(v) for v in self.at + self.gap)
        if len(self.at) != len(self.gap) or len(self.at) < 2 or self.at[0] != 0 or not (rising and known):
            raise GeometryError(
                f"asked gaps {list(self.gap)} at arc lengths {list(self.at)} do not fit together; "
                "give as many of both, the arc lengths rising from 0"
            )

    @classmethod
    def flat(cls, gap: float, length: float) -> Asked:
        """The same gap all along a path of `length` mm."""
        return cls((0.0, length), (gap, gap))


@dataclass(frozen=True)
class Gap:
    """The worst place between two solids.

    gap : wall to wall there, mm; negative where they overlap.
    asked : asked there, mm.
    points : the two closest wall points, on the first and on the second.
    along : arc length on the first tube and on the second (None for a shape), mm.
    certified : False where the step cap was hit; `margin` may then be too large by `slack` mm.
    """

    gap: float
    asked: float
    points: tuple[Vec, Vec]
    along: tuple[float, float | None]
    certified: bool
    slack: float

    @property
    def margin(self) -> float:
        """Gap less asked gap, mm; negative is a fault."""
        return self.gap - self.asked


@dataclass(frozen=True, eq=False)
class _Part:
    """A stretch of a run on which the asked gap is `ask` at its start and changes by `slope` per mm."""

    run: TubeRows
    ask: float = 0.0
    slope: float = 0.0

    @property
    def most(self) -> float:
        return max(self.ask, self.ask + self.slope * self.run.length)


@dataclass(frozen=True)
class _Found:
    gap: float
    asked: float
    p: Vec
    q: Vec

    @property
    def margin(self) -> float:
        return self.gap - self.asked


class _Worst:
    """The worst margin so far, and the bound below which no unfinished search can have gone."""

    def __init__(self) -> None:
        self.found: _Found | None = None
        self.left = math.inf

    @property
    def margin(self) -> float:
        return self.found.margin if self.found else FAR

    def take(self, best: Array, before: float, asked: float, found: _Found) -> None:
        """Keep `found` if the search bettered `before`; note what it left undone."""
        self.left = min(self.left, float(best[8]) - asked)
        if best[0] < before and found.margin < self.margin:
            self.found = found

    def as_gap(self, along: tuple[float, float | None], tol: float) -> Gap:
        assert self.found is not None  # noqa: S101 - the first search starts from FAR and always finds
        f = self.found
        slack = max(0.0, f.margin - self.left)
        certified = slack <= tol
        return Gap(f.gap, f.asked, (f.p, f.q), along, certified, 0.0 if certified else slack)


def between_tubes(
    a: Tube, b: Tube, asked_a: Asked | None = None, asked_b: Asked | None = None, tol: float = 1e-3
) -> Gap:
    """The worst place between two tubes: least gap, or least of gap less asked gap.

    Without asked gaps the result is the least distance of the two solids with their flat ends exact.
    With them, two places of the tubes ask the larger of their two gaps, and the result is the least
    margin; where the asked gap has a slope, that stretch of tube counts with round
    ends, never too favourably.  Solids nearer than `tol` count as touching; touching or overlapping ones
    have the gap `centreline distance - both radii`, the least of the stretch: never above `tol`, and it
    jumps well below 0 where flat ends meet.

    Parameters
    ----------
    a, b : tubes, mm.
    asked_a, asked_b : asked gap along each; None asks 0.
    tol : how near the least margin is proved, mm.

    Raises
    ------
    GeometryError : a tube of no length, or asked gaps that end elsewhere than their path.
    """
    ra, rb = run_of(a), run_of(b)
    parts_a, parts_b = _parts(ra, asked_a), _parts(rb, asked_b)
    least_a = min(asked_a.gap) if asked_a else 0.0
    least_b = min(asked_b.gap) if asked_b else 0.0
    worst = _Worst()
    # -max(x, y) = min(-x, -y): each tube's own asked gap is measured apart, all of the other against it
    for part in parts_a:
        if part.most >= least_b:
            _part_against(part, rb, tol, worst, swapped=False)
    for part in parts_b:
        if part.most > least_a:
            _part_against(part, ra, tol, worst, swapped=True)
    return worst.as_gap(_along(worst, ra, rb), tol)


def within_tube(a: Tube, asked: float = 0.0, tol: float = 1e-3) -> Gap | None:
    """The least gap of a run to itself, None where it bends too little to meet itself.

    Neighbours along the tube are no clash: bends are cut into slices of at most 5° and only slices with
    at least 170° of bend between them are measured.  That misses nothing: where two wall points come
    critically close, the chord is square to both tangents, and a curve with such a chord turns through
    at least 180° (Fenchel's theorem: a closed curve turns through at least 360°, of which the two
    corners at the chord take 90° each).  The ends count as round here.
    """
    from manifoldgen.geometry import _search

    run = run_of(a)
    pieces, bend = slices(run.segs, SLICE_DEG)
    sliced = TubeRows.of(pieces)
    lines, zones = sliced.lines, sliced.kernel[4]
    best, none = _fresh(FAR), np.zeros(1)
    for i in range(len(pieces)):
        j = int(np.searchsorted(bend[:-1], bend[i + 1] + SELF_DEG - 1e-9))
        if j < len(pieces):
            _search.march(
                pieces[i : i + 1], none, 0.0, zones[i : i + 1], lines[j:], NO_EDGES, 2 * a.radius,
                _search.ROUND, 0, tol, CAP, best,
            )  # fmt: skip
    if best[0] >= FAR:
        return None
    worst = _Worst()
    worst.take(best, FAR, asked, _between_lines(best, a.radius, a.radius, _Part(run, asked)))
    centres = best[1:4], best[4:7]
    s, t = (_search.foot(run.segs, *centre) for centre in centres)
    return worst.as_gap((s, t), tol)


def to_shape(a: Tube, shape: Shape, asked: Asked | None = None, tol: float = 1e-3) -> Gap:
    """The worst place between a tube and a solid shape; see `between_tubes` for asked gaps.

    Where they touch (nearer than `tol`) or overlap the gap is minus how deep the shape reaches past the tube's (round-ended)
    wall, at most down to its centreline: 0 to -radius.

    Raises
    ------
    GeometryError : a tube of no length, or asked gaps that end elsewhere than its path.
    """
    run = run_of(a)
    rows, edges = shape_rows(shape)
    worst = _Worst()
    for part in _parts(run, asked):
        _part_to_shape(part, rows, edges, tol, worst)
    return worst.as_gap(_along(worst, run, None), tol)


def point_to_shape(point: ArrayLike, shape: Shape) -> float:
    """Distance of a point to a solid shape, 0 inside, mm; exact closed form."""
    from manifoldgen.geometry import _kernels

    rows, edges = shape_rows(shape)
    return float(_kernels.nearest(rows[0], edges, *vec(array(point)))[0])


def _parts(run: TubeRows, asked: Asked | None) -> list[_Part]:
    """The run cut where the asked gap has its corners."""
    if asked is None:
        return [_Part(run)]
    if abs(asked.at[-1] - run.length) > 1e-6:
        raise GeometryError(
            f"the asked gaps end at {asked.at[-1]:g} mm but the path at {run.length:g} mm; make them agree"
        )
    if len(set(asked.gap)) == 1:
        return [_Part(run, asked.gap[0])]
    parts = []
    corners = list(zip(asked.at, asked.gap, strict=True))
    for (s0, g0), (s1, g1) in pairwise(corners):
        rows = cut(run.segs, s0, s1)
        if len(rows):
            parts.append(_Part(TubeRows.of(rows), g0, (g1 - g0) / (s1 - s0)))
    return parts


def _fresh(value: float) -> Array:
    best = np.zeros(10)
    best[0] = value
    best[8:] = math.inf
    return best


def _part_against(part: _Part, other: TubeRows, tol: float, worst: _Worst, *, swapped: bool) -> None:
    """Better `worst` by one stretch of one tube against all of another."""
    from manifoldgen.geometry import _search

    run = part.run
    segs, zones = run.segs, run.kernel[4]
    asks = part.ask + part.slope * run.starts
    before = _start(worst, part, tol)
    best = _fresh(before)
    if part.slope == 0.0:
        _search.tubes(run.kernel, run.radius, other.kernel, other.radius, NO_EDGES, tol, CAP, best)
        overlap = best[0] <= tol
        found = _from_walls(best, part.ask)
    else:
        solids = other.kernel[1]
        _search.march(
            segs, 0 * asks, 0.0, zones, solids, NO_EDGES, run.radius, _search.ROUND, 0, tol, CAP, best
        )
        overlap = best[0] <= tol
        before = worst.margin
        best = _fresh(before)
        _search.march(
            segs, asks, part.slope, zones, solids, NO_EDGES, run.radius, _search.ROUND, 0, tol, CAP, best
        )  # fmt: skip
        found = _from_centre(best, run.radius, part)
    if overlap:
        before = worst.margin
        best = _fresh(before)
        both = run.radius + other.radius
        _search.march(
            segs, asks, part.slope, zones, other.lines, NO_EDGES, both, _search.ROUND, 0, tol, CAP, best
        )
        found = _between_lines(best, run.radius, other.radius, part)
    if swapped:
        found = _Found(found.gap, found.asked, found.q, found.p)
    in_margins = overlap or part.slope != 0.0
    worst.take(best, before, 0.0 if in_margins else part.ask, found)


def _start(worst: _Worst, part: _Part, tol: float) -> float:
    """The distance below which a stretch matters: what would be worse, or an overlap."""
    return max(worst.margin + part.most, 0.0) + 2.0 * tol


def _part_to_shape(part: _Part, rows: Array, edges: Array, tol: float, worst: _Worst) -> None:
    """Better `worst` by one stretch of a tube against a shape."""
    from manifoldgen.geometry import _search

    run = part.run
    if part.slope == 0.0:
        before = _start(worst, part, tol)
        best = _fresh(before)
        _search.shape(run.kernel, run.radius, rows, edges, tol, CAP, best)
        if best[0] > tol:
            worst.take(best, before, part.ask, _from_walls(best, part.ask))
            return
    before = worst.margin
    best = _fresh(before)
    asks = part.ask + part.slope * run.starts
    _search.march(
        run.segs, asks, part.slope, run.kernel[4], rows, edges, run.radius, _search.ROUND, 0, tol, CAP, best
    )  # fmt: skip
    worst.take(best, before, 0.0, _from_centre(best, run.radius, part))


def _from_walls(best: Array, asked: float) -> _Found:
    """A result between two wall points."""
    return _Found(float(best[0]), asked, vec(best[1:4]), vec(best[4:7]))


def _from_centre(best: Array, radius: float, part: _Part) -> _Found:
    """A result whose first point is on the centreline, brought out to the wall."""
    c, q = best[1:4], best[4:7]
    d = float(np.linalg.norm(q - c))
    gap = d - radius
    p = c + (q - c) * (radius / d) if d > 0 else c
    return _Found(gap, part.ask if part.slope == 0.0 else gap - float(best[0]), vec(p), vec(q))


def _between_lines(best: Array, ra: float, rb: float, part: _Part) -> _Found:
    """A result between two centrelines, brought out to both walls."""
    c, e = best[1:4], best[4:7]
    d = float(np.linalg.norm(e - c))
    n = (e - c) / d if d > 0 else np.zeros(3)
    gap = d - ra - rb
    asked = part.ask if part.slope == 0.0 else gap - float(best[0])
    return _Found(gap, asked, vec(c + ra * n), vec(e - rb * n))


def _along(worst: _Worst, a: TubeRows, b: TubeRows | None) -> tuple[float, float | None]:
    from manifoldgen.geometry import _search

    assert worst.found is not None  # noqa: S101 - see _Worst.as_gap
    on_a = float(_search.foot(a.segs, *worst.found.p))
    return on_a, None if b is None else float(_search.foot(b.segs, *worst.found.q))
