"""The steps of a design on their own, for scripts: paths, pieces, findings; each goes through `design`."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from manifoldgen.checks.finding import Finding
from manifoldgen.designs.make import SEED, Source, design
from manifoldgen.manifold.model import Manifold
from manifoldgen.public import public

if TYPE_CHECKING:
    from manifoldgen.routing.search import Budget, Progress


@public
def route(
    source: Source,
    *,
    seed: int = SEED,
    budget: Budget | None = None,
    progress: Callable[[Progress], None] | None = None,
    rounding: float | None = None,
) -> Manifold:
    """The manifold with the paths that its job leaves open, as far as they can be found, and its pieces.

    Parameters
    ----------
    source : a manifold, or what `design` takes.  seed : of all random numbers; the same seed gives the same answer.
    budget : how much is tried, in counts.  progress : called after every layout that was measured.
    rounding : mm (and degrees) that all numbers of the paths found are multiples of, but the closing five.

    >>> import manifoldgen as mg
    >>> m = mg.route("cq_scripts/jobs/snow_groomer_three.yaml")
    >>> all(run.path for run in m.runners)
    True
    """
    return design(source, seed=seed, budget=budget, progress=progress, rounding=rounding).manifold


@public
def split(source: Source) -> Manifold:
    """The manifold with its pieces, joints and cutting plan; open runners stay open and have none.

    source : a manifold, or what `design` takes. Cut as every verb cuts it: where welds would be out of reach,
    another way if that is better.

    >>> import manifoldgen as mg
    >>> m = mg.split("cq_scripts/jobs/snow_groomer_three.yaml")
    >>> m.pieces[0].id, m.joints[0].id
    ('R1-P1', 'J1.1')
    """
    return design(source, search=False).manifold


@public
def check(source: Source) -> tuple[Finding, ...]:
    """Every finding of every check, errors first and the furthest off first.

    source : a manifold, or what `design` takes. Paths still ``auto`` are the note ``path-auto``; they are not
    searched for.

    >>> import manifoldgen as mg
    >>> [f.name for f in mg.check("cq_scripts/jobs/snow_groomer_tight.yaml") if f.severity == "error"]
    ['stud-out-of-reach']
    """
    return design(source, search=False).findings
