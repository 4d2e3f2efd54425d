"""Where a run is cut, the pieces between the cuts and the butt welds at them.

A cut is a place on the run's centreline with the joint's id. The ids of the elements' ends come in; a cut
inside an element takes the id of the element's start and a letter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Path
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.model import Flange, Joint, JointKind, Piece, Run
from manifoldgen.pieces.part import SLIVER, ends, part_of


@dataclass(frozen=True)
class Cut:
    """A place along a run, mm from its start, and the id of the joint there."""

    s: float
    id: str


@dataclass(frozen=True)
class Span:
    """A piece to be: from arc length `start` to `end` mm; `stock`: the item's name, or None."""

    start: float
    end: float
    stock: str | None


def laid(run: Run) -> Path:
    """The run's path; raises PathError where it is still to be found."""
    if run.path is None:
        raise PathError(f"{run.name} has no path yet; route it before it is cut into pieces")
    return run.path


def named(path: Path, names: Sequence[str], places: Sequence[float]) -> list[Cut]:
    """The cuts at these arc lengths (in order); `names` are the ids where the elements begin and end."""
    marks = ends(path)
    letters: dict[int, int] = {}
    made: list[Cut] = []
    for s in places:
        at = next((k for k, mark in enumerate(marks) if abs(mark - s) <= SLIVER), None)
        if at is not None:
            made.append(Cut(s, names[at]))
            continue
        k = max(i for i, mark in enumerate(marks[:-1]) if mark < s)
        made.append(Cut(s, names[k] + chr(ord("a") + letters.get(k, 0))))
        letters[k] = letters.get(k, 0) + 1
    return made


def pieces_of(run: Run, spans: Sequence[Span], cuts: Sequence[Cut], code: str) -> list[Piece]:
    """One piece a span; `cuts` are where the spans begin and the last one ends."""
    path = laid(run)
    marks = ends(path)
    made: list[Piece] = []
    for n, span in enumerate(spans):
        covered = tuple(
            k
            for k in range(len(path.elements))
            if min(span.end, marks[k + 1]) - max(span.start, marks[k]) > SLIVER
        )
        joints = tuple(cut.id for cut in cuts[n : n + 2])
        own = part_of(path, span.start, span.end)
        made.append(
            Piece(
                f"{code}-P{n + 1}", run.name, own, run.section, covered, span.stock, joints=joints, role="tube",
                owner=run.owner, number=n + 1,
            )
        )  # fmt: skip
    return made


def rings_at(
    run: Run, cuts: Sequence[Cut], pieces: Sequence[Piece], before: Flange | str, after: Flange | str
) -> list[Joint]:
    """The welds at the cuts; `before` and `after` are what the run stands on and ends in: a flange or a piece's id."""
    path = laid(run)
    things: list[Flange | str] = [before, *(p.id for p in pieces), after]
    made: list[Joint] = []
    for k, cut in enumerate(cuts):
        at, along = vec(path.point(cut.s)), vec(path.tangent(cut.s))
        pair = (things[k], things[k + 1])
        kind: JointKind = "flange" if any(isinstance(t, Flange) for t in pair) else "butt"
        between = (_name(pair[0]), _name(pair[1]))
        made.append(Joint(cut.id, kind, at, along, run.section.radius, between, owner=run.owner))
    return made


def _name(thing: Flange | str) -> str:
    return thing.name if isinstance(thing, Flange) else thing
