"""Where a run is cut, the pieces between the cuts and the butt welds at them.

A cut is a place on the run's centreline with the joint's id. The ids of the elements' ends come in; a cut
inside an element takes the id of the element's start and a letter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.model import Joint, Manifold, Piece, Run, StockItem
from manifoldgen.pieces.part import SLIVER, ends, part_of
from manifoldgen.pieces.stock import ArcPart, arc_parts, arcs, bar, fits, with_clr


@dataclass(frozen=True)
class Cut:
    """A place along a run, mm from its start, and the id of the joint there."""

    s: float
    id: str


def laid(run: Run) -> Path:
    """The run's path; raises PathError where it is still to be found."""
    if run.path is None:
        raise PathError(f"{run.name} has no path yet; route it before it is cut into pieces")
    return run.path


def bend_parts(run: Run, element: int, stock: Sequence[StockItem]) -> tuple[ArcPart, ...]:
    """How one bend of a run is had from stock: one part, or equal ones where it exceeds every elbow.

    A part without an item cannot be had. An elbow used whole also needs its legs' length in the straights
    before and after the bend.
    """
    path = run.path
    bend = path.elements[element] if path else None
    if path is None or not isinstance(bend, Bend):
        return ()
    items = [i for i in with_clr(arcs(stock, run.kind), bend.clr) if fits(i, run.section)]
    room = (_straight(path, element - 1), _straight(path, element + 1))
    whole_fits = [
        i for i in items if not i.whole or (i.legs[0] <= room[0] + SLIVER and i.legs[1] <= room[1] + SLIVER)
    ]
    return arc_parts(whole_fits, bend.angle)


def _straight(path: Path, element: int) -> float:
    """Length a whole elbow may take of a straight: half of it, if another bend may want the rest."""
    if not 0 <= element < len(path.elements):
        return 0.0
    straight = path.elements[element]
    if not isinstance(straight, Straight):
        return 0.0
    return straight.length if element in {0, len(path.elements) - 1} else straight.length / 2


def cuts_of(
    run: Run, names: Sequence[str], stock: Sequence[StockItem], extra: Sequence[tuple[int, float]]
) -> list[Cut]:
    """All cuts of a run in order; `names` are the ids where its elements begin and end.

    extra : further cuts, as (element, arc length).
    """
    path = laid(run)
    marks = ends(path)
    inside = list(extra)
    gone: set[int] = set()  # element ends that lie within a whole elbow
    for k, element in enumerate(path.elements):
        if not isinstance(element, Bend):
            continue
        parts = bend_parts(run, k, stock)
        turn = (marks[k + 1] - marks[k]) / len(parts)
        inside += [(k, marks[k] + turn * i) for i in range(1, len(parts))]
        item = parts[0].item
        if item is not None and item.whole:
            for leg, end, neighbour, way in ((item.legs[0], k, k - 1, -1), (item.legs[1], k + 1, k + 1, 1)):
                if leg > SLIVER:
                    gone.add(end)
                    inside.append((neighbour, marks[end] + way * leg))
    cuts = [Cut(s, name) for i, (s, name) in enumerate(zip(marks, names, strict=True)) if i not in gone]
    taken: dict[int, int] = {}
    for k, s in sorted(inside, key=lambda place: place[1]):
        if any(abs(s - cut.s) <= SLIVER for cut in cuts):
            continue
        cuts.append(Cut(s, names[k] + chr(ord("a") + taken.get(k, 0))))
        taken[k] = taken.get(k, 0) + 1
    kept: list[Cut] = []
    for cut in sorted(cuts, key=lambda c: c.s):  # stable: of two at one place the first element's end stays
        if not kept or cut.s - kept[-1].s > SLIVER:
            kept.append(cut)
    return kept


def pieces_between(m: Manifold, run: Run, cuts: Sequence[Cut], code: str) -> list[Piece]:
    """One piece between each cut and the next."""
    path = laid(run)
    marks = ends(path)
    made: list[Piece] = []
    for n, (a, b) in enumerate(pairwise(cuts), start=1):
        covered = tuple(
            k for k in range(len(path.elements)) if min(b.s, marks[k + 1]) - max(a.s, marks[k]) > SLIVER
        )
        bends = [k for k in covered if isinstance(path.elements[k], Bend)]
        if bends:
            item = bend_parts(run, bends[0], m.stock)[0].item
        else:
            item = bar(m.stock, run.kind, run.section, b.s - a.s)
        stock = item.name if item else None
        piece = Piece(f"{code}-P{n}", run.name, part_of(path, a.s, b.s), run.section, covered, stock)
        made.append(replace(piece, joints=(a.id, b.id)))
    return made


def rings_at(run: Run, cuts: Sequence[Cut], pieces: Sequence[Piece], before: str, after: str) -> list[Joint]:
    """The butt welds at the cuts; `before` and `after` are what the run stands on and ends in."""
    path = laid(run)
    things = [before, *(p.id for p in pieces), after]
    made: list[Joint] = []
    for k, cut in enumerate(cuts):
        at, along = vec(path.point(cut.s)), vec(path.tangent(cut.s))
        between = (things[k], things[k + 1])
        kind: Literal["flange", "butt"] = "flange" if any(t.endswith("flange") for t in between) else "butt"
        made.append(Joint(cut.id, kind, at, along, run.section.radius, between))
    return made
