"""Kill a real build at random moments and look at what it leaves: `python -m tests.benchmarks.sweep_kill_build [N]`.

A first build of one job is made, the job is changed, and the second build is killed (SIGKILL) N times anywhere
in its run time. After each kill the result must verify against its manifest and be the old one or the new one.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from manifoldgen.export.manifest import problems, sha256

SEED = 20261125
BUILD = """
import sys
from manifoldgen.cli import job, main
from manifoldgen.pieces import split
from tests import factory
m = split(factory.manifold(2, length=float(sys.argv[2])))
job.laid = lambda file, **_: m
sys.exit(main(["build", "job.yaml", "--out", sys.argv[1]]))
"""


def started(out: Path, length: float) -> subprocess.Popen[bytes]:
    """Start a build with runners of the given length."""
    command = [sys.executable, "-c", BUILD, str(out), str(length)]
    return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def main(kills: int) -> int:
    """Run the sweep; returns how many kills left something else than the old or the new result."""
    chance = random.Random(SEED)  # noqa: S311  moments, not secrets
    bad = 0
    with tempfile.TemporaryDirectory() as scratch:
        out = Path(scratch)
        result = out / "bundle" / "manifest.json"
        known = {}
        begun = time.perf_counter()
        for length in (220.0, 200.0):
            if started(out, length).wait() != 0:
                raise SystemExit("the job does not build")
            known[sha256(result)] = length
        took = (time.perf_counter() - begun) / 2
        print(f"seed {SEED}, one build takes {took:.1f} s")
        for turn in range(kills):
            length = (220.0, 200.0)[turn % 2]
            build = started(out, length)
            # half of the kills fall into the last seconds, where files are written and folders change places
            moment = chance.uniform(0.0, 1.05 * took) if turn % 2 else chance.uniform(0.7 * took, 1.05 * took)
            time.sleep(moment)
            build.send_signal(signal.SIGKILL)
            build.wait()
            found = problems(result.parent)
            left = known.get(sha256(result)) if result.is_file() else None
            bad += bool(found) or left is None
            scraps = len([p for p in out.iterdir() if p.name.startswith(".")])
            print(
                f"{turn + 1:3d}  killed after {moment:5.1f} s: runners of {left} mm, {scraps} scraps {found or ''}"
            )
        if started(out, 200.0).wait() != 0 or [p.name for p in out.iterdir()] != ["bundle"]:
            print("the next build did not clear what the killed ones left")
            bad += 1
    print(f"{kills} kills, {bad} bad")
    return bad


if __name__ == "__main__":
    sys.exit(min(main(int(sys.argv[1]) if len(sys.argv) > 1 else 20), 1))
