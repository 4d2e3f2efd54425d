"""From a parameter file to a `Design`: load, lay out, route, cut up, measure, judge. The only way there is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from os import PathLike
from typing import TYPE_CHECKING, Any

from manifoldgen.designs.judge import Judge, welds_stuck
from manifoldgen.designs.model import Design
from manifoldgen.manifold.assemble import assemble
from manifoldgen.manifold.model import Manifold
from manifoldgen.parameters import Parameters, load
from manifoldgen.public import public
from manifoldgen.routing import route as routing

if TYPE_CHECKING:
    from manifoldgen.routing.search import Budget, Progress

SEED = 1  # of every search, so that the same file gives the same manifold

Source = Manifold | Parameters | Mapping[str, Any] | str | PathLike[str]


@public
def design(
    source: Source,
    *,
    search: bool = True,
    seed: int = SEED,
    rounding: float | None = None,
    budget: Budget | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> Design:
    """A job worked out whole.

    Parameters
    ----------
    source : a parameter file, its mapping, its parameters, or a manifold; pieces that a manifold has already are kept.
    search : find the runners that are ``auto``; without it only ``close`` endings are worked out.
    seed : of all random numbers; the same seed gives the same answer.
    rounding : mm (and degrees) that all numbers of the paths found are multiples of, but the closing five.
    budget : how much is tried, in counts.
    progress : called after every layout that was measured.

    Ctrl-C during the search ends it: the best so far stands, and `Design.stopped` says so.

    Raises
    ------
    ManifoldgenError : the file is wrong; the sentence says where and what.

    >>> import manifoldgen as mg
    >>> d = mg.design("cq_scripts/jobs/snow_groomer_three.yaml")
    >>> sum(f.severity == "error" for f in d.findings)
    0
    """
    m = laid_out(source)
    judge = Judge()
    routed = None
    if search:
        routed = routing.find(
            m, seed=seed, budget=budget, progress=progress, rounding=rounding, judge=judge.errors,
            stuck=welds_stuck,
        )  # fmt: skip
        m = routed.manifold
    else:
        m = routing.closed(m)
    made = judge.settled(m)
    return Design(
        manifold=made.manifold,
        findings=made.examined.findings,
        gaps=made.examined.gaps,
        hands=made.examined.hands,
        routed=routed,
        seed=seed,
        faults=made.examined.faults,
    )


def laid_out(source: Source) -> Manifold:
    """The source as a manifold, its open paths still open.

    Raises
    ------
    ManifoldgenError : as `design`.
    """
    if isinstance(source, Manifold):
        return source
    return assemble(source if isinstance(source, Parameters) else load(source))
