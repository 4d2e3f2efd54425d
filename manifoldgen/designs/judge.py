"""Layouts judged by the checks: what a search cannot know by itself is told to it, the same for every caller."""

from __future__ import annotations

from manifoldgen.access.welding import stuck
from manifoldgen.designs.settled import Settled, settled
from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces.split import split


def welds_stuck(m: Manifold) -> int:
    """How many welds of a routed manifold no order of welding reaches."""
    return len(stuck(split(m)))


class Judge:
    """Counts error findings of layouts, and keeps what it worked out for the one that is taken."""

    def __init__(self) -> None:
        self._seen: list[tuple[Manifold, Settled]] = []

    def errors(self, m: Manifold) -> int:
        """Error findings of a layout; they come best first: once one has none the rest is not looked at."""
        if any(not made.errors for _, made in self._seen):
            return 1
        return self.settled(m).errors

    def settled(self, m: Manifold) -> Settled:
        """The layout in pieces, judged; what was judged before is not judged again."""
        found = next((made for layout, made in self._seen if layout is m), None)
        if found is None:
            found = settled(m)
            self._seen.append((m, found))
        return found
