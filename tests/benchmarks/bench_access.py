"""Times the tools on twelve studs between six runners, everything and first fit, and the way off.

Run: python -m tests.benchmarks.bench_access
"""

from __future__ import annotations

import sys
from time import perf_counter

from manifoldgen.access.removal import removal
from manifoldgen.access.scene import scene
from manifoldgen.access.studs import studs
from manifoldgen.geometry.path import Bend, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.manifold.model import Manifold
from tests.access.rooms import FACE, bench, box, runner_from, stud

FULL_MS, FIRST_MS = 1000.0, 100.0


def six(pitch: float, side: float = 31.0) -> Manifold:
    """Six runners of three bends in a row, two studs at each."""
    runs, fixed = [], []
    for k in range(6):
        x = pitch * k
        roll = 90.0 if k < 3 else -90.0
        bends = [
            Straight(18.0), Bend(75.0, 63.5, roll * 0.9), Straight(20.0 + 6 * k), Bend(55.0, 63.5, 60.0 - 20 * k),
            Straight(60.0), Bend(60.0, 63.5, 100.0), Straight(40.0),
        ]  # fmt: skip
        runs.append(runner_from(k + 1, Pose.heading((x, 0.0, FACE), (0.0, 0.0, 1.0)), bends))
        fixed += [stud(f"S{2 * k + 1 + i}", (x + s * side, s * 24.0, FACE)) for i, s in enumerate((-1, 1))]
    wall = ("frame rail", box((-80, -130, 60), (540, -80, 110)))
    return bench(*fixed, runs=tuple(runs), obstacles=[wall], half=600.0)


def timed(what, count: int = 5) -> tuple[float, object]:
    """Milliseconds of the quickest of some calls, and the answer."""
    best, answer = 1e9, None
    for _ in range(count):
        begun = perf_counter()
        answer = what()
        best = min(best, (perf_counter() - begun) * 1e3)
    return best, answer


def main() -> int:
    """Print the times; how many limits are broken."""
    wrong = 0
    for pitch, side in ((88.0, 31.0), (70.0, 31.0), (56.0, 27.0)):
        m = six(pitch, side)
        studs(m)
        stands, _ = timed(lambda m=m: scene(m))
        full, found = timed(lambda m=m: studs(m))
        first, _ = timed(lambda m=m: studs(m, full=False))
        off, _ = timed(lambda m=m, found=found: removal(m, access=found))
        passed = sum(a.reachable for a in found)
        print(f"pitch {pitch:.0f}: {passed} of {len(found)} reached; scene {stands:.1f}, full {full:.0f}, "
              f"first fit {first:.0f}, removal {off:.1f} ms")  # fmt: skip
        wrong += (full > FULL_MS) + (first > FIRST_MS)
    return wrong


if __name__ == "__main__":
    sys.exit(1 if main() else 0)
