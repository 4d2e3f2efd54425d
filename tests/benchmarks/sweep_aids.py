"""Every shop aid of every demo job: what is made and how long it takes, what the slicer says of guides and cradles.

    python -m tests.benchmarks.sweep_aids [--slice] [FOLDER]

FOLDER holds other jobs than the demo ones.  Runners still to be found are routed first.  Exit code 1 where an aid is not one closed body inside the bed, or the
slicer refuses it or wants more than 5 % of a guide or cradle in supports.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import manifoldgen
from manifoldgen.prints import bodies
from manifoldgen.prints.all import Options, printed_parts
from tests.prints.slicer import sliced

AIDS = frozenset(["gauge", "reach", "dummy", "guide", "cradle", "nest", "window", "drill guide", "stand"])
JOBS = Path(__file__).resolve().parents[2] / "cq_scripts" / "jobs"


def main(folder: Path, *, slicing: bool) -> int:
    """Print a line a job and a line a trouble; return how many troubles there were."""
    troubles = 0
    for path in sorted(folder.glob("*.yaml")):
        design = manifoldgen.design(path)
        m = design.manifold
        start = time.perf_counter()
        made = printed_parts(design, Options(kinds=AIDS))
        took = time.perf_counter() - start
        grams, hours = sum(p.grams for p in made.parts), sum(p.hours for p in made.parts)
        print(f"{path.stem}: {len(made.parts)} aids in {took:.1f} s, {grams:.0f} g, {hours:.0f} h")
        for error in made.errors:
            print(f"  left out: {error}")
        room = m.workshop.room
        for part in made.parts:
            wrong = not part.mesh.closed or len(bodies.solid_of(part.mesh).decompose()) != 1
            wrong = wrong or any(s > r + 1e-6 for s, r in zip(part.size, room, strict=True))
            if slicing and part.kind in ("guide", "cradle"):
                with tempfile.TemporaryDirectory() as scratch:
                    found = sliced(part, Path(scratch))
                bad = found.codes != (0, 0) or "Empty layer" in found.said or found.parts != 1
                wrong = wrong or bad or not found.manifold or found.support_share > 0.05
                print(f"  {part.name}: {found.grams:.1f} g, support {100 * found.support_share:.1f} %")
            if wrong:
                troubles += 1
                print(f"  TROUBLE {part.name}")
    return troubles


if __name__ == "__main__":
    folders = [Path(a) for a in sys.argv[1:] if not a.startswith("-")]
    sys.exit(1 if main(folders[0] if folders else JOBS, slicing="--slice" in sys.argv) else 0)
