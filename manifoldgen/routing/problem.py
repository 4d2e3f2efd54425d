"""The routing problem of a manifold as plain numbers: what is searched, what is fixed, what is asked."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Path
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.collector import inlet_lead, local_inlets
from manifoldgen.manifold.model import Collector, Manifold, Run
from manifoldgen.manifold.ring import RingFit, ring_angle
from manifoldgen.routing.closing import stock_radii
from manifoldgen.routing.hands import NOTHING, HandReach, reach
from manifoldgen.routing.surroundings import Solid, packed, solids

LARGEST = 120.0  # degrees: larger bends are found as two
ROUND_RADIUS = (
    1.5  # CLR over OD where neither stock nor a written bend names one (common practice, no source)
)
SHARE = 0.9  # of the allowed spread that is used beside runners whose length is fixed


@dataclass(frozen=True, eq=False)
class Problem:
    """Runners to find and everything they must respect, mm and radians.

    searched : the runners to find; `starts` (N, 2, 3) their points and directions.
    fixed : runners that stay.  around : solids to stay clear of.
    radii, caps : of the stock, smallest first.  first, last : least straight at the flange and at the inlet.
    limits : gap, at merge, merge zone, at flange, flange zone, ramp.
    before : what hands reach while the searched runners are not there.
    window : least and greatest length that keeps to fixed runners; equal : all the same length.
    """

    m: Manifold
    searched: tuple[Run, ...]
    fixed: tuple[Run, ...]
    starts: Array
    radius: float
    radii: Array
    caps: Array
    first: float
    last: float
    limits: Array
    around: tuple[Solid, ...]
    before: HandReach
    equal: bool
    window: tuple[float, float]

    @property
    def collector(self) -> Collector:
        """The one collector."""
        return self.m.collectors[0]

    @property
    def numbers(self) -> tuple[int, ...]:
        """Cylinders that are searched, in their order."""
        return tuple(run.number for run in self.searched)

    @cached_property
    def solids(self) -> tuple[Array, Array, Array]:
        """Rows, edges and rules of `around`."""
        return packed(self.around)

    @cached_property
    def leg(self) -> Array:
        """Length of an inlet beyond the ring plane, gap asked of other runners, near the inlet, how near, left out."""
        c, limits = self.collector, self.m.limits
        deep = c.merge_depth / math.cos(math.radians(c.half_angle)) if c.kind == "merge" else 0.0
        return array((deep, limits.gap_other, 0.0, limits.merge_zone, 2 * self.radius))

    def collector_at(self, ring: RingFit) -> Collector:
        """The collector turned to a ring: its inlets in place."""
        clock = round(ring.clock % 360.0, 9)  # the solver may have gone round more than once
        c = replace(self.collector, order=ring.order, clock=clock, mirror=ring.mirror)
        turned = tuple(
            replace(pose, at=at, direction=d)
            for pose, (at, d) in zip(
                self.collector.inlets,
                ((tuple(c.frame.out(p)), tuple(c.frame.turn(v))) for p, v in local_inlets(c)),
                strict=True,
            )
        )
        return replace(c, inlets=turned)

    def inlets(self, ring: RingFit) -> Array:
        """Point and direction of every cylinder's inlet (all, 2, 3): searched ones first, then the others."""
        c = replace(self.collector, order=ring.order, clock=ring.clock, mirror=ring.mirror)
        local = array(local_inlets(c))
        placed = np.stack([c.frame.out(local[:, 0]), local[:, 1] @ c.frame.matrix.T], axis=1)
        rest = [n for n in ring.order if n not in self.numbers]
        return np.ascontiguousarray(placed[[ring.order.index(n) for n in (*self.numbers, *rest)]])

    def stations(self, path: Path, count: int) -> Array:
        """A fixed path as stations for the kernels (count, 6)."""
        from manifoldgen.routing._path_kernels import asked

        out = np.empty((count, 6))
        length = path.length
        marks = np.concatenate([[0.0], np.cumsum([s.length for s in path.segments])])
        turns = np.concatenate(
            [[0.0], np.cumsum([math.radians(getattr(e, "angle", 0.0)) for e in path.elements])]
        )
        for k, s in enumerate(np.linspace(0, length, count)):
            turn = np.interp(s, marks, turns)
            out[k] = (*path.point(float(s)), s, asked(float(s), length, self.limits), turn)
        return out

    def fixed_stations(self, count: int) -> Array:
        """All fixed runners as stations (F, count, 6)."""
        made = [self.stations(run.path, count) for run in self.fixed if run.path is not None]
        return np.array(made).reshape(-1, count, 6)


