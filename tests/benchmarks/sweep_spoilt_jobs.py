"""400 spoilt job files (or as many as asked for): run ``python -m tests.benchmarks.sweep_spoilt_jobs [N]``."""

from __future__ import annotations

import sys
import time
from collections import Counter

from tests.jobs import FOUR
from tests.mutations import spoilt
from tests.parameters.test_mutations import check


def main(count: int = 400) -> None:
    """Read every spoilt file and print how many still made a job."""
    began = time.perf_counter()
    slowest = 0.0
    found: Counter[str] = Counter()
    for seed in range(count):
        raw = spoilt(FOUR, seed)
        start = time.perf_counter()
        try:
            found[check(raw)] += 1
        except BaseException:
            print(f"seed {seed}")
            raise
        slowest = max(slowest, time.perf_counter() - start)
    print(f"{dict(found)} in {time.perf_counter() - began:.1f} s, slowest {slowest:.2f} s")


if __name__ == "__main__":
    main(*(int(n) for n in sys.argv[1:]))
