"""Routes the named scenes and prints what was found; strict means that the program's own checks name no runner.

Run: python -m tests.benchmarks.sweep_routes [base|hard|all] [every k-th scene] [seed] [times the budget] [scene names]

Times are CPU seconds of this process, imports and compilation left out.  A reference with ten times the budget
and other seeds is for the scenes that fail: `sweep_routes all 1 2 10 hard-5-203`.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterable
from dataclasses import asdict, dataclass

import numpy as np

from manifoldgen.checks import run_all
from manifoldgen.designs.judge import welds_stuck
from manifoldgen.routing.diagnose import diagnose
from manifoldgen.routing.problem import problem
from manifoldgen.routing.search import Budget, Search
from manifoldgen.routing.threads import single
from tests.benchmarks.scenes import Scene, base, hard


@dataclass(frozen=True)
class Outcome:
    """One scene: `verified` by the search, `strict` by the checks; seconds are CPU seconds."""

    name: str
    cylinders: int
    verified: bool
    strict: bool
    first_s: float | None
    whole_s: float
    length: float | None = None
    above_pct: float | None = None
    spread_pct: float | None = None
    bends: float | None = None
    turn_deg: float | None = None
    told: str = ""


def solve(scene: Scene, seed: int, budget: Budget) -> Outcome:
    """Search one scene and measure what came of it."""
    m = scene.manifold
    begin = time.process_time()
    first = None
    with single():
        p = problem(m)
        search = Search(p, seed, budget, welds_stuck)
        for told in search.run():
            if told.verified and first is None:
                first = time.process_time() - begin
        whole = time.process_time() - begin
        best = search.best
        if best is None or not best.good:
            why = diagnose(p, search.failed, search.blocked).sentence
            return Outcome(
                scene.name,
                scene.cylinders,
                verified=False,
                strict=False,
                first_s=None,
                whole_s=whole,
                told=why,
            )
    runs = [r for r in best.manifold.runners if r.path]
    faults = [
        f.message
        for f in run_all(best.manifold)
        if f.severity == "error" and "runner" in " ".join((f.message, *f.parts))
    ]
    lengths = np.array([r.path.length for r in runs if r.path])
    return Outcome(
        scene.name, scene.cylinders, verified=True, strict=not faults, first_s=first, whole_s=whole,
        length=float(lengths.mean()), above_pct=float(100 * (lengths.mean() / search.bound - 1)),
        spread_pct=float(100 * np.ptp(lengths) / lengths.mean()),
        bends=float(np.mean([len(r.path.bends) for r in runs if r.path])),
        turn_deg=float(np.mean([r.path.bend_deg for r in runs if r.path])), told="; ".join(faults),
    )  # fmt: skip


def table(outcomes: list[Outcome]) -> str:
    """Rows by set and number of cylinders, like the ones in the notes on routing."""
    rows = [
        (
            "| set | N | scenes | verified | strict | first CPU s med/max | whole CPU s med/max | above bound % med/max "
            "| spread % max | bends/runner | deg/runner |"
        )
    ]
    rows.append("|" + "---|" * 11)
    groups = sorted({(o.name.split("-")[0], o.cylinders) for o in outcomes})
    groups += [(name, 0) for name in sorted({g[0] for g in groups})]
    for name, n in groups:
        some = [o for o in outcomes if o.name.startswith(name) and n in {0, o.cylinders}]
        good = [o for o in some if o.strict]

        def most(values: Iterable[float | None]) -> str:
            known = [v for v in values if v is not None]
            return f"{np.median(known):.2f} / {max(known):.2f}" if known else "-"

        def mean(values: Iterable[float | None]) -> str:
            known = [v for v in values if v is not None]
            return f"{np.mean(known):.2f}" if known else "-"

        spread = max((o.spread_pct or 0.0 for o in good), default=0.0)
        rows.append(
            f"| {name} | {n or 'all'} | {len(some)} | {sum(o.verified for o in some)} | {len(good)} "
            f"| {most(o.first_s for o in good)} | {most(o.whole_s for o in some)} | {most(o.above_pct for o in good)} "
            f"| {spread:.4f} | {mean(o.bends for o in good)} | {mean(o.turn_deg for o in good)} |"
        )
    return "\n".join(rows)


def main(words: list[str]) -> int:
    """Print one JSON line a scene and the table; 1 where a verified answer does not pass the checks."""
    which, step, seed, times = (words + ["all", "1", "1", "1"][len(words) :])[:4]
    scenes = {"base": base(), "hard": hard(), "all": base() + hard()}[which]
    names = words[4:]
    chosen = [s for s in scenes if s.name in names] if names else scenes[:: int(step)]
    budget = Budget() if times == "1" else Budget().times(int(times))
    solve(Scene(3, 1), 1, Budget(first=1, factors=(1.1,), refined=1, around=1))  # imports and compilation
    outcomes = []
    for scene in chosen:
        outcomes.append(solve(scene, int(seed), budget))
        print(json.dumps(asdict(outcomes[-1])), flush=True)
    print(table(outcomes))
    return int(any(o.verified and not o.strict for o in outcomes))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
