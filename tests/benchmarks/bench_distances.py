"""Times the 15 gaps between six runners beside the CAD kernel's, and compares 100 pairs with it.

Run: python -m tests.benchmarks.bench_distances [pairs] [seed]
"""

from __future__ import annotations

import sys
from itertools import combinations
from time import perf_counter

import numpy as np

from manifoldgen.geometry.distance import between_tubes
from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import Tube
from tests.kernel_tubes import kernel_distance
from tests.strategies import random_tube_pair

OD = 42.4
LEAST_RATIO, MOST_MS, MOST_MM = 1000, 2.0, 0.01


def runners(rng: np.random.Generator) -> list[Tube]:
    """Six runners of three bends, 90 mm apart at their ports."""
    made = []
    for k in range(6):
        elements: list[Element] = [Straight(rng.uniform(20, 80))]
        for _ in range(3):
            elements += [
                Bend(rng.uniform(20, 100), OD * rng.uniform(1, 2), rng.uniform(-180, 180)),
                Straight(rng.uniform(10, 90)),
            ]
        start = Pose.heading((90.0 * k, 0, 0), (*rng.normal(0, 0.2, 2), 1))
        made.append(Tube(Path(start, tuple(elements)), OD / 2))
    return made


def speed(seed: int) -> bool:
    """Median time of all 15 pairs, warm, and its ratio to the kernel's time in the same run."""
    pairs = list(combinations(runners(np.random.default_rng(seed)), 2))
    times = []
    for _ in range(51):
        t = perf_counter()
        gaps = [between_tubes(*pair).gap for pair in pairs]
        times.append(perf_counter() - t)
    ours = float(np.median(times[1:]))
    t = perf_counter()
    kernel = [kernel_distance(*pair) for pair in pairs]
    theirs = perf_counter() - t
    worst = max(abs(max(g, 0) - k) for g, k in zip(gaps, kernel, strict=True))
    print(
        f"15 pairs: {ours * 1e3:.2f} ms, CAD kernel {theirs:.1f} s: {theirs / ours:.0f} times; "
        f"worst difference {worst:.1e} mm"
    )
    return ours * 1e3 <= MOST_MS and theirs / ours >= LEAST_RATIO and worst < MOST_MM


def agreement(count: int, seed: int) -> bool:
    """Random pairs, every third parallel, against the kernel's distance of the solids."""
    rng = np.random.default_rng(seed)
    worst, apart, at_ends, certified = 0.0, 0, 0, 0
    for k in range(count):
        a, b = random_tube_pair(rng, parallel=k % 3 == 2)
        found = between_tubes(a, b)
        worst = max(worst, abs(max(found.gap, 0) - kernel_distance(a, b)))
        apart += found.gap > 0
        certified += found.certified
        rest = [min(s, t.path.length - s) for t, s in zip((a, b), found.along, strict=True)]
        at_ends += found.gap > 0 and min(rest) < 1e-6
    print(
        f"{count} pairs, seed {seed}: {apart} apart, {at_ends} of them closest at an end, "
        f"{certified} certified; worst difference to the CAD kernel {worst:.1e} mm"
    )
    return worst < MOST_MM and certified == count


if __name__ == "__main__":
    arguments = [int(word) for word in sys.argv[1:]]
    how_many, start_seed = (arguments + [100, 1][len(arguments) :])[:2]
    held = [speed(start_seed), agreement(how_many, start_seed)]
    sys.exit(0 if all(held) else 1)
