"""Random whole manifolds: each is accepted, or refused for a reason that is confirmed.

    python -m tests.benchmarks.sweep_manifolds [first seed] [count]

A refusal is confirmed where a rule of ours names the numbers (GeometryError), or where an overlap that the
numbers found is found by the kernel too (the two parts share volume, or touch within 1e-3 mm). Anything else is
a failure. The kernel itself is the outside here: it knows nothing of the distances.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from manifoldgen.errors import GeometryError, PathError, SolidError
from manifoldgen.pieces.split import split
from manifoldgen.solids import Solids, _occ, build
from tests.layouts import random_manifold


def verdict(solids: Solids) -> str:
    """``accepted``, ``refused`` or the first error that nothing confirms."""
    if solids.joined is not None and solids.gas is not None and not solids.errors:
        return "accepted"
    doubtful = [str(error) for error in solids.errors if not confirmed(solids, error)]
    return f"FAILED {doubtful[0]}" if doubtful or not solids.errors else "refused"


def confirmed(solids: Solids, error: SolidError) -> bool:
    """Whether an error is a rule of ours, or an overlap that the kernel sees as well."""
    if (
        isinstance(error.__cause__, (GeometryError, PathError))
        or "forming the transition tube" in error.reason
    ):
        return True
    if "runs into itself" in error.reason:
        return _occ.self_intersects(solids.parts[error.part])
    others = [
        n
        for n in solids.parts
        if f"runs into the {n} by" in error.reason or f"touches the {n}," in error.reason
    ]
    if error.part not in solids.parts or not others:  # one of the two was itself refused
        return ("runs into" in error.reason or "touches" in error.reason) and len(solids.errors) > 1
    a, b = solids.parts[error.part], solids.parts[others[0]]
    return _occ.volume(_occ.common(a, [b])) > 0 or a.distance(b) < 1e-3


def main(first: int, count: int) -> int:
    """Run `count` seeds from `first`; the number of failures."""
    tally: dict[str, int] = {}
    failures = 0
    for seed in range(first, first + count):
        m = split(random_manifold(np.random.default_rng(seed)))
        begun = time.perf_counter()
        solids = build(m)
        took = time.perf_counter() - begun
        found = verdict(solids)
        failures += found.startswith("FAILED")
        tally[found.split()[0]] = tally.get(found.split()[0], 0) + 1
        why = "; ".join(map(str, solids.errors)) if found == "refused" else ""
        print(f"seed {seed}: {len(m.ports)} cylinders, {took:.1f} s, {found} {why}", flush=True)
    print(tally)
    return failures


if __name__ == "__main__":
    given = [int(a) for a in sys.argv[1:]]
    sys.exit(min(main(*(given + [0, 60][len(given) :])), 1))
