"""Whether the runners are straight for long enough at the head flange and at the inlets."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import takewhile

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.geometry.path import Element, Straight
from manifoldgen.manifold.model import Manifold, Run
from manifoldgen.wording import compared

FLANGE_STRAIGHT_SHORT = FindingKind(
    name="flange-straight-short",
    means="A runner is not straight for long enough at the head flange or at its inlet.",
    why="At the flange the nut, the socket and the torch need the straight, and a port shape must become round in it. "
    "At the inlet it is the tube that is mitred and held on the mill.",
    do="Make the straight longer by the millimetres given, or set limits.flange_straight or limits.inlet_straight.",
)
EXACT = 1e-6  # mm


def check(m: Manifold) -> tuple[Finding, ...]:
    """`flange-straight-short`: at the head flange or at the inlet, less straight than asked.

    A formed tube from port shape to round must fit into the straight at the flange too.
    """
    formed = m.head.transition_length if m.head.transition == "tube" else 0.0
    at_flange = max(m.limits.flange_straight, formed)
    found: list[Finding] = []
    for run in m.runners:
        if run.path is None or run.trouble is not None:
            continue  # without a way to its inlet, its straights say nothing yet
        first, last = run.path.elements, run.path.elements[::-1]
        found += _short(run, "head flange", _straight(first), at_flange, run.path.start.at)
        found += _short(run, "inlet", _straight(last), m.limits.inlet_straight, run.path.end.at)
    return tuple(found)


CHECK = Check(kinds=(FLANGE_STRAIGHT_SHORT,), ask=check)


def _straight(elements: Iterable[Element]) -> float:
    return math.fsum(
        e.length for e in takewhile(lambda e: isinstance(e, Straight), elements) if isinstance(e, Straight)
    )


def _short(
    run: Run, end: str, length: float, limit: float, at: tuple[float, float, float]
) -> tuple[Finding, ...]:
    if length >= limit - EXACT:
        return ()
    told = compared(length, limit)
    return (
        FLANGE_STRAIGHT_SHORT.finding(
            message=f"{run.name} is straight for {told.value} mm at the {end}, {told.limit} mm required.",
            do=f"Make the straight at the {end} {told.apart} mm longer.",
            value=length,
            limit=limit,
            unit="mm",
            parts=(run.name, end),
            points=(at,),
            where=run.where,
        ),
    )
