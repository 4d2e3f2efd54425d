"""A check as the registry lists it: the question, and every kind of finding that may answer it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from manifoldgen.access.hands import Hands
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.pairs import Pair
from manifoldgen.manifold.model import Manifold


@dataclass(frozen=True, kw_only=True)
class Check:
    """A question asked of the numbers alone; called with a manifold it gives the findings.

    kinds : all that it may find.  ask : the question; it changes nothing and finds the same every time.
    """

    kinds: tuple[FindingKind, ...]
    ask: Callable[[Manifold], Iterable[Finding]]

    def __call__(self, m: Manifold) -> tuple[Finding, ...]:
        """The answer, every finding of a listed kind."""
        return _listed(self.kinds, self.ask(m))


@dataclass(frozen=True, kw_only=True)
class HandCheck:
    """A question asked of what hands, tools and torch reach as well, once every path is there; else as `Check`."""

    kinds: tuple[FindingKind, ...]
    ask: Callable[[Manifold, Hands], Iterable[Finding]]

    def __call__(self, m: Manifold, hands: Hands) -> tuple[Finding, ...]:
        """The answer, every finding of a listed kind."""
        return _listed(self.kinds, self.ask(m, hands))


@dataclass(frozen=True, kw_only=True)
class GapCheck:
    """A question of distances: the table of gaps and the findings (`pairs.short`) are read off the same pairs.

    kinds : of all its pairs.  measure : every pair, with the place where the gap is worst.
    """

    kinds: tuple[FindingKind, ...]
    measure: Callable[[Manifold], Iterable[Pair]]


def _listed(kinds: tuple[FindingKind, ...], answer: Iterable[Finding]) -> tuple[Finding, ...]:
    """The answer as it is.

    Raises
    ------
    TypeError : something came back that is no finding.
    ValueError : a finding of a kind that is not listed.
    """
    found = tuple(answer)
    for finding in found:
        if not isinstance(finding, Finding):
            raise TypeError(f"a check answers with findings, not with {finding!r}")
        if finding.kind not in kinds:
            known = ", ".join(kind.name for kind in kinds) or "nothing"
            raise ValueError(f"the check may find {known}; {finding.name} is not listed among its kinds")
    return found
