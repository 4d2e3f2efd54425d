"""Auto runners found: verified by the checks, the same every time, kept when stopped, told where nothing fits."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from manifoldgen.checks import run_all
from manifoldgen.geometry.pose import Frame, X, Y, Z
from manifoldgen.geometry.shapes import Box
from manifoldgen.geometry.snap import miss
from manifoldgen.manifold.model import Manifold, Obstacle
from manifoldgen.routing.route import find, route
from manifoldgen.routing.search import Budget
from tests.benchmarks.scenes import Scene

SMALL = Budget(first=6, factors=(1.05, 1.2), draws=1500, most=30, refined=4, around=1, tidied=1)
ROOT = Path(__file__).resolve().parents[2]


def faults(m: Manifold) -> list[str]:
    """What the checks hold against the runners."""
    return [
        f.message for f in run_all(m) if f.severity == "error" and "runner" in " ".join((f.message, *f.parts))
    ]


@pytest.fixture(scope="module")
def three() -> Manifold:
    """Three cylinders, all runners auto."""
    return Scene(3, 105).manifold


def test_found_runners_pass_the_checks(three: Manifold) -> None:
    """Every path lands on its inlet, all one length, and no check names a runner."""
    found = find(three, budget=SMALL)
    assert found.verified
    assert found.bound is not None
    lengths = [run.path.length for run in found.manifold.runners if run.path]
    assert len(lengths) == 3
    assert max(lengths) - min(lengths) <= 1e-3 * lengths[0]
    assert min(lengths) >= found.bound
    for run in found.manifold.runners:
        assert run.todo is None
        assert run.path is not None
        assert run.target is not None
        assert max(miss(run.path, run.target)) < 1e-9
    assert faults(found.manifold) == []


def test_stopping_keeps_the_best(three: Manifold) -> None:
    """Ctrl-C once an answer is there: that answer comes back, and it is verified."""

    def stop(told) -> None:
        if told.verified:
            raise KeyboardInterrupt

    found = find(three, budget=SMALL, progress=stop)
    assert found.stopped
    assert found.verified
    assert faults(found.manifold) == []


def test_rounded_numbers_leave_five_to_close(three: Manifold) -> None:
    """All numbers but the last five of a runner are multiples of half a millimetre or degree; limits still hold."""
    m = route(three, budget=SMALL, rounding=0.5)
    for run in m.runners:
        assert run.path is not None
        first, bend = run.path.elements[:2]
        assert first.length * 2 == pytest.approx(round(first.length * 2), abs=1e-9)
        assert bend.roll * 2 == pytest.approx(round(bend.roll * 2), abs=1e-9)
        assert run.target is not None
        assert max(miss(run.path, run.target)) < 1e-9
    assert faults(m) == []


def test_steps_too_coarse_are_told_with_the_ones_that_work(three: Manifold, monkeypatch) -> None:
    """Where 0.5 cannot be kept and 0.1 can, the answer stays exact and names 0.1."""
    from manifoldgen.routing import rounding

    whole = rounding.rounded_layout
    monkeypatch.setattr(rounding, "rounded_layout", lambda p, a, mm: whole(p, a, mm) if mm < 0.15 else None)
    found = find(three, budget=SMALL, rounding=0.5)
    assert found.verified
    assert found.finer == pytest.approx(0.1)
    assert faults(found.manifold) == []


def test_a_fixed_runner_stays_and_sets_the_length(three: Manifold) -> None:
    """The hardest runner by hand: the others come to its length and keep clear of it."""
    whole = route(three, budget=SMALL)
    kept = whole.runners[1]
    c = replace(whole.collectors[0], clock_free=False, mirror_free=False)
    opened = tuple(r if r.number == 2 else replace(r, path=None, todo="auto") for r in whole.runners)
    again = find(replace(whole, collectors=(c,), runners=opened), budget=SMALL, seed=3)
    assert again.verified
    assert again.manifold.runners[1] == kept
    assert faults(again.manifold) == []


def test_nothing_fits_is_told_with_a_move_that_works(three: Manifold) -> None:
    """A wall before the flange: what binds is named, by how much, and the cure was verified."""
    wall = Box(Frame((90.0, 0.0, 85.0), X, Y, Z), (600.0, 400.0, 10.0))
    found = find(replace(three, obstacles=(*three.obstacles, Obstacle("wall", wall, 10.0))), budget=SMALL)
    assert not found.verified
    assert found.diagnosis is not None
    assert found.diagnosis.short > 0
    assert "no layout meets all limits" in found.diagnosis.sentence
    assert all(run.trouble for run in found.manifold.runners)


@pytest.mark.slow
def test_same_seed_same_answer_in_any_process() -> None:
    """Two processes with different hash seeds write the same numbers."""
    code = (
        "from tests.benchmarks.scenes import Scene; from manifoldgen.routing.route import route;"
        "from manifoldgen.routing.search import Budget;"
        "m = route(Scene(3, 105).manifold, budget=Budget(first=3, factors=(1.1,), refined=2, around=1));"
        "print(m.collectors[0].clock, [r.path for r in m.runners])"
    )
    answers = [
        subprocess.run([sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": s, "PYTHONPATH": str(ROOT)}, cwd=ROOT,
                       capture_output=True, text=True, check=True).stdout
        for s in ("1", "2")
    ]  # fmt: skip
    assert answers[0] == answers[1] != ""
