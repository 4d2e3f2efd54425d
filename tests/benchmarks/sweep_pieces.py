"""Splits at full count: 500 random runners rebuilt, 50 small jobs against every way, jobs of eight runners timed.

Run: ``python -m tests.benchmarks.sweep_pieces``
"""

from __future__ import annotations

import sys
import time

import numpy as np

from manifoldgen.pieces import split
from manifoldgen.shop.plan import ShopPlan
from tests.pieces import brute
from tests.pieces.test_optimum import OD, job, over_stock, random_job, result
from tests.shop.rebuild import random_runners
from tests.shop.test_cuts import misses

RUNNERS, JOBS, BIG = 500, 50, 40


def rebuilt() -> bool:
    """Random runners from their rows and marks: exact, as printed, and what the sheets say of it."""
    exact, printed, told = [], [], 0.0
    for seed in range(RUNNERS // 4):
        m = split(random_runners(np.random.default_rng([21, seed]), 4))
        exact += [mm for name, (mm, _) in misses(m).items() if name.startswith("runner")]
        rounded = {name: mm for name, (mm, _) in misses(m, 0.1).items() if name.startswith("runner")}
        printed += rounded.values()
        told = max(told, *(abs(e.mm - rounded[e.part]) for e in ShopPlan(m).end_errors if e.part in rounded))
    middle, late = np.percentile(printed, [50, 95])
    print(
        f"{len(exact)} runners: exact {max(exact):.1e} mm; printed median {middle:.2f}, p95 {late:.2f}, worst {max(printed):.2f} mm, the sheets' errors differ by {told:.1e} mm"
    )
    return max(exact) < 1e-6 and max(printed) < 1.0 and told < 1e-6


def best_of_all() -> bool:
    """Small jobs against every way to cut them."""
    wrong = []
    for seed in range(JOBS):
        runners, elbows, bar = random_job(np.random.default_rng([22, seed]))
        got, true = result(split(job(runners, elbows, bar))), brute.best(runners, elbows, bar, OD)
        if got[:2] != true[:2] or abs(got[2] - true[2]) > 2e-4:
            wrong.append((seed, got, true))
    print(f"{JOBS} small jobs, {len(wrong)} not the best", *wrong, sep="\n  ")
    return not wrong


def eight() -> bool:
    """Jobs of eight runners with elbows, legs and bars: seconds of computing, proven, within stock."""
    seconds, unproven, over = [], 0, 0
    for seed in range(BIG):
        m = random_runners(np.random.default_rng([23, seed]), 8)
        begun = time.process_time()
        m = split(m)
        seconds.append(time.process_time() - begun)
        unproven += not m.cutting.proven
        over += bool(over_stock(m))
    late = np.percentile(seconds, 95)
    print(
        f"{BIG} jobs of eight runners: median {np.median(seconds):.2f} s, p95 {late:.2f} s, worst {max(seconds):.2f} s; {unproven} not proven, {over} over stock"
    )
    return not over


if __name__ == "__main__":
    sys.exit(0 if all([rebuilt(), best_of_all(), eight()]) else 1)
