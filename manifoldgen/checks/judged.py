"""Routes judged by the checks: what a search cannot know by itself is told to it, the same for every caller."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from manifoldgen.access.welding import stuck
from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces.split import split
from manifoldgen.routing import route as routing

if TYPE_CHECKING:
    from manifoldgen.routing.route import Routed
    from manifoldgen.routing.search import Budget, Progress


def find(
    m: Manifold,
    *,
    seed: int = 1,
    budget: Budget | None = None,
    progress: Callable[[Progress], None] | None = None,
    rounding: float | None = None,
) -> Routed:
    """`routing.route.find` with stuck welds as a cost, and the checks as judge of the best few answers."""
    return routing.find(
        m, seed=seed, budget=budget, progress=progress, rounding=rounding, judge=errors_counted(),
        stuck=welds_stuck,
    )  # fmt: skip


def route(
    m: Manifold,
    *,
    seed: int = 1,
    budget: Budget | None = None,
    progress: Callable[[Progress], None] | None = None,
    rounding: float | None = None,
) -> Manifold:
    """The manifold with the paths that its job leaves open, as far as they can be found.

    Parameters
    ----------
    seed : of all random numbers; the same seed gives the same answer.
    budget : how much is tried, in counts.
    progress : called after every layout that was measured.
    rounding : mm (and degrees) that all numbers of the paths found are multiples of, but the closing five.
    """
    return find(m, seed=seed, budget=budget, progress=progress, rounding=rounding).manifold


def welds_stuck(m: Manifold) -> int:
    """How many welds of a manifold no order of welding reaches in full."""
    return len(stuck(split(m)))


def errors_counted() -> Callable[[Manifold], int]:
    """Count a layout's error findings; they come best first: once one has none the rest is not looked at."""
    from manifoldgen.checks import run_all

    clean = False

    def errors(m: Manifold) -> int:
        nonlocal clean
        if clean:
            return 1
        found = sum(f.severity == "error" for f in run_all(split(m)))
        clean = not found
        return found

    return errors