def problem(m: Manifold) -> Problem:
    """The routing problem of all runners left ``auto``.

    Raises
    ------
    PathError : no runner is auto, or there is no single collector to lead them to.
    """
    searched = tuple(run for run in m.runners if run.todo == "auto")
    if not searched or len(m.collectors) != 1:
        raise PathError(
            f"{len(searched)} runners are auto and {len(m.collectors)} collectors are there: nothing to find"
        )
    fixed = tuple(run for run in m.runners if run.path is not None)
    radii = stock_radii(m, searched[0]) or [(ROUND_RADIUS * searched[0].section.od, 90.0)]
    limits, before = m.limits, reach(m)
    return Problem(
        m=m,
        searched=searched,
        fixed=fixed,
        starts=array([(r.start.at, r.start.direction) for r in searched]),
        radius=searched[0].section.radius,
        radii=array([clr for clr, _ in radii]),
        caps=np.radians([min(a, LARGEST) for _, a in radii]),
        **_straights(m),
        limits=array((limits.gap, limits.gap_at_merge, limits.merge_zone, limits.gap_at_flange, limits.flange_zone,
                      limits.ramp)),
        around=solids(m, searched, before.travel if before.slides else 0.0),
        before=before,
        equal=m.equal_within is not None,
        window=_window(m, fixed),
    )  # fmt: skip


def bare(m: Manifold) -> Problem | None:
    """The problem of all runners as if none had a path and nothing stood around them: what a bound needs.

    None where there is no single collector. The smallest radius is that of the stock and of every bend written.
    """
    if not m.runners or len(m.collectors) != 1:
        return None
    radii = {clr for clr, _ in stock_radii(m, m.runners[0])}
    radii |= {b.clr for run in m.runners if run.path is not None for b in run.path.bends}
    return Problem(
        m=m, searched=m.runners, fixed=(), starts=array([(r.start.at, r.start.direction) for r in m.runners]),
        radius=m.runners[0].section.radius, radii=array(sorted(radii or {ROUND_RADIUS * m.runners[0].section.od})),
        caps=np.zeros(len(radii)), around=(), before=NOTHING, equal=m.equal_within is not None,
        window=(0.0, math.inf), limits=np.zeros(6), **_straights(m),
    )  # fmt: skip


def _straights(m: Manifold) -> dict[str, float]:
    """Least straights at the flange and at the inlet, mm."""
    formed = m.head.transition_length if m.head.transition == "tube" else 0.0
    return {
        "first": max(m.limits.flange_straight, formed),
        "last": max(m.limits.inlet_straight, inlet_lead(m.collectors[0])),
    }


def _window(m: Manifold, fixed: tuple[Run, ...]) -> tuple[float, float]:
    """Lengths that keep the spread with the runners whose length is fixed; the middle where they differ too much."""
    lengths = [run.path.length for run in fixed if run.path is not None]
    if not lengths or m.equal_within is None:
        return (0.0, math.inf)
    allowed = SHARE * m.equal_within * sum(lengths) / len(lengths)
    low, high = max(lengths) - allowed, min(lengths) + allowed
    return (low, high) if low <= high else ((low + high) / 2, (low + high) / 2)


def pinned(p: Problem) -> list[RingFit] | None:
    """The rings that the fixed runners' own ends leave; None where no end is fixed."""
    c = p.collector
    if not p.fixed or not c.clock_free:
        return None
    angles = {run.number: ring_angle(c.frame, run.path.end.at) for run in p.fixed if run.path is not None}
    mirrors = (False, True) if c.mirror_free else (c.mirror,)
    fits = []
    for mirror in mirrors:
        step = (-360.0 if mirror else 360.0) / len(c.order)
        turns = [math.radians(a - step * c.order.index(n)) for n, a in angles.items()]
        mean = complex(np.mean(np.exp(1j * np.array(turns))))
        fits.append(RingFit(c.order, math.degrees(math.atan2(mean.imag, mean.real)), mirror))
    return fits
