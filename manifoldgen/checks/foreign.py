"""Checks that other packages add: asked like our own, but a fault of theirs is a finding, never the end."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping

from manifoldgen.access.hands import Hands
from manifoldgen.checks.check import Check, HandCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.errors import Where
from manifoldgen.extensions import Fault, Gathered, loaded
from manifoldgen.manifold.model import Manifold

GROUP = "manifoldgen.checks"
CHECK_FAILED = FindingKind(
    name="check-failed",
    severities=("warning",),
    means="A check that another package adds could not be asked, or answered with something that is no finding of its "
    "own; the sentence names the package, its entry point and what went wrong.",
    why="What it looks for is not looked for. Everything else was checked.",
    do="Tell the makers of that package, with the log that the command names. Without the package the warning is gone, "
    "and so is its check.",
)
KINDS = (CHECK_FAILED,)
_DO = "Tell the makers of {package}, with the log; everything else was checked."


def checks(own: Mapping[str, FindingKind]) -> Gathered[Check | HandCheck]:
    """The checks of other packages, not yet asked.  own : our kinds by name, which they cannot take."""
    return loaded(GROUP, _fresh(own))


def findings(m: Manifold, hands: Hands | None, own: Mapping[str, FindingKind]) -> Gathered[Finding]:
    """What the checks of other packages find, and a finding for each that failed.

    hands : without them checks of hands are not asked.  own : as in `checks`.
    """
    fresh = _fresh(own)

    def answer(made: object) -> tuple[Finding, ...]:
        return tuple(_shown(finding) for finding in _asked(fresh(made), m, hands))

    answers = loaded(GROUP, answer)
    found = [finding for answer in answers.made for finding in answer]
    return Gathered((*found, *(_failed(fault) for fault in answers.faults)), answers.faults)


def _asked(check: Check | HandCheck, m: Manifold, hands: Hands | None) -> tuple[Finding, ...]:
    """The one place where foreign checks are handed the job."""
    if isinstance(check, Check):
        return check(m)
    return () if hands is None else check(m, hands)


def _fresh(own: Mapping[str, FindingKind]) -> Callable[[object], Check | HandCheck]:
    """Refuses what is no check, and a check whose finding has the name of another's."""
    taken = dict(own)

    def fresh(check: object) -> Check | HandCheck:
        if not isinstance(check, Check | HandCheck):
            raise TypeError(f"the entry point has to name a Check(kinds=…, ask=…), not {check!r}")
        for kind in check.kinds:
            if taken.setdefault(kind.name, kind) != kind:
                raise ValueError(f"there is a finding called {kind.name} already")
        return check

    return fresh


def _shown(finding: Finding) -> Finding:
    """The same, if report and page can show it; TypeError or ValueError if not."""
    words = (finding.message, finding.do, *finding.parts)
    if not isinstance(finding.parts, tuple) or not all(isinstance(word, str) and word for word in words):
        raise TypeError(f"{finding.name}: message, do and parts have to be words")
    numbers = [n for n in (finding.value, finding.limit) if n is not None]
    if not all(isinstance(n, int | float) for n in (*numbers, *(x for p in finding.points for x in p))):
        raise TypeError(f"{finding.name}: value, limit and points have to be numbers")
    if not all(len(p) == 3 for p in finding.points) or not isinstance(finding.where, Where | None):
        raise TypeError(f"{finding.name}: points are (x, y, z), a place in the file is a Where")
    json.dumps(finding.as_dict(), allow_nan=False)  # the report holds it
    return finding


def _failed(fault: Fault) -> Finding:
    return CHECK_FAILED.finding(
        message=f"The check {fault.told}.", do=_DO.format(package=fault.extension.package)
    )
