"""Cut another way where the torch does not get: a split whose welds are stuck gives way to one that has none there."""

from __future__ import annotations

from manifoldgen.checks import Examined, examine
from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces.split import split


def settled(m: Manifold) -> tuple[Manifold, Examined]:
    """A split manifold and what the checks found on it; split anew, away from its stuck welds, if that is better.

    Better is: fewer errors, or as many and fewer stuck welds. The new split is tried once.
    """
    made = examine(m)
    stuck = (
        {w.id for w in made.hands.welding.welds if w.stuck} if made.hands and made.hands.welding else set()
    )
    if not stuck:
        return m, made
    other = split(m, avoid=[j for j in m.joints if j.id in stuck])
    if [p.joints for p in other.pieces] == [p.joints for p in m.pieces] and other.joints == m.joints:
        return m, made
    again = examine(other)
    return (other, again) if _faults(again) < _faults(made) else (m, made)


def _faults(made: Examined) -> tuple[int, int]:
    errors = sum(f.severity == "error" for f in made.findings)
    welds = made.hands.welding.welds if made.hands and made.hands.welding else ()
    return errors, sum(w.stuck for w in welds)
