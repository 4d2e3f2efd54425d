"""Random rooms round studs against a second opinion: passed tools keep the margin, failed studs stay failed.

Run: python -m tests.benchmarks.sweep_access_judge [rooms] [failed studs] [poses] [seed]
"""

from __future__ import annotations

import sys
from time import perf_counter

import numpy as np

from manifoldgen.access.studs import studs
from tests.access.rooms import random_room
from tests.access.tool_judge import Trial, least_gap

MARGIN, PLAY = 2.0, 0.1  # mm


def main(rooms: int = 30, failed: int = 50, poses: int = 5000, seed: int = 0) -> int:
    """Print what was held and return how much of it was wrong."""
    rng = np.random.default_rng(seed)
    wrong = passed = shut = made = 0
    used: dict[str, int] = {}
    begun = perf_counter()
    while made < rooms or shut < failed:
        made += 1
        m = random_room(rng)
        for s, a in zip(m.studs, studs(m), strict=True):
            if a.reachable and made <= rooms:
                passed += 1
                used[a.tool or ""] = used.get(a.tool or "", 0) + 1
                gap, who = least_gap(m, s, a)
                if gap < MARGIN - PLAY:
                    wrong += 1
                    print(f"room {made} {s.id}: {a.tool} stands {gap:.2f} mm from {who}")
            elif not a.reachable and a.shortfall_mm > MARGIN and shut < failed:
                shut += 1
                free = Trial(m, s).free(poses, rng)
                if free:
                    wrong += 1
                    print(f"room {made} {s.id}: said {a.shortfall_mm:.1f} short, but free: {free} ({a.tool})")
    print(f"{made} rooms, {passed} passed tools held, {shut} failed studs tried with {poses} poses each")
    print(f"{len(used)} different tools; {wrong} wrong; {perf_counter() - begun:.0f} s; seed {seed}")
    for name, count in sorted(used.items(), key=lambda x: -x[1]):
        print(f"  {count:3d} {name}")
    return wrong


if __name__ == "__main__":
    sys.exit(1 if main(*map(int, sys.argv[1:])) else 0)
