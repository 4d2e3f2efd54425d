"""Which rings are tried: clocks on a grid, both ways round, and the orders that the file leaves open."""

from __future__ import annotations

import numpy as np

from manifoldgen.manifold.ring import RingFit
from manifoldgen.routing.bound import run_bound
from manifoldgen.routing.problem import Problem, pinned

STEPS = {2: 6, 3: 4, 4: 4, 5: 3, 6: 2}  # clocks between one inlet and the next
_SHUFFLES = 3  # orders of one clock beside the nearest
_SHUFFLE = 0.25  # how far they stray, as a share of the runners' length


def rings(p: Problem, seed: int) -> list[RingFit]:
    """All rings to try, in a fixed order."""
    held = pinned(p)
    if held is not None:
        return held
    c = p.collector
    n = len(c.order)
    mirrors = (False, True) if c.mirror_free else (c.mirror,)
    steps = n * STEPS.get(n, 2)
    clocks = [(k + 0.25) * 360.0 / steps for k in range(steps)] if c.clock_free else [c.clock]
    plain = [RingFit(c.order, clock, mirror) for mirror in mirrors for clock in clocks]
    return plain + _free(p, seed, clocks) if c.order_rule == "free" else plain


def _free(p: Problem, seed: int, clocks: list[float]) -> list[RingFit]:
    """Orders that bring every cylinder to a near inlet: the least sum of lengths, and some that stray from it."""
    from scipy.optimize import linear_sum_assignment

    c = p.collector
    n = len(c.order)
    found: list[RingFit] = []
    for k, clock in enumerate(clocks):
        if clock >= 360.0 / n and c.clock_free:  # the same inlets, told from another one on
            break
        inlets = p.inlets(RingFit(c.order, clock, mirror=False))  # by cylinder: searched first
        rest = [number for number in c.order if number not in p.numbers]
        places = [c.order.index(number) for number in (*p.numbers, *rest)]
        away = run_bound(p.starts[:, None], inlets[None], float(p.radii.min()), p.first, p.last)
        for shuffle in range(1 + _SHUFFLES):
            rng = np.random.default_rng([seed, 7, k, shuffle])
            strayed = away * (1 + (_SHUFFLE * rng.random(away.shape) if shuffle else 0.0))
            rows, columns = linear_sum_assignment(np.round(strayed**2, 6))
            order = list(c.order)
            used = {int(i): places[int(j)] for i, j in zip(rows, columns, strict=True)}
            left = [place for place in range(n) if place not in used.values()]
            for i, number in enumerate(p.numbers):
                order[used[i]] = number
            for number, place in zip(rest, left, strict=True):
                order[place] = number
            ring = RingFit(tuple(order), clock, mirror=False)
            if ring not in found:
                found.append(ring)
    return found
