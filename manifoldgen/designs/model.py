"""The one object that everything is read off: a job laid out, routed, cut up, measured and judged, once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from html import escape
from typing import TYPE_CHECKING

from manifoldgen.access.hands import Hands
from manifoldgen.checks.finding import RANK, Finding, Findings
from manifoldgen.checks.pairs import Pair
from manifoldgen.extensions import Fault
from manifoldgen.manifold.model import Manifold
from manifoldgen.public import public
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.wording import counted

if TYPE_CHECKING:
    from manifoldgen.routing.route import Routed


@public
@dataclass(frozen=True, repr=False)
class Design:
    """A job worked out whole.

    manifold : with its pieces and joints, and every path that is written or was found.
    findings : of every check, the worst first.  gaps : every pair of parts measured for them.
    hands : what tools and torch reach; None while a path is open.
    routed : what the search for open paths came to; None where none was asked for.  seed : of that search.
    faults : checks of other packages that failed; each is a finding too.

    >>> import manifoldgen as mg
    >>> d = mg.design("cq_scripts/jobs/snow_groomer_three.yaml")
    >>> d.ok, d.open_paths
    (True, ())
    >>> d.shop.of("runner 1")[0].piece
    'R1-P1'
    """

    manifold: Manifold
    findings: tuple[Finding, ...]
    gaps: tuple[Pair, ...]
    hands: Hands | None
    routed: Routed | None = None
    seed: int = 1
    faults: tuple[Fault, ...] = ()

    def __repr__(self) -> str:
        """Its manifold in short and how many findings of which severity."""
        found = [f.severity for f in self.findings]
        told = ", ".join(counted(found.count(severity), severity) for severity in RANK)
        return f"<design of {self.manifold!r}: {told}>"

    def _repr_html_(self) -> str:
        return f"<p>{escape(repr(self))}</p>{Findings(self.findings)._repr_html_()}"

    @property
    def name(self) -> str:
        """The job's name: it names the folder of results."""
        return self.manifold.name

    @property
    def ok(self) -> bool:
        """Whether no finding is an error."""
        return not any(f.severity == "error" for f in self.findings)

    @property
    def stopped(self) -> bool:
        """Whether the search was stopped before its end (Ctrl-C); the best so far stands."""
        return self.routed is not None and self.routed.stopped

    @property
    def open_paths(self) -> tuple[str, ...]:
        """Names of the runs whose path is not known yet."""
        return tuple(run.name for run in self.manifold.runs if run.path is None)

    @cached_property
    def shop(self) -> ShopPlan:
        """What saw, mill, bench and welder need to know."""
        return ShopPlan(self.manifold, self.hands)

    @cached_property
    def bound(self) -> float | None:
        """No layout's runners are shorter than this, mm; None where no bound is known."""
        from manifoldgen.routing.bound import bound_of

        return bound_of(self.manifold)
