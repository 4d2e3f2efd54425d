"""Whether the runners meet the collector in firing order."""

from __future__ import annotations

from collections.abc import Sequence

from manifoldgen.checks.finding import Finding
from manifoldgen.manifold.model import Manifold
from manifoldgen.manifold.ring import same_ring


def in_firing_order(order: Sequence[int], firing: Sequence[int]) -> bool:
    """Whether the ring follows the firing order, up to where it starts and which way round it goes."""
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
            Finding(
                "order-not-firing",
                "warning" if collector.order_rule == "free" else "error",
                f"The collector's ring goes {ring}; the engine fires {firing}.",
                f"Set collector.order to firing, or to [{firing}].",
                parts=("collector",),
                points=(collector.frame.at,),
                where=m.where.get("collector"),
            )
        )
    return tuple(found)
