"""Whether the tubes and the collector keep clear of what stands around them."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.bodies import cone_slices, legs, stretch, whole
from manifoldgen.checks.check import GapCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.pairs import Pair, short
from manifoldgen.geometry.shapes import Tube
from manifoldgen.manifold.clear_of import clearance
from manifoldgen.manifold.model import Manifold, Obstacle

OBSTACLE_GAP = FindingKind(
    name="obstacle-gap",
    means="A tube, a flange, the valve or the collector is closer to an obstacle than that obstacle's clearance.",
    why="The engine moves on its mounts and the tubes grow as they heat: what is too close will knock.",
    do="Move the tube, or the obstacle. If the obstacle's shape is rough, measure it closer or lower its clearance.",
)
DO = "Move it at least {} away there, or move the obstacle."


def measured(m: Manifold) -> Iterator[Pair]:
    """Every tube and the collector against every obstacle, with the obstacle's own clearance."""
    for obstacle in m.obstacles:
        yield from against(m, obstacle, obstacle.clearance, OBSTACLE_GAP, DO)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`obstacle-gap`: a part closer to an obstacle than that obstacle's clearance."""
    return short(measured(m))


CHECK = GapCheck(kinds=(OBSTACLE_GAP,), measure=measured)


def against(m: Manifold, obstacle: Obstacle, asked: float, kind: FindingKind, do: str) -> Iterator[Pair]:
    """Every hot part against one obstacle; a run that ends on it may touch it there, no more."""
    for run in m.runs:
        joined = run.name in obstacle.joined
        end = run.path.length - run.section.od if run.path and joined else None
        tube = whole(run) if end is None else stretch(run, 0.0, end)
        if tube is not None:
            found = clearance(tube, obstacle, 0.0 if joined else asked, m.engine)
            yield Pair(
                kind,
                run.name,
                obstacle.name,
                found.gap,
                do,
                run.where or obstacle.where,
                found.told,
                found.surely,
            )
    for collector in m.collectors:
        hub: list[Tube] = [*(tube for _, tube in legs(collector)), *cone_slices(collector)]
        near = [clearance(t, obstacle, asked, m.engine) for t in hub]
        if near:
            found = min(near, key=lambda c: c.gap.margin)
            yield Pair(
                kind, "collector", obstacle.name, found.gap, do, obstacle.where, found.told, found.surely
            )
