"""Closes runs to poses that a known run reaches; prints counts, total bend against the known run, times.

Run: python -m tests.benchmarks.sweep_close [cases] [seed]
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.snap import miss
from manifoldgen.geometry.vectors import vec
from manifoldgen.routing.closure import closures

STOCK = ((57.15, 90.0), (76.2, 90.0), (38.1, 90.0))


@dataclass(frozen=True)
class Case:
    """A pose to reach, what may be used, and one run that reaches it."""

    known: Path
    radii: tuple[tuple[float, float], ...]
    inlet_straight: float


def case(rng: np.random.Generator) -> Case:
    """One to three bends of 10-90°, straights 0-150 mm (some exactly 0), one to three stock radii."""
    radii = STOCK[: int(rng.integers(1, 4))]
    elements: list[Element] = []
    for _ in range(int(rng.integers(1, 4))):
        elements.append(Straight(float(rng.choice([0.0, *rng.uniform(0, 150, 4)]))))
        clr = radii[int(rng.integers(len(radii)))][0]
        elements.append(Bend(float(rng.uniform(10, 90)), clr, float(rng.uniform(-180, 180))))
    inlet = float(rng.choice([0.0, 15.0]))
    elements.append(Straight(float(rng.uniform(inlet, 150))))
    start = Pose.heading(vec(rng.uniform(-200, 200, 3)), vec(rng.normal(size=3)))
    return Case(Path(start, tuple(elements)), radii, inlet)


@dataclass(frozen=True)
class Outcome:
    """Result of one case."""

    found: int
    excess: float  # of the best total bend over the known one, as a fraction
    miss: float  # mm or degrees, the worst of all found
    sound: bool  # straights and bends of all found keep to what was asked
    seconds: float
    trouble: str = ""


def solve(c: Case) -> Outcome:
    """Close one case and measure all that came back."""
    begin = time.perf_counter()
    try:
        runs = closures(c.known.start, c.known.end, c.radii, c.inlet_straight)
    except PathError as error:
        return Outcome(
            0, np.inf, np.inf, sound=False, seconds=time.perf_counter() - begin, trouble=str(error)
        )
    seconds = time.perf_counter() - begin
    worst = max(max(miss(r, c.known.end)) for r in runs)
    return Outcome(
        len(runs), runs[0].bend_deg / c.known.bend_deg - 1, worst, all(_sound(r, c) for r in runs), seconds
    )


def _sound(run: Path, c: Case) -> bool:
    caps = dict(c.radii)
    last = run.elements[-1]
    tail = last.length if isinstance(last, Straight) else 0.0
    return tail >= c.inlet_straight - 1e-9 and all(
        b.clr in caps and b.angle <= caps[b.clr] + 1e-6 for b in run.bends
    )


def main(cases: int, seed: int) -> int:
    """Print one line a failure and the totals; 1 where any case failed."""
    rng = np.random.default_rng(seed)
    solve(case(np.random.default_rng(0)))  # compile
    outcomes = []
    for k in range(cases):
        c = case(rng)
        o = solve(c)
        outcomes.append(o)
        if not o.found or o.excess > 0.05 or o.miss > 1e-9 or not o.sound:
            print(k, len(c.known.bends), "bends,", f"{o.excess:+.3f}", o, flush=True)
            print("   ", c.radii, c.known.elements)
    good = [o for o in outcomes if o.found and o.excess <= 0.05 and o.miss <= 1e-9 and o.sound]
    seconds = np.array([o.seconds for o in outcomes])
    excess = np.array([o.excess for o in outcomes if o.found])
    print(
        f"seed {seed}: {len(good)} of {cases} good; closed {len(excess)}; total bend against the known run "
        f"median {np.median(excess):+.1%} worst {excess.max():+.1%}; s median {np.median(seconds):.2f} "
        f"p95 {np.quantile(seconds, 0.95):.2f} max {seconds.max():.2f}; runs a case "
        f"{np.mean([o.found for o in outcomes]):.1f}; worst miss {max(o.miss for o in outcomes):.1e}"
    )
    return int(len(good) < cases)


if __name__ == "__main__":
    numbers = [int(a) for a in sys.argv[1:]]
    sys.exit(main(*(numbers + [200, 1][len(numbers) :])))
