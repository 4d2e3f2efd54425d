"""Single runners against the bound of their own ring: none of so many candidates is shorter.

Run: python -m tests.benchmarks.sweep_bound [candidates, 50000] [seed]
"""

from __future__ import annotations

import sys

import numpy as np

from manifoldgen.routing.bound import run_bound
from manifoldgen.routing.pool import pool
from manifoldgen.routing.problem import problem
from manifoldgen.routing.rings import rings
from tests.benchmarks.scenes import base

FACTORS = (1.0, 1.02, 1.05, 1.1, 1.2, 1.35)


def main(wanted: int = 50_000, seed: int = 1) -> int:
    """Print how many candidates were compared and how near the nearest comes; how many lie below."""
    seen = below = turn = 0
    nearest = np.inf
    while seen < wanted:
        for scene in base()[:: 1 if turn else 3]:
            p = problem(scene.manifold)
            every = rings(p, seed + turn)
            for k in np.random.default_rng([seed, turn, scene.seed]).permutation(len(every))[:3]:
                inlets = p.inlets(every[k])
                each = run_bound(p.starts, inlets[: len(p.starts)], float(p.radii.min()), p.first, p.last)
                for i, bound in enumerate(each):
                    for f in FACTORS:
                        length = float(bound) * f * (1.0 - 1e-3)  # also just below: those must not exist
                        rng = np.random.default_rng([seed, turn, int(k), i, round(100 * f)])
                        found = len(
                            pool(p, (p.starts[i], inlets[i]), length, rng, draws=3000, most=60, slack=1e3)
                        )
                        seen += found
                        if found:
                            nearest = min(nearest, length / float(bound))
                            below += found if length < bound - 1e-6 else 0
            if seen >= wanted:
                break
        turn += 1
    print(f"seed {seed}: {seen} candidates, {below} below their bound, the nearest at {nearest:.4f} of it")
    return below


if __name__ == "__main__":
    sys.exit(1 if main(*map(int, sys.argv[1:])) else 0)
