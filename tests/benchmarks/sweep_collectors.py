"""Builds many random collectors and prints how many stand, the thinnest wall and the times.

python -m tests.benchmarks.sweep_collectors [count] [seed]
"""

from __future__ import annotations

import sys
import time

import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.solids import _occ
from manifoldgen.solids.acceptance import merged_mesh
from manifoldgen.solids.collector import build_collector, collector_pieces
from tests.solids.walls import least_wall_ratio
from tests.strategies import random_collector


def main(count: int, seed: int) -> None:
    """Build `count` collectors; every line that is not a plain success is printed with its case."""
    built, refused, wrong, times, walls, pieces = 0, [], [], [], [], []
    for case in range(count):
        rng = np.random.default_rng([seed, case])
        c = random_collector(rng)
        what = f"case {case}: {c.kind} N {len(c.order)} {c.half_angle:.1f}° cone {c.cone_half_angle:.1f}° OD {c.section.od:.1f} x {c.section.wall:.2f} outlet {c.outlet.od:.1f} x {c.outlet.wall:.2f} gap {c.gap:.2f} length {c.length:.1f} z_c {c.merge_depth:.1f}"
        began = time.perf_counter()
        try:
            hub = build_collector(c)
        except SolidError as error:
            refused.append(case)
            print(what, "REFUSED", error, flush=True)
            continue
        finally:
            times.append(time.perf_counter() - began)
        built += 1
        if _occ.self_intersects(hub.metal):
            wrong.append(case)
            print(what, "WRONG: cuts itself", flush=True)
        parts = sum(_occ.volume(p) for p in collector_pieces(c).values())
        pieces.append(abs(parts / hub.accepted.volume - 1))
        fine = merged_mesh(hub.metal, deflection=0.005 * min(c.section.wall, c.outlet.wall), angle=4.0)
        wall = least_wall_ratio(c, fine, rng)
        walls.append(wall)
        if wall < 0.98 or pieces[-1] > 1e-5:
            wrong.append(case)
            print(what, f"WRONG: wall ratio {wall:.4f}, pieces {pieces[-1]:.1e}", flush=True)
    print(
        f"seed {seed}: {built} of {count} built, {len(refused)} refused {refused}, {len(wrong)} wrong {wrong}"
    )
    print(f"worst wall / nominal {min(walls):.4f}; pieces against whole, worst {max(pieces):.1e}")
    print(
        f"time to build and accept: median {np.median(times):.2f} s, p95 {np.quantile(times, 0.95):.2f} s, worst {max(times):.2f} s"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
