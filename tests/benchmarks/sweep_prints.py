"""Prints every piece of every demo job's test-fit model, and judges all other printed parts too.

Run: python -m tests.benchmarks.sweep_prints [--slice] [job ...]

Judged: closed, one body, on the bed; no two model pieces overlap; walls by rays; seconds on this machine.
With --slice every part also goes through the slicer.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import pytest

import manifoldgen as mg
from manifoldgen.manifold.model import Manifold
from manifoldgen.prints import marks, plates
from manifoldgen.prints.all import printed_parts
from manifoldgen.prints.limbs import THINNEST
from manifoldgen.prints.model import model_parts
from tests.prints.models import overlaps, thin_places, trespassing
from tests.prints.slicer import sliced

JOBS = Path(__file__).parents[2] / "cq_scripts" / "jobs"
SEED = 17


def walls(m: Manifold) -> list[str]:
    """Thin places of the model without its marks, but in the collector, whose bores meet in an edge."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(marks, "DEPTH", 0.0)
        patch.setattr(plates, "mark_place", lambda *_: None)
        parts = model_parts(m)
    return [
        f"{p.name} {through:.2f} at {at.round(1).tolist()}"
        for p in parts
        if p.name != "model-collector"
        for through, at in thin_places(p, THINNEST - 0.02, 600, SEED)
    ]


def one(file: Path, *, slicing: bool) -> bool:
    """Judge one job; prints a line and what is wrong."""
    design = mg.design(file)
    m = design.manifold
    begin = time.perf_counter()
    model = model_parts(m)
    seconds = time.perf_counter() - begin
    printed = printed_parts(design)
    parts, trouble = printed.parts, printed.errors
    wrong = [*trespassing(parts, m), *(f"{a} and {b} share {v:.3f} mm3" for a, b, v in overlaps(model))]
    wrong += walls(m)
    wrong += [str(t) for t in trouble]
    if slicing:
        with tempfile.TemporaryDirectory() as folder:
            for p in parts:
                s = sliced(p, Path(folder))
                good = s.codes == (0, 0) and s.parts == 1 and s.manifold and "Empty layer" not in s.said
                if not good:
                    wrong.append(f"{p.name}: slicer {s.codes} {s.parts} parts, manifold {s.manifold}")
    print(
        f"{m.name:24} model {len(model):3} pieces {seconds:5.1f} s  all {len(parts):3} parts"
        f" {sum(p.grams for p in parts):6.0f} g {sum(p.hours for p in parts):5.0f} h  wrong {len(wrong)}",
        flush=True,
    )
    for line in wrong:
        print("   ", line)
    return not wrong


def main(*args: str) -> int:
    """Exit code 1 where something is wrong."""
    names = [a for a in args if a != "--slice"]
    files = [JOBS / f"{n}.yaml" for n in names] or sorted(JOBS.glob("*.yaml"))
    clean = [one(f, slicing="--slice" in args) for f in files]
    return 0 if all(clean) else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
