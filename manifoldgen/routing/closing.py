"""Finish every run that ends in ``close``: the first closure that clears what is there already."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from manifoldgen.errors import PathError
from manifoldgen.geometry.distance import between_tubes, to_shape, within_tube
from manifoldgen.geometry.gap import Asked
from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import Cone, Plate, Shape, Tube
from manifoldgen.geometry.snap import LANDED, miss, snap
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.asked import asked_along
from manifoldgen.manifold.clear_of import clearance
from manifoldgen.manifold.model import Collector, Limits, Manifold, Run
from manifoldgen.routing.closure import closures

CLEAR = -1e-3  # mm of margin that is let pass: what a gap is certified to
_NO_STOCK = 90.0  # degrees: largest bend where the file names no stock
_WAYS = 150  # closures looked at for one run: obstacles may hide the first dozens
_ROUNDS = 4  # how often runs that clash choose again
_JOINED = -1e4  # mm: asked where a tube is joined and may stand in the other by design


def close_runs(m: Manifold) -> Manifold:
    """The manifold with every ``close`` finished: best free closure, or the one with the best margin.

    Runs are closed in their order, each clear of what is there; while two still clash, each chooses again
    among its closures. A run that cannot be closed keeps no path and says why in `Run.trouble`.
    """
    ways: dict[int, list[Path]] = {}
    for k, run in enumerate(m.runners):
        if run.todo == "close":
            try:
                ways[k] = _ways(m, run)
            except PathError as error:
                m = _with(m, k, replace(run, trouble=str(error)))
    for _ in range(_ROUNDS):
        worst = math.inf
        for k, paths in ways.items():
            run = m.runners[k]
            path, margin = _Around(m, run).pick(paths)
            off, turned = miss(path, run.target) if run.target else (0.0, 0.0)
            m = _with(m, k, replace(run, path=path, todo=None, miss_mm=off, miss_deg=turned))
            worst = min(worst, margin)
        if worst >= CLEAR:
            break
    return m


def _with(m: Manifold, k: int, run: Run) -> Manifold:
    return replace(m, runners=(*m.runners[:k], run, *m.runners[k + 1 :]))


def stock_radii(m: Manifold, run: Run) -> list[tuple[float, float]]:
    """(CLR, largest angle) the stock gives for this run, smallest CLR first.

    Items that are used whole are left out: their angle is not free. Without any stock for this tube, the
    radii of the bends that are written by hand, up to 90° each.
    """
    largest: dict[float, float] = {}
    bent = [i for i in m.stock if i.tube == run.kind and i.kind != "straight"]
    for item in bent:
        if not item.whole:
            largest[item.clr] = max(largest.get(item.clr, 0.0), item.angle)
    if not bent:
        written = [
            e for r in m.runs for e in r.written + (r.path.elements if r.path else ()) if r.kind == run.kind
        ]
        largest = {e.clr: _NO_STOCK for e in written if isinstance(e, Bend)}
    return sorted(largest.items())


def _ways(m: Manifold, run: Run) -> list[Path]:
    """All closures of one run as whole paths, best first; raises PathError where there is none."""
    if run.target is None:
        raise PathError("it has no inlet to close on; give the collector a clock")
    begun = Path(run.start, run.written)
    lead = max(0.0, m.limits.flange_straight - _straight_so_far(run.written))
    tails = closures(
        begun.end, run.target, stock_radii(m, run), m.limits.inlet_straight, limit=_WAYS, lead=lead
    )
    return [_joined(begun, tail, run.target) for tail in tails]


def _straight_so_far(written: Sequence[Element]) -> float:
    """The straight at the head flange, mm; enough where a bend is written already."""
    return sum(e.length if isinstance(e, Straight) else math.inf for e in written)


def _joined(begun: Path, tail: Path, target: Pose) -> Path:
    """Both parts as one path; two straights that meet become one, as they are one piece of tube."""
    head, rest = begun.elements, tail.elements
    if head and rest:
        last, first = head[-1], rest[0]
        if isinstance(last, Straight) and isinstance(first, Straight):
            head, rest = head[:-1], (Straight(last.length + first.length), *rest[1:])
    path = Path(begun.start, (*head, *rest))
    return path if max(miss(path, target)) < LANDED else snap(path, target)


@dataclass(frozen=True)
class _Around:
    """What stands around a run that is being closed."""

    m: Manifold
    run: Run

    def pick(self, paths: Sequence[Path]) -> tuple[Path, float]:
        """The first path that is clear, else the one with the best margin; and that margin, mm."""
        best, most = paths[0], -math.inf
        for path in paths:
            margin = math.inf
            for one in self._margins(Tube(path, self.run.section.radius)):
                margin = min(margin, one)
                if margin <= most:
                    break
            if margin > most:
                best, most = path, margin
            if most >= CLEAR:
                break
        return best, most

    def _margins(self, tube: Tube) -> Iterator[float]:
        limits, length = self.m.limits, tube.path.length
        asked = asked_along(length, limits)
        for other in self.m.runners:
            if other.number != self.run.number and (laid := _laid(other)) is not None:
                yield between_tubes(tube, laid, asked, asked_along(laid.path.length, limits)).margin
        itself = within_tube(tube, limits.self_gap)
        if itself is not None:
            yield itself.margin
        far = _beyond_merge(length, limits, 0.0)
        for other in (self.m.outlet, *(b.run for b in self.m.branches if b.takeoff != self.run.name)):
            if other.path is not None:
                yield between_tubes(tube, Tube(other.path, other.section.radius), far).margin
        for collector in self.m.collectors:
            yield from self._collector(tube, collector)
        for flange in self.m.flanges:
            if flange.outline is not None:
                plate = Plate(flange.frame, flange.outline, flange.thickness)
                head = flange.name == self.m.head.name
                free = (
                    _after_flange(length, self.run.section.od)
                    if head
                    else Asked.flat(limits.gap_other, length)
                )
                yield to_shape(tube, plate, free).margin
        for obstacle in self.m.obstacles:
            joined = self.run.name in obstacle.joined
            clear = clearance(tube, obstacle, 0.0 if joined else obstacle.clearance, self.m.engine)
            yield clear.gap.margin

    def _collector(self, tube: Tube, collector: Collector) -> Iterator[float]:
        """Cone and legs of the other cylinders: near the inlet joined, further up `gap_other`."""
        # the last diameter and a half is mitred into its neighbours: there it may overlap by design
        asked = _beyond_merge(tube.path.length, self.m.limits, 1.5 * self.run.section.od)
        yield to_shape(tube, _cone(collector), asked).margin
        for number, pose in zip(collector.order, collector.inlets, strict=True):
            if number != self.run.number and collector.kind == "merge" and collector.join_depth > 0:
                leg = Path(pose, (Straight(collector.join_depth),))
                yield between_tubes(tube, Tube(leg, collector.section.radius), asked).margin


def _laid(run: Run) -> Tube | None:
    """The run's tube as far as it is known."""
    path = run.path or (Path(run.start, run.written) if run.written else None)
    return Tube(path, run.section.radius) if path is not None and path.length > 0 else None


def _beyond_merge(length: float, limits: Limits, joined: float) -> Asked:
    """`gap_other` up to the merge zone, from there no overlap, and nothing in the last `joined` mm."""
    last = max(length - joined, 0.0)
    zone = min(max(length - limits.merge_zone, 0.0), last)
    end = _JOINED if joined else 0.0
    return Asked(
        (0.0, zone, zone, last, last, length), (limits.gap_other, limits.gap_other, 0.0, 0.0, end, end)
    )


def _after_flange(length: float, joined: float) -> Asked:
    """Nothing asked in the first `joined` mm, from there no overlap."""
    first = min(joined, length)
    return Asked((0.0, first, first, length), (_JOINED, _JOINED, 0.0, 0.0))


def _cone(collector: Collector) -> Shape:
    frame = collector.frame
    start, end = (vec(frame.out((0, 0, z))) for z in (collector.merge_depth, collector.length))
    return Cone(start, end, collector.rim_radius, collector.outlet.radius)
