"""Designs that tests share: the demo jobs worked out once a process, and bare designs of hand-made manifolds."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import manifoldgen as mg
from manifoldgen.access.hands import Hands
from manifoldgen.checks.finding import Finding
from manifoldgen.designs import Design
from manifoldgen.manifold.model import Manifold

JOBS = Path(__file__).resolve().parents[1] / "cq_scripts" / "jobs"


@cache
def demo(name: str) -> Design:
    """A demo job worked out; paths still ``auto`` are not searched for."""
    return mg.design(JOBS / f"{name}.yaml", search=False)


def bare(m: Manifold, findings: Sequence[Finding] = (), hands: Hands | None = None) -> Design:
    """A design of a manifold as it is: nothing is measured."""
    return Design(manifold=m, findings=tuple(findings), gaps=(), hands=hands)
