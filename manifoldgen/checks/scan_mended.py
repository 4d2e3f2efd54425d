"""What was found in the scans as they were read."""

from __future__ import annotations

from manifoldgen.checks.finding import Finding
from manifoldgen.manifold.model import Manifold
from manifoldgen.readers import Scan

DO = "Look at the scan if that surprises you; the distances hold for what is there."


def check(m: Manifold) -> tuple[Finding, ...]:
    """`scan-mended`: a scan that is open, was mended, or may be in another unit; one note each."""
    return tuple(
        Finding("scan-mended", "note", f"{o.name} {note}.", DO, parts=(o.name,), where=o.where)
        for o in m.obstacles
        if isinstance(o.shape, Scan)
        for note in o.shape.notes
    )
