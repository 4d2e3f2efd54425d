"""Everything that is printed for a job: the aids that `shop.aids` names, in its order, with parts of other packages.

A part that cannot be made (a bend too tight for a guide, one that the bed has no room for) is left out and said;
the others are still made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from manifoldgen.designs import Design
from manifoldgen.errors import ManifoldgenError, SolidError
from manifoldgen.extensions import Fault
from manifoldgen.manifold.model import Manifold
from manifoldgen.prints import foreign
from manifoldgen.prints.cradles import cradle
from manifoldgen.prints.dummies import dummy_makers
from manifoldgen.prints.gauges import drill_guide, stud_gauge
from manifoldgen.prints.guides import guide_makers
from manifoldgen.prints.model import Progress, model_parts
from manifoldgen.prints.nest import nest_makers
from manifoldgen.prints.part import Kind, PrintedPart
from manifoldgen.prints.reach_piece import reach_piece
from manifoldgen.prints.stand import stand
from manifoldgen.prints.surroundings import surroundings
from manifoldgen.prints.window import window_makers
from manifoldgen.prints.worth import in_order
from manifoldgen.shop.aid_worth import wanted
from manifoldgen.shop.aids import Aid, Family, cradled

Made = PrintedPart | tuple[PrintedPart, ...]
Maker = Callable[[Aid], Made]

KINDS: dict[Family, Kind] = {
    "stud gauge": "gauge", "drill guides": "drill guide", "reach test piece": "reach", "tool dummies": "dummy",
    "test-fit model": "model", "dummies": "dummy", "saw guides": "guide", "joint cradles": "cradle",
    "mill nests": "nest", "wastegate window": "window", "bench stand": "stand",
}  # fmt: skip


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
    for family, aids in groupby(design.shop.aids, lambda aid: aid.family):
        if chosen.kinds is not None and KINDS[family] not in chosen.kinds:
            continue
        maker = _maker(design, chosen, tell, family)
        before = len(parts)
        for aid in aids:
            try:
                parts += _made(aid, maker)
            except ManifoldgenError as error:
                if str(error) not in map(str, errors):  # both halves of one thing lack the same
                    errors.append(error)
                    tell(f"{family}: left out: {error}")
        if len(parts) > before:
            tell(f"{family}: {len(parts) - before} made")
    added = foreign.parts(design, [part.name for part in parts])
    groups = wanted(design.manifold.workshop.print_only)
    others = [
        p
        for made in added.made
        for p in made
        if p.group in groups and (chosen.kinds is None or p.kind in chosen.kinds)
    ]
    if others:
        tell(f"other packages: {len(others)} made")
    return Printed(in_order((*parts, *others)), tuple(errors), added.faults)


def _made(aid: Aid, maker: Maker) -> Iterator[PrintedPart]:
    """The parts of one aid.  Raises SolidError where it is known beforehand that there are none."""
    if aid.lacks:
        raise SolidError(aid.words, aid.lacks)
    found = maker(aid)
    for part in (found,) if isinstance(found, PrintedPart) else found:
        yield replace(part, step=aid.step, group=aid.group)


def _maker(design: Design, o: Options, tell: Progress, family: Family) -> Maker:
    """What makes the aids of a family."""
    m, shop = design.manifold, design.shop
    reach = design.hands.studs if design.hands is not None else ()
    flanges = {f.name: f for f in m.flanges}
    joints = {joint.id: (joint, *pieces) for joint, pieces in cradled(m)}
    makers: dict[Family, Maker] = {
        "stud gauge": lambda _: stud_gauge(m, pins=o.pins),
        "drill guides": lambda aid: drill_guide(m, flanges[aid.serves[0]]),
        "reach test piece": lambda aid: reach_piece(m, reach, o.stud or aid.serves[0]),
        "tool dummies": lambda aid: dummy_makers(m)[aid.words](),
        "test-fit model": lambda _: model_parts(m, tell),
        "dummies": lambda _: _surroundings(m, tell),
        "saw guides": lambda aid: guide_makers(m, shop.saw_guides)[aid.words](),
        "joint cradles": lambda aid: cradle(m, *joints[aid.serves[0]]),
        "mill nests": lambda aid: nest_makers(m, shop.mill)[aid.words](),
        "wastegate window": lambda aid: window_makers(m)[aid.words](),
        "bench stand": lambda _: stand(m),
    }
    return makers[family]


def _surroundings(m: Manifold, tell: Progress) -> tuple[PrintedPart, ...]:
    made, missing = surroundings(m)
    for sentence in missing:
        tell(f"no dummy of {sentence}")
    return made
