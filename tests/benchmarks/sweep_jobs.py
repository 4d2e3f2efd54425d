"""Routes the shipped jobs with open paths and the starters, writes them out and checks what was written.

Run: python -m tests.benchmarks.sweep_jobs [starter|jobs|all]

Seconds are CPU seconds of this process: search, with the checks of the few answers that are compared.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import manifoldgen as mg
from manifoldgen.cli import job
from manifoldgen.cli.written import copied
from manifoldgen.parameters.starter import ORDERS, Answers, starter

JOBS = Path(__file__).parents[2] / "cq_scripts" / "jobs"


def one(file: Path, out: Path) -> bool:
    """Route, write, check one file; prints a line."""
    begin = time.process_time()
    laid = job.laid(file)
    routed = mg.design(laid).routed
    assert routed is not None
    seconds = time.process_time() - begin
    out.write_bytes(copied(file, file.read_bytes(), laid, routed.manifold, out))
    again = mg.design(out, search=False).manifold
    errors = sorted(f.name for f in mg.check(again) if f.severity == "error")
    lengths = [run.path.length for run in again.runners if run.path is not None]
    missed = max(run.miss_mm for run in again.runners)
    print(
        f"{file.stem:24} {'verified' if routed.verified else 'not found':9} {seconds:5.1f} s  "
        f"{max(lengths, default=0):6.1f} mm  end off {missed:.5f} mm  errors {errors}",
        flush=True,
    )
    return routed.verified and not errors


def main(which: str = "all") -> int:
    """Exit code 1 where one is not clean."""
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder)
        files = []
        if which != "starter":
            files += [f for f in sorted(JOBS.glob("*.yaml")) if ": auto\n" in f.read_text(encoding="utf-8")]
        if which != "jobs":
            for n in ORDERS:
                files.append(made / f"starter-{n}.yaml")
                files[-1].write_text(starter(f"starter-{n}", Answers(n)), encoding="utf-8")
        clean = [one(f, made / f"out-{f.name}") for f in files]
        return 0 if all(clean) else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
