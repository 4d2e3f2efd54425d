"""What the file says and nothing reads yet: told once, never dropped in silence."""

from __future__ import annotations

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.manifold.model import Manifold

NOT_USED_YET = FindingKind(
    name="not-used-yet",
    severities=("note",),
    means="A part of the file was read and checked, but nothing is worked out from it yet.",
    why="So that nothing you wrote is dropped without a word.",
    do="Nothing. Leave it in.",
)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`not-used-yet`: one note that names the blocks and shapes."""
    if not m.unused:
        return ()
    return (
        NOT_USED_YET.finding(
            message=f"Read and checked, but not used yet: {', '.join(m.unused)}.",
            do="Leave it in: it will count once the program uses it.",
            parts=m.unused,
        ),
    )


CHECK = Check(kinds=(NOT_USED_YET,), ask=check)
