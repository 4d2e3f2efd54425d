"""Routes as the CAD kernel sees them: solids accepted, runner to runner distances as measured on centrelines.

Run: python -m tests.benchmarks.sweep_routed_solids [every k-th base scene, 3] [first]
"""

from __future__ import annotations

import sys
import time
from itertools import combinations

from manifoldgen.checks.judged import find
from manifoldgen.geometry.distance import between_tubes
from manifoldgen.geometry.shapes import Tube
from manifoldgen.pieces.split import split
from manifoldgen.solids import build
from tests.benchmarks.scenes import base
from tests.benchmarks.sweep_manifolds import verdict
from tests.kernel_tubes import kernel_distance

ALIKE = 0.01  # mm between the two distances


def main(step: int = 3, first: int = 0) -> int:
    """A line a scene; how many were not accepted or not alike."""
    wrong = 0
    for scene in base()[first::step]:
        begun = time.process_time()
        routed = find(scene.manifold)
        if not routed.verified:
            print(f"{scene.name}: no answer", flush=True)
            continue
        made = build(split(routed.manifold))
        told = "; ".join([verdict(made), *(str(e)[:160] for e in made.errors)])
        tubes = [Tube(r.path, r.section.radius) for r in routed.manifold.runners if r.path is not None]
        off = 0.0
        for a, b in combinations(tubes, 2):
            off = max(off, abs(max(between_tubes(a, b).gap, 0.0) - kernel_distance(a, b)))
        wrong += not told.startswith("accepted") or off > ALIKE
        print(
            f"{scene.name}: {told}, distances within {off:.5f} mm, {time.process_time() - begun:.0f} s",
            flush=True,
        )
    return wrong


if __name__ == "__main__":
    sys.exit(1 if main(*map(int, sys.argv[1:])) else 0)
