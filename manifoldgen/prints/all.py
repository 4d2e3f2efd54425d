"""Everything that is printed for a job, in the order it is best printed: what finds a wrong number first comes first.

A part that cannot be made (a bend too tight for a guide, a stand with no place for its post) is left out and
said; the others are still made. Parts of other packages come last.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from manifoldgen.designs import Design
from manifoldgen.errors import ManifoldgenError
from manifoldgen.extensions import Fault
from manifoldgen.manifold.model import Manifold
from manifoldgen.prints import foreign
from manifoldgen.prints.cradles import cradle_makers
from manifoldgen.prints.dummies import tool_dummies
from manifoldgen.prints.gauges import drill_guides, stud_gauge
from manifoldgen.prints.guides import guide_makers
from manifoldgen.prints.model import Progress, model_parts
from manifoldgen.prints.nest import nests
from manifoldgen.prints.part import Kind, PrintedPart
from manifoldgen.prints.reach_piece import reach_piece
from manifoldgen.prints.stand import stand
from manifoldgen.prints.surroundings import surroundings
from manifoldgen.prints.window import why_not, windows

Maker = Callable[[], PrintedPart | tuple[PrintedPart, ...]]


@dataclass(frozen=True)
class Options:
    """What is printed.

    kinds : of these only; None is everything.  stud : the reach test piece is for; None takes the hardest.
    pins : of the stud gauge for the head's threads instead of holes over its studs; None takes what the job has.
    """

    kinds: frozenset[Kind] | None = None
    stud: str | None = None
    pins: bool | None = None


@dataclass(frozen=True)
class Printed:
    """parts : in the order they are of use.  errors : why others could not be made.  faults : of other packages."""

    parts: tuple[PrintedPart, ...]
    errors: tuple[ManifoldgenError, ...] = ()
    faults: tuple[Fault, ...] = ()


def printed_parts(
    design: Design, options: Options | None = None, progress: Progress | None = None
) -> Printed:
    """Everything to print for a job, and why anything could not be made.

    progress : is told a line a part of the model and a line a family of the others, and what is left out.
    """
    chosen = options or Options()
    tell = progress or (lambda _: None)
    parts: list[PrintedPart] = []
    errors: list[ManifoldgenError] = []
    for name, kind, makers in _families(design, chosen, tell):
        if chosen.kinds is not None and kind not in chosen.kinds:
            continue
        before = len(parts)
        for make in makers():
            try:
                found = make()
            except ManifoldgenError as error:
                errors.append(error)
                tell(f"{name}: left out: {error}")
            else:
                parts += (found,) if isinstance(found, PrintedPart) else found
        if len(parts) > before:
            tell(f"{name}: {len(parts) - before} made")
    added = foreign.parts(design, [part.name for part in parts])
    others = [p for made in added.made for p in made if chosen.kinds is None or p.kind in chosen.kinds]
    if others:
        tell(f"other packages: {len(others)} made")
    return Printed((*parts, *others), tuple(errors), added.faults)


def _families(
    design: Design, o: Options, tell: Progress
) -> Iterator[tuple[str, Kind, Callable[[], list[Maker]]]]:
    """Name, kind and what makes each part; one maker for those that go together."""
    m = design.manifold
    yield "stud gauge", "gauge", lambda: [partial(stud_gauge, m, pins=o.pins)]
    yield "drill guides", "drill guide", lambda: [partial(drill_guides, m)]
    if design.hands is not None:
        reach = design.hands.studs
        yield "reach test piece", "reach", lambda: [partial(reach_piece, m, reach, o.stud)]
    yield "tool dummies", "dummy", lambda: [partial(tool_dummies, m)]
    yield "test-fit model", "model", lambda: [partial(model_parts, m, tell)]
    if m.workshop.model.dummies:
        yield "dummies", "dummy", lambda: [partial(_surroundings, m, tell)]
    yield "saw guides", "guide", lambda: [*guide_makers(m)]
    yield "joint cradles", "cradle", lambda: [*cradle_makers(m)]
    yield "mill nests", "nest", lambda: [partial(nests, m, design.shop.mill)]
    yield "wastegate window", "window", lambda: [partial(_windows, m, tell)]
    yield "bench stand", "stand", lambda: [partial(stand, m)]


def _surroundings(m: Manifold, tell: Progress) -> tuple[PrintedPart, ...]:
    made, missing = surroundings(m)
    for sentence in missing:
        tell(f"no dummy of {sentence}")
    return made


def _windows(m: Manifold, tell: Progress) -> tuple[PrintedPart, ...]:
    for sentence in why_not(m):
        tell(f"no window: {sentence}")
    return windows(m)
