"""Answers made fit for the shop: no slivers, a clock that can be marked, angles that few elbows yield."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.model import Manifold
from manifoldgen.routing.problem import Problem
from manifoldgen.routing.refine import Layout, refine

SHORT = 5.0  # mm: a straight between two bends is nothing or at least this
FLUSH = 1e-3  # mm: a straight that counts as nothing


def straights(p: Problem, layout: Layout) -> list[Array]:
    """Straights of every runner, mm (K + 1 each)."""
    from manifoldgen.routing._closure_kernels import describe

    inlets = p.inlets(layout.ring)
    made = []
    for i, (x, radii) in enumerate(zip(layout.x, layout.radii, strict=True)):
        k = len(radii)
        lengths = np.empty(k + 1)
        describe(x, p.starts[i], inlets[i], radii, lengths, np.empty(k), np.empty((k + 1, 3)))
        made.append(lengths)
    return made


def tidied(p: Problem, layout: Layout) -> Iterator[Layout]:
    """The layout without slivers, by what is tried first: bends welded to bends, then straights long enough."""
    clock = round(layout.ring.clock, 1) if p.collector.clock_free and not p.fixed else None
    slivers = tuple(tuple(k for k in range(1, len(s) - 1) if s[k] < SHORT) for s in straights(p, layout))
    if any(slivers):
        yield refine(p, replace(layout, flush=slivers), clock=clock, rounds=50)
        yield refine(p, replace(layout, spaced=slivers), clock=clock, rounds=50)
    yield refine(p, layout, clock=clock, rounds=40)


def elbows(p: Problem, m: Manifold) -> int:
    """How many elbows the searched runners need, cut largest first with a kerf between the cuts."""
    count, allowed = 0, Allowances.of(m.tables)
    for clr, cap in zip(p.radii, p.caps, strict=True):
        kerf = allowed.angle_between(clr, 2 * p.radius)
        angles = sorted((b.angle for r in m.runners if r.number in p.numbers and r.path for b in r.path.bends
                         if abs(b.clr - clr) < 1e-6), reverse=True)  # fmt: skip
        rest: list[float] = []
        for angle in angles:
            fits = next((k for k, left in enumerate(rest) if angle <= left + 1e-9), None)
            if fits is None:
                rest.append(math.degrees(cap) - angle - kerf)
            else:
                rest[fits] -= angle + kerf
        count += len(rest)
    return count
