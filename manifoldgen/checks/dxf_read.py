"""What was read from the drawings that the file names."""

from __future__ import annotations

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.manifold.model import Manifold

DXF_READ = FindingKind(
    name="dxf-read",
    severities=("note",),
    means="A drawing that the file names was read: what was taken for outline, ports and bolt holes, in which unit, "
    "seen from which side, and where it was put.",
    why="A drawing says nothing of all this, so it is guessed from sizes. A gasket traced upside down fits no head.",
    do="Read the sentence. Say mirror: true if the drawing was made from the other side, scale: … if the size is wrong, "
    "first: right if port 1 is on the right. Then print the flange at full size and lay it on the head.",
)
DO = "Lay the flange's full-size paper on the gasket before anything is cut."


def check(m: Manifold) -> tuple[Finding, ...]:
    """`dxf-read`: one note a drawing, with what was taken for what."""
    return tuple(DXF_READ.finding(message=f"{told}.", do=DO, where=where) for told, where in m.drawn)


CHECK = Check(kinds=(DXF_READ,), ask=check)
