"""How long `check` takes when nothing is compiled yet, and when all is: wall, processor, time to the first answers.

    python -m tests.benchmarks.bench_first_run [--runs N] [--job FILE] [CLONE …]

Each clone (this one, if none is named) answers with an empty folder for compiled code, then N times with the folder
full; every run is a process of its own. What goes to stdout must be the same every time. Name two clones, one of them
at an earlier commit, for figures before and after a change. Other work on the machine makes wall times long: the
processor's seconds tell more then.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
JOB = "cq_scripts/jobs/sand_rail_four.yaml"


@dataclass(frozen=True)
class Run:
    """One run: s on the clock, s of processors, s until the first line and until the first path, what was printed."""

    wall: float
    processors: float
    first: float
    paths: float
    printed: str

    def __str__(self) -> str:
        return (
            f"{self.wall:6.1f} s wall, {self.processors:6.1f} s of processors; "
            f"first line after {self.first:5.1f} s, paths after {self.paths:5.1f} s"
        )


def spent() -> float:
    """Seconds of processors that ended children have used, their own children included."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def run(clone: Path, job: str, folder: str) -> Run:
    """`manifoldgen check` in a clone, compiled code kept in a folder."""
    command = [sys.executable, "-m", "manifoldgen", "check", job]
    env = {**os.environ, "NUMBA_CACHE_DIR": folder, "PYTHONPATH": str(clone), "PYTHONUNBUFFERED": "1"}
    before, start = spent(), time.perf_counter()
    first = paths = 0.0
    with tempfile.TemporaryFile("w+") as out:
        with subprocess.Popen(
            command, cwd=clone, env=env, stdout=out, stderr=subprocess.PIPE, text=True
        ) as process:
            for line in process.stderr or ():
                first = first or time.perf_counter() - start
                if line.lstrip().startswith("runner "):
                    paths = time.perf_counter() - start
        wall = time.perf_counter() - start
        out.seek(0)
        printed = out.read()
    assert process.returncode in {0, 1}, printed
    return Run(wall, spent() - before, first, paths or wall, printed)


def main() -> None:
    """Print the runs of every clone."""
    arguments = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    arguments.add_argument("clones", nargs="*", type=Path, default=[ROOT])
    arguments.add_argument("--runs", type=int, default=3)
    arguments.add_argument("--job", default=JOB)
    asked = arguments.parse_args()
    print(f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}, {asked.job}")
    printed = set()
    for clone in asked.clones:
        with tempfile.TemporaryDirectory() as folder:
            print(clone.resolve())
            runs = [run(clone.resolve(), asked.job, folder) for _ in range(asked.runs + 1)]
        for k, one in enumerate(runs):
            print(f"  {'steady' if k else 'cold':6} {one}")
            printed.add(one.printed)
    print("the same on stdout every time" if len(printed) == 1 else "NOT the same on stdout every time")


if __name__ == "__main__":
    main()
