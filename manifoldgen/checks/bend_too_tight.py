"""Whether every bend can be made at all."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.bends import Bends, by_radius
from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.model import Manifold, Run
from manifoldgen.pieces.stock import SAME_CLR, arcs, fits

BEND_TOO_TIGHT = FindingKind(
    name="bend-too-tight",
    means="A bend's centreline radius collapses its throat (CLR at most half the OD), or is tighter than anything in stock.",
    why="At CLR = OD/2 the inside of the bend has no length left; well above it tube still wrinkles and thins.",
    do="Use the radius given, the tightest that can be had.",
)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`bend-too-tight`: a radius that collapses the throat, or tighter than anything that can be had."""
    return tuple(finding for bends in by_radius(m) for finding in _tight(bends, least_clr(m, bends.run)))


CHECK = Check(kinds=(BEND_TOO_TIGHT,), ask=check)


def least_clr(m: Manifold, run: Run) -> float:
    """The tightest radius that can be had for a run's tube, mm; 0 where the stock lists none."""
    share = Allowances.of(m.tables).step_share
    return min((i.clr for i in arcs(m.stock, run.kind) if fits(i, run.section, share)), default=0.0)


def _tight(bends: Bends, least: float) -> Iterator[Finding]:
    radius = bends.run.section.radius
    limit = max(least, radius)
    if bends.clr <= radius:  # the throat of a bend lies at CLR - OD/2
        why = f"CLR {bends.clr:g} mm collapses the throat of a {2 * radius:g} mm tube; it must be more than {radius:g} mm."
    elif bends.clr < least - SAME_CLR:
        why = f"CLR {bends.clr:g} mm is tighter than can be had; the least in stock is {least:g} mm."
    else:
        return
    do = f"Use CLR {least:g} mm or more." if least > radius else f"Use a CLR well above {radius:g} mm."
    yield bends.finding(BEND_TOO_TIGHT, why, do, value=bends.clr, limit=limit)
