"""The second solver: right where the answer is known, quiet, interruptible, and asked only after the first."""

import os
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from manifoldgen.routing.problem import Problem, problem
from manifoldgen.routing.refine import Layout, as_layout, refine
from manifoldgen.routing.search import Budget, Depth, Search
from manifoldgen.routing.second import interior
from tests.benchmarks.scenes import Scene

ROOT = Path(__file__).resolve().parents[2]
PLANE = {"type": "eq", "fun": lambda z: np.array([z.sum() - 3]), "jac": lambda _z: np.ones((1, 2))}
WALL = {"type": "ineq", "fun": lambda z: np.array([z[0] - 2]), "jac": lambda _z: np.array([[1.0, 0.0]])}


def nearest(*conditions, bounds=((None, None), (None, None)), cost=lambda z: float(z @ z)):
    """The point of the plane nearest to the origin under some conditions."""
    return interior(cost, np.zeros(2), jac=lambda z: 2 * z, bounds=bounds, constraints=conditions, rounds=100)


@pytest.fixture(scope="module")
def start() -> tuple[Problem, Layout]:
    """Three cylinders, and the first choice of their best ring as it comes from the pool."""
    p = problem(Scene(3, 105).manifold)
    search = Search(p, 1, Budget())
    ring = min(search.rings, key=search._estimate)
    return p, as_layout(search._choices(ring, search._estimate(ring) * 1.15, Depth(1500, 30, 8.0, 0))[0])


def test_known_answers() -> None:
    """An equality, a limit and a bound, each deciding once (closed form: the foot of a perpendicular)."""
    assert nearest(PLANE) == pytest.approx([1.5, 1.5], abs=1e-4)
    assert nearest(PLANE, WALL) == pytest.approx([2.0, 1.0], abs=1e-4)
    assert nearest(PLANE, bounds=((None, None), (2.5, None))) == pytest.approx([0.5, 2.5], abs=1e-4)


def test_interrupt_and_errors_come_through(request) -> None:
    """Ctrl-C in the middle of a solve stops the search; an error of the cost is not swallowed."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background job ignores it
    request.addfinalizer(lambda: signal.signal(signal.SIGINT, before))

    def stopping(z) -> float:
        os.kill(os.getpid(), signal.SIGINT)
        return float(z @ z)

    def failing(_z) -> float:
        raise ValueError("no cost")

    with pytest.raises(KeyboardInterrupt):
        nearest(PLANE, cost=stopping)
    with pytest.raises(ValueError, match="no cost"):
        nearest(PLANE, cost=failing)


def test_layout_closed_where_the_first_solver_ran_out_of_rounds(start, capfd) -> None:
    """After one round of the first solver the lengths differ; the second brings all limits and lengths to hold."""
    p, choice = start
    short = refine(p, choice, rounds=1)
    assert short.margin < -0.01 or np.ptp(short.lengths) > 0.1
    closed = refine(p, short, rounds=200, second=True)
    assert closed.margin > -1e-3
    assert np.ptp(closed.lengths) < 1e-3
    assert capfd.readouterr() == ("", "")


def test_both_solvers_agree(start) -> None:
    """From one start, given rounds enough, both come to one cost: they were given the same conditions."""
    p, choice = start
    first, second = refine(p, choice, rounds=200), refine(p, choice, rounds=200, second=True)
    assert first.margin > -1e-3
    assert second.margin > -1e-3
    assert second.cost == pytest.approx(first.cost, rel=2e-3)


def test_asked_only_where_nothing_was_found(monkeypatch) -> None:
    """A search whose first solver makes one runner too long is saved by the second; one that found its answer never asks."""
    from manifoldgen.routing import search as room

    asked = []

    def crippled(p, layout, *, rounds=60, second=False, **rest):
        asked.append(second)
        if second:
            return refine(p, layout, rounds=rounds, second=True, **rest)
        return replace(layout, x=(layout.x[0] + 10.0, *layout.x[1:]))

    small = Budget(first=2, factors=(1.1,), draws=1500, most=30, refined=2, around=0, tidied=0)
    p = problem(Scene(3, 105).manifold)
    plain = Search(p, 1, small)
    monkeypatch.setattr(Search, "_second", lambda _s: pytest.fail("the second solver was asked"))
    assert [told.verified for told in plain.run()][-1]
    monkeypatch.undo()
    monkeypatch.setattr(room, "refine", crippled)
    monkeypatch.setattr(room, "_MENDED", ())
    saved = Search(p, 1, small)
    stages = {told.stage for told in saved.run()}
    assert "second solver" in stages
    assert any(asked)
    assert saved.best is not None
    assert saved.best.good


CODE = """
from dataclasses import replace
from manifoldgen.routing import search as room
from manifoldgen.routing.route import find
from manifoldgen.routing.search import Budget
from tests.benchmarks.scenes import Scene

plain = room.refine
room._MENDED = ()
spoilt = lambda l: replace(l, x=(l.x[0] + 10.0, *l.x[1:]))
room.refine = lambda p, l, second=False, **rest: plain(p, l, second=True, **rest) if second else spoilt(l)
small = Budget(first=2, factors=(1.1,), draws=1500, most=30, refined=2, around=0, tidied=0)
stages = []
found = find(Scene(3, 105).manifold, budget=small, progress=lambda told: stages.append(told.stage))
print(found.verified, "second solver" in stages, found.manifold.collectors[0].clock)
print([run.path for run in found.manifold.runners])
"""


@pytest.mark.slow
def test_same_seed_same_answer_by_the_second_solver() -> None:
    """Two processes with different hash seeds find the same numbers where the second solver found them."""
    answers = [
        subprocess.run(
            [sys.executable, "-c", CODE], cwd=ROOT, capture_output=True, text=True, check=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
        ).stdout
        for seed in ("1", "2")
    ]  # fmt: skip
    assert answers[0].startswith("True True ")
    assert answers[0] == answers[1]
