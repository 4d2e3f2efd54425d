"""A manifold cut into pieces and judged; cut another way where the torch does not reach, if that is better."""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen.checks import Examined, examine
from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces.split import split


@dataclass(frozen=True)
class Settled:
    """A manifold with the pieces that are kept, and what the checks found on it."""

    manifold: Manifold
    examined: Examined

    @property
    def errors(self) -> int:
        """How many findings are errors."""
        return sum(f.severity == "error" for f in self.examined.findings)

    @property
    def stuck(self) -> frozenset[str]:
        """Welds that no order of welding reaches in full."""
        hands = self.examined.hands
        welds = hands.welding.welds if hands and hands.welding else ()
        return frozenset(w.id for w in welds if w.stuck)


def settled(m: Manifold) -> Settled:
    """The manifold in pieces, judged; where welds are stuck, split anew away from them, if that is better.

    Better is: fewer errors, or as many and fewer stuck welds. The new split is tried once. Pieces that are there
    already are kept.
    """
    if m.pieces:
        return Settled(m, examine(m))
    cut = split(m)
    made = Settled(cut, examine(cut))
    if not made.stuck:
        return made
    other = split(m, avoid=[j for j in cut.joints if j.id in made.stuck])
    if [p.joints for p in other.pieces] == [p.joints for p in cut.pieces] and other.joints == cut.joints:
        return made
    again = Settled(other, examine(other))
    return min((made, again), key=lambda s: (s.errors, len(s.stuck)))
