"""Routes as the CAD kernel sees them: solids accepted, runner to runner distances as measured on centrelines.

Run: python -m tests.benchmarks.sweep_routed_solids [every k-th base scene, 3] [first]

Some scenes cannot be built whatever the runners do: their fixed parts stand in each other, which the checks say
before anything is routed (`scenes.fixed_faults`; none of them looks at a runner). There the kernel may refuse
those parts and no other, and has to accept the manifold without its branch.
"""

from __future__ import annotations

import sys
import time
from itertools import combinations

import manifoldgen as mg
from manifoldgen.geometry.distance import between_tubes
from manifoldgen.geometry.shapes import Tube
from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces.split import split
from manifoldgen.solids import build
from tests.benchmarks.scenes import base, fixed_faults, without_branch
from tests.benchmarks.sweep_manifolds import verdict
from tests.kernel_tubes import kernel_distance

ALIKE = 0.01  # mm between the two distances


def judged(m: Manifold, at_fault: set[str]) -> str:
    """What the kernel says of a routed manifold; ``accepted``, where need be without the fixed parts at fault."""
    made = build(split(m))
    told = verdict(made)
    if told == "accepted":
        return told
    why = "; ".join(str(e)[:160] for e in made.errors)
    others = [e.part for e in made.errors if e.part not in at_fault]
    if told != "refused" or others or not at_fault:
        return f"{told}: {why}"
    rest = build(split(without_branch(m)))
    if (left := verdict(rest)) != "accepted":
        return f"{left} without its branch as well: " + "; ".join(str(e)[:160] for e in rest.errors)
    return f"accepted without its branch (fixed parts at fault: {why})"


def main(step: int = 3, first: int = 0) -> int:
    """A line a scene and how many of each; how many were not accepted or not alike."""
    wrong, tally = 0, {"no answer": 0, "accepted": 0, "accepted without its branch": 0, "not accepted": 0}
    sound = 0
    for scene in base()[first::step]:
        begun = time.process_time()
        faults = fixed_faults(scene.manifold)
        sound += not faults
        for fault in faults:
            print(f"{scene.name}: fixed parts, before any route: {fault.message}", flush=True)
        routed = mg.design(scene.manifold).routed
        if routed is None or not routed.verified:
            tally["no answer"] += 1
            print(f"{scene.name}: no answer", flush=True)
            continue
        told = judged(routed.manifold, {part for fault in faults for part in fault.parts})
        tubes = [Tube(r.path, r.section.radius) for r in routed.manifold.runners if r.path is not None]
        off = 0.0
        for a, b in combinations(tubes, 2):
            off = max(off, abs(max(between_tubes(a, b).gap, 0.0) - kernel_distance(a, b)))
        kind = told.split(" (")[0] if told.startswith("accepted") else "not accepted"
        tally[kind] += 1
        wrong += kind == "not accepted" or off > ALIKE
        print(
            f"{scene.name}: {told}, distances within {off:.5f} mm, {time.process_time() - begun:.0f} s",
            flush=True,
        )
    print(f"{sound} scenes with sound fixed parts; {tally}")
    return wrong


if __name__ == "__main__":
    sys.exit(1 if main(*map(int, sys.argv[1:])) else 0)
