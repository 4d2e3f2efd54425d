"""Whether the runners meet the collector in firing order."""

from __future__ import annotations

from collections.abc import Sequence

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.manifold.model import Manifold
from manifoldgen.manifold.ring import same_ring

ORDER_NOT_FIRING = FindingKind(
    name="order-not-firing",
    severities=("error", "warning"),
    means="Around the inlet circle the runners do not follow the firing order.",
    why="In firing order each pulse arrives beside the one before, and the flow turns around the inlet circle instead of "
    "jumping across it. It is a matter of a few per cent, not of running or not.",
    do="Set collector.order to firing. If the runners cannot be packed that way, order: free makes this a warning.",
)


def in_firing_order(order: Sequence[int], firing: Sequence[int]) -> bool:
    """Whether the inlets follow the firing order, up to where it starts and which way round it goes."""
    return same_ring(order, [c for c in firing if c in order])


def check(m: Manifold) -> tuple[Finding, ...]:
    """`order-not-firing`: an error, or a warning where the order was left free."""
    found: list[Finding] = []
    for collector in m.collectors:
        if in_firing_order(collector.order, m.engine.firing_order):
            continue
        ring = ", ".join(str(c) for c in collector.order)
        firing = ", ".join(str(c) for c in m.engine.firing_order if c in collector.order)
        found.append(
            ORDER_NOT_FIRING.finding(
                severity="warning" if collector.order_rule == "free" else "error",
                message=f"Around the inlet circle the order is {ring}; the engine fires {firing}.",
                do=f"Set collector.order to firing, or to [{firing}].",
                parts=("collector",),
                points=(collector.frame.at,),
                where=m.where.get("collector"),
            )
        )
    return tuple(found)


CHECK = Check(kinds=(ORDER_NOT_FIRING,), ask=check)
