"""Which joints a collector's order of seams has to name."""

from __future__ import annotations


def closed_over(joint: str, m) -> bool:
    """Whether a joint is the collector's own, or the last weld of a runner to its inlet."""
    inlets = {p.joints[0] for p in m.pieces if p.inlet}
    return joint.startswith("JC.") or joint in inlets
