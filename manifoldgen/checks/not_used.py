"""What the file says and nothing reads yet: told once, never dropped in silence."""

from __future__ import annotations

from manifoldgen.checks.finding import Finding
from manifoldgen.manifold.model import Manifold


def check(m: Manifold) -> tuple[Finding, ...]:
    """`not-used-yet`: one note that names the blocks and shapes."""
    if not m.unused:
        return ()
    return (
        Finding(
            "not-used-yet",
            "note",
            f"Read and checked, but not used yet: {', '.join(m.unused)}.",
            "Leave it in: it will count once the program uses it.",
            parts=m.unused,
        ),
    )
