"""Kernel-free meshes against the kernel's surfaces over random jobs: `python -m tests.benchmarks.sweep_meshes [N]`.

Asked: 0.15 mm between the surfaces, 0.5 % of volume, every mesh closed. Jobs that the kernel refuses to build
in part are compared in the rest.
"""

from __future__ import annotations

import sys

import numpy as np

from manifoldgen import solids
from manifoldgen.mesh.parts import draw
from manifoldgen.pieces import split
from tests.layouts import random_manifold
from tests.mesh.surfaces import brep, farthest


def compared(seed: int) -> tuple[float, float, int]:
    """Farthest distance, largest share of volume and number of parts over the limits, of one random job."""
    m = split(random_manifold(np.random.default_rng(seed)))
    built = solids.build(m)
    refused = {e.part for e in built.errors}
    apart, heavier, over = 0.0, 0.0, 0
    if any(b.run.name in refused for b in m.branches):  # its mouth is not sound: nothing to compare with
        return apart, heavier, over
    for d in draw(m).drawn:
        exact = built.pieces.get(d.piece) or built.parts.get(d.piece)
        if exact is None:
            continue
        far, more = farthest(brep(d.piece, exact), d.mesh), abs(d.mesh.volume / exact.Volume() - 1)
        apart, heavier = max(apart, far), max(heavier, more)
        over += far > 0.15 or more > 0.005 or not d.mesh.closed
    return apart, heavier, over


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    rows = []
    for seed in range(count):
        rows.append(compared(seed))
        print(f"seed {seed}: {rows[-1][0]:.3f} mm, {100 * rows[-1][1]:.2f} %, {rows[-1][2]} over", flush=True)
    print(f"{count} jobs: at most {max(r[0] for r in rows):.3f} mm and {100 * max(r[1] for r in rows):.2f} %")
    sys.exit(1 if any(r[2] for r in rows) else 0)
