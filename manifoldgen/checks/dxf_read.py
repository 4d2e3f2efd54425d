"""What was read from the drawings that the file names."""

from __future__ import annotations

from manifoldgen.checks.finding import Finding
from manifoldgen.manifold.model import Manifold

DO = "Lay the flange's full-size paper on the gasket before anything is cut."


def check(m: Manifold) -> tuple[Finding, ...]:
    """`dxf-read`: one note a drawing, with what was taken for what."""
    return tuple(Finding("dxf-read", "note", f"{told}.", DO, where=where) for told, where in m.drawn)
