"""The stud gauge, to lay on the real head before anything is cut, and a drill guide for every flange.

Both are the flange's skeleton. The gauge has holes that drop over the head's studs, or pins that go into its
threads where bolts are used; the drill guide has holes for one pressed-in drill bush each.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from manifoldgen.errors import SolidError
from manifoldgen.manifold.model import Flange, Hole, Manifold, Stud
from manifoldgen.prints import bodies, skeleton
from manifoldgen.prints.aid import COLD, TONGUE, UNDER, Told, printed
from manifoldgen.prints.part import PrintedPart
from manifoldgen.prints.skeleton import Skeleton
from manifoldgen.shop.aids import gauge_pins
from manifoldgen.wording import size

GAUGE = 4.0  # mm: thickness
GUIDE = 8.0
PIN = 7.0  # mm: length of a pin
LEAST_PIN = 3.0  # mm: a thinner printed pin snaps (a design guide of a print service)
MINOR = 1.0825  # ISO 68-1: the thread's diameter less so many pitches is what is left of the hole
BUSH = 8.0  # mm: outside of a bush for drills of 4 to 5 mm; DIN 179, from memory
PILOT = 5.0
_UP = (0.0, 0.0, 1.0)

Shaped = Callable[[bodies.Body, list[str]], bodies.Body]  # a skeleton with its holes or pins, by id


def stud_gauge(m: Manifold, *, pins: bool | None = None) -> tuple[PrintedPart, ...]:
    """The stud gauge of the head, in as many parts as the bed asks for.

    pins : pins for the head's threads instead of holes over its studs; None takes pins where bolts are used.
    Raises SolidError where even one port at a time does not fit on the bed.
    """
    flange = m.head
    studs = [s for s in m.studs if s.flange == flange.name]
    if not studs:
        return ()
    pinned = gauge_pins(m) if pins is None else pins
    fit = m.workshop.fit
    frame = skeleton.Skeleton.of(flange, _ports(m, flange), GAUGE)
    shapes = {s.id: _pin(m, s, at) if pinned else _hole(m, s, at) for s, at in _placed(flange, studs)}

    def shaped(solid: bodies.Body, ids: list[str]) -> bodies.Body:
        chosen = [shapes[i] for i in ids if i in shapes]
        return bodies.union([solid, *chosen]) if pinned else bodies.minus(solid, *chosen)

    how = (
        "Studs out: press it on the bare head, all pins must enter their threads."
        if pinned
        else "Studs in: it must drop over all of them by its own weight, flat on the head."
    )
    told = Told(
        "gauge",
        "stud gauge",
        "",
        "Checks the parameter file's studs and ports against the real head, before anything is cut. Print it first.",
        f"{how} Marks readable, the arrow along +y. Look through its port outlines: the head's ports must lie inside them all around.",
        (f"A print is true to about {fit:.1f} mm: if it nearly goes on, re-measure before editing the file.", COLD),
    )  # fmt: skip
    return tuple(_made(m, flange, frame, _Kit(told, shaped, up=pinned)))


def drill_guides(m: Manifold) -> tuple[PrintedPart, ...]:
    """A drill guide for every flange with holes, in as many parts as the bed asks for."""
    return tuple(p for f in m.flanges if f.holes and f.openings for p in drill_guide(m, f))


def drill_guide(m: Manifold, flange: Flange) -> tuple[PrintedPart, ...]:
    """The drill guide of one flange."""
    frame = skeleton.Skeleton.of(flange, _ports(m, flange), GUIDE)
    bore = (BUSH + 0.2 + m.workshop.hole_extra) / 2
    shapes = {h.id: bodies.cylinder((*h.at, -1.0), _UP, bore, GUIDE + 2.0) for h in flange.holes}

    def shaped(solid: bodies.Body, ids: list[str]) -> bodies.Body:
        return bodies.minus(solid, *(shapes[i] for i in ids))

    sizes = ", ".join(sorted({size(h.diameter) for h in flange.holes}, key=float))
    told = Told(
        "drill guide",
        f"drill guide {flange.name}",
        "",
        f"Marks out and drills the {flange.name}: a bush hole at every hole, an outline at every opening.",
        f"Clamped on the blank, marks up (the tube side of the head flange, the mating side of the others is underneath)."
        f" Press a drill bush of {BUSH:g} mm outside and {PILOT:g} mm bore into a hole, pilot, put a {PILOT:g} mm pin in the first"
        f" two, then the rest; open up to {sizes} mm without the guide. Scribe the openings along the inside of the outlines.",
        ("Only with a steel bush: a bare drill eats the plastic and wanders.", COLD),
    )
    return tuple(_made(m, flange, frame, _Kit(told, shaped, up=False)))


@dataclass(frozen=True)
class _Kit:
    """What an aid on a skeleton is made of: words, holes or pins by id, and whether it is printed upside down."""

    told: Told
    shaped: Shaped
    up: bool


def _made(m: Manifold, flange: Flange, frame: Skeleton, kit: _Kit) -> list[PrintedPart]:
    """The fewest parts that fit on the bed."""
    last: SolidError | None = None
    for count in range(1, len(frame.ports) + 1):
        try:
            return _parted(m, flange, frame, kit, count)
        except SolidError as error:
            last = error
    raise last or SolidError(kit.told.name, "its flange has no port")


def _parted(m: Manifold, flange: Flange, frame: Skeleton, kit: _Kit, count: int) -> list[PrintedPart]:
    made: list[PrintedPart] = []
    told = kit.told
    screw = m.tables.hole(skeleton.LAP_SCREW, "medium")
    for number, (solid, group) in enumerate(skeleton.parts(frame, count, m.workshop.fit, screw), 1):
        ids = [h.id for h in frame.holes if frame.at(h) in group]
        mark = " ".join(frame.names[k] for k in group)
        lap = (
            ""
            if count == 1
            else f" Part {number} of {count}: the laps go together with two {skeleton.LAP_SCREW} screws each."
        )
        name = told.name if count == 1 else f"{told.name} {number}"
        more = () if count == 1 else (TONGUE,)
        here = replace(told, name=name, mark=mark, sits=told.sits + lap, cautions=(*told.cautions, *more))
        made.append(printed(m, kit.shaped(solid, ids), here, flange.frame, down=_UP if kit.up else UNDER))
    return made


def _ports(m: Manifold, flange: Flange) -> list[str]:
    if flange is m.head:
        return [f"P{p.number} ^" for p in m.ports]
    return ["turbo ^" if flange is m.turbo else "wastegate ^"]


def _placed(flange: Flange, studs: list[Stud]) -> list[tuple[Stud, Hole]]:
    holes = {h.id: h for h in flange.holes}
    return [(s, holes[s.id]) for s in studs if s.id in holes]


def _hole(m: Manifold, stud: Stud, at: Hole) -> bodies.Body:
    radius = (m.tables.thread(stud.thread).diameter + m.workshop.hole_extra) / 2 + m.workshop.fit
    return bodies.cylinder((*at.at, -1.0), _UP, radius, GAUGE + 2.0)


def _pin(m: Manifold, stud: Stud, at: Hole) -> bodies.Body:
    thread = m.tables.thread(stud.thread)
    radius = (thread.diameter - MINOR * thread.pitch) / 2 - m.workshop.fit
    if 2 * radius < LEAST_PIN:
        raise SolidError(
            "stud gauge",
            f"a pin for {stud.thread} would be {2 * radius:.1f} mm thick and snap; make the gauge with holes instead",
        )
    x, y = at.at
    tip = bodies.cone((x, y, -PIN), _UP, radius - 1.0, radius, 1.0)
    return bodies.union([tip, bodies.cylinder((x, y, 1.0 - PIN), _UP, radius, PIN + GAUGE - 1.0 - 0.9)])
