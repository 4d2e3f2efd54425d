"""How long torch access and the weld order take, warm: the shipped jobs and four straight runners.

    python -m tests.benchmarks.bench_welds

Asked: 24 joints of 36 places in 0.5 s on two cores.
"""

from __future__ import annotations

import time
from functools import partial
from pathlib import Path

import manifoldgen as mg
from manifoldgen.access.reach import bench_of, reaches
from manifoldgen.access.scene import scene
from manifoldgen.access.torch import torches
from manifoldgen.access.welding import welding
from manifoldgen.pieces import split
from tests import factory

JOBS = Path(__file__).resolve().parents[2] / "cq_scripts" / "jobs"
ROUNDS = 3


def best_of(work, rounds: int = ROUNDS) -> float:
    """The shortest of some runs, s of processor time (one thread)."""
    times = []
    for _ in range(rounds):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


def main() -> None:
    """Print a line a job."""
    jobs = {p.stem: mg.design(p).manifold for p in sorted(JOBS.glob("*.yaml"))}
    jobs["four straight runners"] = split(factory.manifold(4))
    for name, m in jobs.items():
        whole = scene(m)
        on, torch = bench_of(m, whole), torches(m.tables)[0]
        found = reaches(m, torch, on)
        places = sum(len(s.weld.points) for r in found.values() for s in r.sides)
        blocked = sum(int((s.first[:, 0] < 0).sum()) for r in found.values() for s in r.sides)
        look = best_of(partial(reaches, m, torch, on))
        all_of_it = best_of(partial(welding, m, whole))
        each = 864 * look / places
        print(
            f"{name}: {len(found)} joints, {places} places ({blocked} blocked): reach {look:.3f} s, with the order "
            f"{all_of_it:.3f} s; 24 x 36 places at this rate {each:.3f} s"
        )


if __name__ == "__main__":
    main()
