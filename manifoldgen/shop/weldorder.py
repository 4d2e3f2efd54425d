"""Which weld comes next within a stage and purged volume: any order would do there, this one distorts least; common practice, no source.

1  saddles                      while their parent is open at both ends
2  inner seams, centre point    neighbours opposite each other in turn, from the open collector end
3  outer valleys (crotches)     the same way
4  transition plate, cone
5  welds round the tube         from the innermost runner outwards
6  wastegate and turbo flange
7  head flange                  ports from the middle outwards, side by side in turn, still bolted down
"""

from __future__ import annotations

import math

from manifoldgen.manifold.model import Joint, JointKind, Manifold

_CLASS: dict[JointKind, int] = {
    "saddle": 1, "inner seam": 2, "star": 2, "crotch": 3, "lid": 4, "plate": 4, "cone": 5, "butt": 6, "flange": 7,
}  # fmt: skip


def ranked(m: Manifold, group_of: dict[str, int]) -> dict[str, int]:
    """Place in the order of welding of every joint, from 1.

    group_of : by joint the number of its group, in the order of welding; joints without one come last.
    """
    last = max(group_of.values(), default=0) + 1
    ordered = sorted(m.joints, key=lambda j: (group_of.get(j.id, last), *_key(m, j), j.id))
    return {j.id: n for n, j in enumerate(ordered, start=1)}


def opposite_first(count: int) -> tuple[int, ...]:
    """Places round a tube in an order that jumps across it each time: 0, 2, 1, 3 of four."""
    half = count // 2
    if count % 2:
        return tuple(k * half % count for k in range(count)) if half else (0,)
    return tuple(k + step for k in range(half) for step in (0, half))


def middle_out(count: int) -> tuple[int, ...]:
    """Places in a row from the middle outwards, sides in turn: 1, 2, 0, 3 of four."""
    middle = (count - 1) / 2
    return tuple(sorted(range(count), key=lambda i: (abs(i - middle), i)))


def _key(m: Manifold, joint: Joint) -> tuple[float, ...]:
    kind = _CLASS[joint.kind]
    if joint.kind in {"inner seam", "crotch"}:
        same = [j.id for j in m.joints if j.kind == joint.kind]
        return (kind, 0, opposite_first(len(same)).index(same.index(joint.id)))
    if joint.kind == "star":
        return (kind, 1)
    if joint.kind == "flange" and m.head.name in joint.between:
        ports = [j.id for j in m.joints if j.kind == "flange" and m.head.name in j.between]
        return (kind + 1, middle_out(len(ports)).index(ports.index(joint.id)))
    return (kind, _from_the_middle(m, joint))


def _from_the_middle(m: Manifold, joint: Joint) -> float:
    """Distance from the nearest collector joint plane's centre, mm."""
    return min((math.dist(c.frame.at, joint.at) for c in m.collectors), default=0.0)
