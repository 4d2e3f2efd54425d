"""Paths in numbers that a shop can mark: all rounded but the last five, which close the run exactly."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.snap import snap
from manifoldgen.manifold.model import Manifold
from manifoldgen.routing.hands import lost
from manifoldgen.routing.problem import Problem
from manifoldgen.routing.refine import Layout, refine
from manifoldgen.routing.verify import laid, passes, verified

CLOSING = 5  # numbers that land an end: three for its place, two for its direction
_MARGINS = (0.0, 1.0, 2.0, 4.0)  # mm kept beforehand, in steps of the rounding: what it may cost


def rounded(path: Path, target: Pose, mm: float) -> Path:
    """The path with every straight, angle and roll a multiple of `mm` (mm and degrees) but the closing five.

    The closing five, counted from the end: last straight, roll and angle of the last bend, the straight before
    it, the angle of the bend before that (its roll before it where no straight lies between).

    Raises
    ------
    PathError : the path has fewer numbers than five, or they cannot land it.
    """
    closing = _closing(path.elements)
    if len(closing) < CLOSING:
        raise PathError(
            f"a path of {len(path.elements)} elements has {len(closing)} numbers to close it, five are needed"
        )
    numbers = [at for at in range(_count(path.elements)) if at not in closing]
    for k, at in enumerate(numbers):
        # what is not rounded yet takes up the change: left to the closing five alone it would be centimetres
        free = sorted({*numbers[k + 1 :], *closing})
        path = snap(Path(path.start, _stepped(path.elements, at, mm)), target, only=free)
    return path


def _count(elements: tuple[Element, ...]) -> int:
    return sum(1 if isinstance(e, Straight) else 2 for e in elements)


def _stepped(elements: tuple[Element, ...], number: int, mm: float) -> tuple[Element, ...]:
    """The elements with one of their numbers rounded (angle before roll)."""
    made: list[Element] = []
    at = 0
    for e in elements:
        if isinstance(e, Straight):
            made.append(Straight(_to(e.length, mm)) if at == number else e)
            at += 1
        else:
            angle = max(_to(e.angle, mm), mm) if at == number else e.angle
            made.append(Bend(angle, e.clr, _to(e.roll, mm) if at + 1 == number else e.roll))
            at += 2
    return tuple(made)


def _closing(elements: tuple[Element, ...]) -> set[int]:
    """Places of the closing five among all numbers (angle before roll)."""
    backwards: list[int] = []
    at = _count(elements)
    bends = 0
    for e in reversed(elements):
        at -= 1 if isinstance(e, Straight) else 2
        if isinstance(e, Straight):
            backwards.append(at)
        else:
            bends += 1
            backwards += [at + 1, at] if bends == 1 else [at, at + 1]
    return set(backwards[:CLOSING])


def _to(value: float, mm: float) -> float:
    return round(round(value / mm) * mm, 6)


def rounded_layout(p: Problem, layout: Layout, mm: float) -> Manifold | None:
    """A layout's manifold with its paths rounded, verified; None where no margin kept beforehand leaves one.

    The spread of the lengths is held to what the job allows, not to nothing.
    """
    for m in _tries(p, layout, mm):
        found = []
        for run in m.runners:
            if run.number in p.numbers and run.path is not None and run.target is not None:
                try:
                    found.append(replace(run, path=rounded(run.path, run.target, mm)))
                except PathError:
                    break
            else:
                found.append(run)
        if len(found) == len(m.runners):
            made = replace(m, runners=tuple(found))
            if passes(verified(p, made, spread=None)) and not lost(p.before, made):
                return made
    return None


def _tries(p: Problem, layout: Layout, mm: float) -> Iterator[Manifold]:
    for more in _MARGINS:
        kept = layout
        if more:
            room = replace(p, first=p.first + more * mm, last=p.last + more * mm)
            kept = refine(room, layout, margin=0.12 + more * mm, clock=layout.ring.clock, rounds=60)
        m = laid(p, kept)
        if m is not None:
            yield m
