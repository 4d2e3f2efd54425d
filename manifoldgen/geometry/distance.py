"""Certified wall-to-wall distances: tube to tube, a tube to itself, tube to shape, point to shape.

Tubes count as solid inside with flat ends.  Distances come from branch and bound over exact closed forms
(`_search`), so each is proved to within its tolerance: no sampling, no mesh.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.geometry.gap import Asked, Gap
from manifoldgen.geometry.rows import NO_EDGES, TubeRows, run_of, shape_rows, slices
from manifoldgen.geometry.searching import (
    FAR,
    AskedStretch,
    FoundGap,
    WorstGap,
    along,
    fresh,
    from_centre,
    from_lines,
    from_walls,
    matters_below,
    stretches,
)
from manifoldgen.geometry.shapes import Shape, Tube
from manifoldgen.geometry.vectors import Array, array, vec

CAP = 400_000.0  # steps of one search, a fraction of a second; parallel walls need some hundreds
SLICE_DEG = 5.0
SELF_DEG = 180.0 - 2 * SLICE_DEG  # a pair 180° apart lies in slices at least this far apart


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
    parts_a, parts_b = stretches(ra, asked_a), stretches(rb, asked_b)
    least_a = min(asked_a.gap) if asked_a else 0.0
    least_b = min(asked_b.gap) if asked_b else 0.0
    worst = WorstGap()
    # -max(x, y) = min(-x, -y): each tube's own asked gap is measured apart, all of the other against it
    for part in parts_a:
        if part.most >= least_b:
            _part_against(part, rb, tol, worst, swapped=False)
    for part in parts_b:
        if part.most > least_a:
            _part_against(part, ra, tol, worst, swapped=True)
    return worst.as_gap(along(worst, ra, rb), tol)


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
    best, none = fresh(FAR), np.zeros(1)
    for i in range(len(pieces)):
        j = int(np.searchsorted(bend[:-1], bend[i + 1] + SELF_DEG - 1e-9))
        if j < len(pieces):
            _search.march(
                pieces[i : i + 1], none, 0.0, zones[i : i + 1], lines[j:], NO_EDGES, 2 * a.radius,
                _search.ROUND, 0, tol, CAP, best,
            )  # fmt: skip
    if best[0] >= FAR:
        return None
    worst = WorstGap()
    worst.take(best, FAR, asked, from_lines(best, a.radius, a.radius, AskedStretch(run, asked)))
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
    worst = WorstGap()
    for part in stretches(run, asked):
        _part_to_shape(part, rows, edges, tol, worst)
    return worst.as_gap(along(worst, run, None), tol)


def point_to_shape(point: ArrayLike, shape: Shape) -> float:
    """Distance of a point to a solid shape, 0 inside, mm; exact closed form."""
    from manifoldgen.geometry import _kernels

    rows, edges = shape_rows(shape)
    return float(_kernels.nearest(rows[0], edges, *vec(array(point)))[0])


def _part_against(part: AskedStretch, other: TubeRows, tol: float, worst: WorstGap, *, swapped: bool) -> None:
    """Better `worst` by one stretch of one tube against all of another."""
    from manifoldgen.geometry import _search

    run = part.run
    segs, zones = run.segs, run.kernel[4]
    asks = part.ask + part.slope * run.starts
    before = matters_below(worst, part, tol)
    best = fresh(before)
    if part.slope == 0.0:
        _search.tubes(run.kernel, run.radius, other.kernel, other.radius, NO_EDGES, tol, CAP, best)
        overlap = best[0] <= tol
        found = from_walls(best, part.ask)
    else:
        solids = other.kernel[1]
        _search.march(
            segs, 0 * asks, 0.0, zones, solids, NO_EDGES, run.radius, _search.ROUND, 0, tol, CAP, best
        )
        overlap = best[0] <= tol
        before = worst.margin
        best = fresh(before)
        _search.march(
            segs, asks, part.slope, zones, solids, NO_EDGES, run.radius, _search.ROUND, 0, tol, CAP, best
        )  # fmt: skip
        found = from_centre(best, run.radius, part)
    if overlap:
        before = worst.margin
        best = fresh(before)
        both = run.radius + other.radius
        _search.march(
            segs, asks, part.slope, zones, other.lines, NO_EDGES, both, _search.ROUND, 0, tol, CAP, best
        )
        found = from_lines(best, run.radius, other.radius, part)
    if swapped:
        found = FoundGap(found.gap, found.asked, found.q, found.p)
    in_margins = overlap or part.slope != 0.0
    worst.take(best, before, 0.0 if in_margins else part.ask, found)


def _part_to_shape(part: AskedStretch, rows: Array, edges: Array, tol: float, worst: WorstGap) -> None:
    """Better `worst` by one stretch of a tube against a shape."""
    from manifoldgen.geometry import _search

    run = part.run
    if part.slope == 0.0:
        before = matters_below(worst, part, tol)
        best = fresh(before)
        _search.shape(run.kernel, run.radius, rows, edges, tol, CAP, best)
        if best[0] > tol:
            worst.take(best, before, part.ask, from_walls(best, part.ask))
            return
    before = worst.margin
    best = fresh(before)
    asks = part.ask + part.slope * run.starts
    _search.march(
        run.segs, asks, part.slope, run.kernel[4], rows, edges, run.radius, _search.ROUND, 0, tol, CAP, best
    )  # fmt: skip
    worst.take(best, before, 0.0, from_centre(best, run.radius, part))
