"""How long the page takes and how large it is: `python -m tests.benchmarks.bench_page [JOB …]`.

Asked: 4 MB and ready within 3 s on two cores for the four-cylinder job, made within 3 s after its check.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import manifoldgen as mg
from manifoldgen.reports import report
from manifoldgen.reports.page import made
from tests.browser import browser, opened

JOBS = Path(__file__).parents[2] / "cq_scripts" / "jobs"
MOST_MB, MOST_S = 4.0, 3.0


def measured(name: str) -> bool:
    """Print one job's figures; False where one is over."""
    design = mg.design(JOBS / f"{name}.yaml", search=False)
    content = report(design)
    start = time.perf_counter()
    page = made(design, content)
    making = time.perf_counter() - start
    size = len(page.text.encode()) / 1e6
    ready = []
    with tempfile.TemporaryDirectory() as folder, browser() as running:
        file = page.write(Path(folder) / "report.html")
        for _ in range(3):
            start = time.perf_counter()
            with opened(running, file) as view:
                ready.append(time.perf_counter() - start)
                triangles = view.run("viewerReady.triangles")
    print(
        f"{name}: made in {making:.2f} s, {size:.2f} MB, {triangles} triangles, ready in {min(ready):.2f} to {max(ready):.2f} s"
    )
    return size <= MOST_MB and making <= MOST_S and max(ready) <= MOST_S


if __name__ == "__main__":
    names = sys.argv[1:] or sorted(p.stem for p in JOBS.glob("*.yaml"))
    sys.exit(0 if set(map(measured, names)) == {True} else 1)
