"""Whether flanges and the valve keep clear of what stands around them and of each other.

Scans are left out: they begin where flanges are bolted on.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from manifoldgen.access.hulls import gap
from manifoldgen.checks.check import GapCheck
from manifoldgen.checks.finding import Finding
from manifoldgen.checks.obstacle_gap import OBSTACLE_GAP
from manifoldgen.checks.other_gap import OTHER_GAP
from manifoldgen.checks.pairs import Pair, short
from manifoldgen.geometry.shapes import Shape
from manifoldgen.manifold.bodies import flange_bodies
from manifoldgen.manifold.clear_of import movement_against
from manifoldgen.manifold.model import Manifold, Obstacle
from manifoldgen.readers import Scan

DO = "Move it at least {} away there, or give the flange another outline."
_MOVED = " over the engine's movement"


def measured(m: Manifold) -> Iterator[Pair]:
    """Flanges and our own bodies (valve, turbine) against foreign obstacles and against each other."""
    parts: list[tuple[str, tuple[Shape, ...], tuple[str, ...]]] = [
        (f.name, flange_bodies(f), ()) for f in m.flanges
    ]
    parts += [
        (o.name, (o.shape,), o.joined) for o in m.obstacles if _ours(o) and not isinstance(o.shape, Scan)
    ]
    for name, bodies, joined in parts:
        for o in m.obstacles:
            if bodies and not _turbine(m, joined) and not o.joined and not isinstance(o.shape, Scan):
                movement = movement_against(m.engine, o)
                found = gap(bodies, (o.shape,), o.clearance, movement)
                yield Pair(OBSTACLE_GAP, name, o.name, found, DO, o.where, _MOVED if movement else "")
    for (a, some, on_a), (b, others, on_b) in combinations(parts, 2):
        if some and others and a not in on_b and b not in on_a and not (on_a and on_b):
            yield Pair(OTHER_GAP, a, b, gap(some, others, 0.0), DO)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`obstacle-gap` and `other-gap` of flanges: too near an obstacle, or one in the other."""
    return short(measured(m))


CHECK = GapCheck(kinds=(OBSTACLE_GAP, OTHER_GAP), measure=measured)


def _turbine(m: Manifold, joined: tuple[str, ...]) -> bool:
    """Whether a body is the turbine's: where that stands is not the manifold's to say."""
    return m.turbo.name in joined


def _ours(o: Obstacle) -> bool:
    """Whether it is bolted to one of the flanges: valve, turbine."""
    return bool(o.joined)
