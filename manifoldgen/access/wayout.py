"""What makes a stuck weld possible: the joint moved along its straight, or another torch; both computed.

Welding in another order needs no look here: the order found backwards already holds every other one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from manifoldgen.access.reach import Bench, reach_of
from manifoldgen.access.torch import Torch
from manifoldgen.access.welds import Weld, curve_of
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.rows import run_of
from manifoldgen.geometry.shapes import Tube
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.model import Joint, Manifold

_STEP = 5.0  # mm between the places a joint is tried at
_FARTHEST = 100.0  # mm a joint is moved


def find(m: Manifold, on: Bench, torches: Sequence[Torch], joint: Joint, present: int) -> str | None:
    """The first way that lets all of a joint be welded with these groups present, as a sentence.

    torches : the one in hand first.
    """
    last: list[int] = []
    for moved, words in _moves(m, joint):
        if _full(m, curve_of(m, moved), torches[0], on, present, last):
            return words
    for torch in torches[1:]:
        if _full(m, curve_of(m, joint), torch, on, present, last):
            return f"weld it with another torch: {torch.name} reaches all of it"
    return None


def _full(  # noqa: PLR0917
    m: Manifold, sides: Sequence[Weld], torch: Torch, on: Bench, present: int, last: list[int]
) -> bool:
    """Whether all of a weld is reached from one side, looked at place by place from where the one before failed.

    last : that place, written; neighbours mostly fail at the same one, which spares looking at the rest.
    """
    if not sides[0].length:
        return reach_of(m, sides, torch, on).full(present)
    return any(_side_full(m, w, torch, on, present, last, climb=len(sides) == 1) for w in sides)


def _side_full(  # noqa: PLR0917
    m: Manifold, w: Weld, torch: Torch, on: Bench, present: int, last: list[int], *, climb: bool
) -> bool:  # fmt: skip
    first = last[0] if last else 0
    for k in sorted(range(len(w.points)), key=lambda k: k != first):
        if not reach_of(m, (_place(w, k),), torch, on, climb=climb).full(present):
            last[:] = [k]
            return False
    return True


def _place(w: Weld, k: int) -> Weld:
    """One place of a weld."""
    at = slice(k, k + 1)
    return replace(w, points=w.points[at], along=w.along[at], bisector=w.bisector[at])


def _moves(m: Manifold, joint: Joint) -> Iterator[tuple[Joint, str]]:
    """The joint at other places of the straights beside it, the nearest first, upstream before downstream."""
    run = m.run_of(joint.owner) if joint.kind == "butt" else None
    if run is None or run.path is None:
        return
    from manifoldgen.geometry import _search

    path = run.path
    here = float(_search.foot(run_of(Tube(path, run.section.radius)).segs, *joint.at))
    straight = _straight_through(path)
    for k in range(1, int(_FARTHEST / _STEP) + 1):
        for sign, way in ((-1.0, "upstream"), (1.0, "downstream")):
            s = here + sign * k * _STEP
            if straight(min(here, s), max(here, s)):
                moved = replace(joint, at=vec(path.point(s)), direction=vec(path.tangent(s)))
                yield moved, f"move it {k * _STEP:.0f} mm {way}, within the straight beside it"


def _straight_through(path: Path) -> Callable[[float, float], bool]:
    """Whether a stretch lies within one straight, 1 mm clear of its far ends."""
    spans: list[tuple[float, float]] = []
    s = 0.0
    for element, segment in zip(path.elements, path.segments, strict=True):
        if isinstance(element, Straight):
            spans.append((s, s + segment.length))
        s += segment.length

    def inside(a: float, b: float) -> bool:
        return any(lo - 1e-6 <= a and b <= hi + 1e-6 for lo, hi in spans)

    return inside
