"""What was found in the scans as they were read."""

from __future__ import annotations

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.manifold.model import Manifold
from manifoldgen.readers import Scan

SCAN_MENDED = FindingKind(
    name="scan-mended",
    severities=("note",),
    means="A scan has holes, was mended as it was read, or may be in inches.",
    why="An open scan has no inside: a tube that lies wholly behind its surface is not noticed. What the camera did not "
    "see is not there.",
    do="Scan the place again if a hole lies where a tube runs, or put a box there. Give scale: 25.4 for inches, "
    "scale: 1 if the size is right.",
)
DO = "Look at the scan if that surprises you; the distances hold for what is there."


def check(m: Manifold) -> tuple[Finding, ...]:
    """`scan-mended`: a scan that is open, was mended, or may be in another unit; one note each."""
    return tuple(
        SCAN_MENDED.finding(message=f"{o.name} {note}.", do=DO, parts=(o.name,), where=o.where)
        for o in m.obstacles
        if isinstance(o.shape, Scan)
        for note in o.shape.notes
    )


CHECK = Check(kinds=(SCAN_MENDED,), ask=check)
