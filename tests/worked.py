"""Designs that tests share: the demo jobs worked out once a process, and bare designs of hand-made manifolds."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import manifoldgen as mg
from manifoldgen.access.hands import Hands
from manifoldgen.checks.finding import Finding
from manifoldgen.designs import Design
from manifoldgen.drawing.papers import write_papers
from manifoldgen.manifold.model import Manifold
from manifoldgen.parameters import load_text
from manifoldgen.parameters.starter import Answers, starter

if TYPE_CHECKING:
    from manifoldgen.solids.whole import Solids

JOBS = Path(__file__).resolve().parents[1] / "cq_scripts" / "jobs"


@cache
def demo(name: str) -> Design:
    """A demo job worked out; paths still ``auto`` are not searched for."""
    return mg.design(JOBS / f"{name}.yaml", search=False)


NAMES = [*sorted(p.stem for p in JOBS.glob("*.yaml")), *(f"init {n}" for n in range(2, 9))]


@cache
def routed(name: str) -> Design:
    """A demo job, or a starter (``init 4``), with every path found."""
    if name.startswith("init "):
        return mg.design(load_text(starter("first", Answers(int(name.removeprefix("init "))))))
    return mg.design(JOBS / f"{name}.yaml")


@cache
def built(name: str) -> Solids:
    """The solids of such a job."""
    from manifoldgen.solids import build

    return build(routed(name).manifold)


@cache
def printed(name: str) -> Path:
    """The folder with all shop sheets of such a job; it goes with the process."""
    folder = Path(_FOLDER.name) / name.replace(" ", "-")
    folder.mkdir()
    write_papers(folder, routed(name))
    return folder


_FOLDER = tempfile.TemporaryDirectory(prefix="sheets-")


def bare(m: Manifold, findings: Sequence[Finding] = (), hands: Hands | None = None) -> Design:
    """A design of a manifold as it is: nothing is measured."""
    return Design(manifold=m, findings=tuple(findings), gaps=(), hands=hands)
