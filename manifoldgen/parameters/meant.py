"""What was surely meant: bare numbers that are inches, sizes and schedules of pipe, shapes that go by another name.

A bare number is millimetres. One far too small for the thing it measures, and right for it in inches, is refused with
what was meant; with its unit beside it, it is taken as written.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated

from pydantic import BeforeValidator

from manifoldgen import units
from manifoldgen.catalogue import Catalogue, Pipe
from manifoldgen.parameters.scalars import LENGTH_SCHEMA, listed, read_length

LEAST = {  # mm: no such thing of a manifold is smaller (common practice, no source)
    "a wall": 0.3,
    "a flange thickness": 1.5,
    "a stud length": 6.0,
    "a CLR": 12.0,
    "an opening": 12.0,
    "a valve seat": 12.0,
    "a bolt circle": 20.0,
    "a pitch": 20.0,
}
SHAPES = ("box", "cylinder", "mesh")  # that an obstacle may have
_SHAPED = {
    **dict.fromkeys(("sphere", "ball"), "a {} is a cylinder as long as it is wide"),
    **dict.fromkeys(("capsule", "pill"), "a {} is a cylinder from tip to tip"),
    **dict.fromkeys(("cone", "tube", "pipe", "rod", "hose"), "a {} is a cylinder round it"),
    **dict.fromkeys(("plane", "wall", "floor", "plate", "panel", "cube", "block"), "a {} is a box"),
    **dict.fromkeys(("scan", "stl", "step", "obj", "ply", "file", "points"), "give it as mesh: file"),
    "radius": "radius stands in cylinder: {{from: …, to: …, radius: …}}",
    **dict.fromkeys(("from", "to"), "{} stands in box: {{…}} or cylinder: {{…}}"),
}
_SCHEDULE = re.compile(r"sch(?:ed(?:ule)?)?\.?\s*(\d+)\s*s?|(\d+)\s*s", re.IGNORECASE)
_PIPE = re.compile(r"(?:(nps)\s*)?(\d+|\d+/\d+|\d+\s*[- ]\s*\d+/\d+)(?:\s*(nps))?", re.IGNORECASE)
_SAME = 0.5  # mm: pipes of the two systems are called the same and differ by a little, 42.2 and 42.4


def bare(value: object) -> bool:
    """Whether it is a number without a unit."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def doubted(what: str, mm: float, meant: str) -> str:
    """The sentence about a bare number that is surely no millimetres."""
    return f"{what} of {mm:g} mm: did you mean {meant}? if it is millimetres, write '{mm:g} mm'"


def in_inches(size: float) -> str:
    """A number of inches as it is written, and in mm."""
    return f"'{size:g} in' ({size * units.MM['in']:.2f} mm)"


def sized(what: str, read: Callable[[object], float] = read_length) -> Callable[[object], float]:
    """A reader of lengths that asks about a bare number under the least that `what` can be.

    what : of `LEAST`.  read : the reader that it adds to.
    """
    least = LEAST[what]

    def checked(value: object) -> float:
        mm = read(value)
        if bare(value) and 0 < abs(mm) < least:
            raise ValueError(doubted(what, mm, in_inches(mm)))
        return mm

    return checked


Thickness = Annotated[float, BeforeValidator(sized("a flange thickness")), LENGTH_SCHEMA]
StudLength = Annotated[float, BeforeValidator(sized("a stud length")), LENGTH_SCHEMA]
Clr = Annotated[float, BeforeValidator(sized("a CLR")), LENGTH_SCHEMA]
Gas = Annotated[float, BeforeValidator(sized("an opening")), LENGTH_SCHEMA]
GasSizes = Annotated[tuple[Gas, Gas], BeforeValidator(listed(2, "a pair of sizes [width, height]"))]
Seat = Annotated[float, BeforeValidator(sized("a valve seat")), LENGTH_SCHEMA]
BoltCircle = Annotated[float, BeforeValidator(sized("a bolt circle")), LENGTH_SCHEMA]
Pitch = Annotated[float, BeforeValidator(sized("a pitch", units.length)), LENGTH_SCHEMA]


def pipe_size(text: str, tables: Catalogue) -> str | None:
    """The sentence about an outside diameter written as a size of pipe, ``1-1/2`` or ``NPS 2``; None for any other."""
    found = _PIPE.fullmatch(text.strip())
    pipe = found and next((p for p in tables.pipes() if p.nps == re.sub(r"\s*[- ]\s*", "-", found[2])), None)
    if not found or not pipe:
        return None
    if found[1] or found[3]:
        return f"'{text}' is a size of pipe: did you mean '{pipe.od:g} mm', its outside?"
    inches = units.length(f"{found[2]} in")
    return (
        f"'{text}' has no unit: did you mean '{text} in' ({inches:.2f} mm), or '{pipe.od:g} mm', "
        f"the outside of pipe of size {pipe.nps}?"
    )


def schedule(text: str, od: object, tables: Catalogue) -> str | None:
    """The sentence about a wall written as a schedule of pipe, ``sch10`` or ``10S``; None for any other.

    od : of the tube, mm, where it is known.
    """
    found = _SCHEDULE.fullmatch(text.strip())
    if not found:
        return None
    told, name = f"'{text}' is a schedule of pipe", f"{found[1] or found[2]}S"
    pipe = _pipe_of(od, tables)
    if pipe is None:
        size = f"{od:g} mm is no size of pipe here" if bare(od) else "the tube's od is not known"
        return f"{told}, and {size}: write the wall in mm, or by gauge"
    if name not in dict(pipe.walls):
        return f"{told} that the catalogue does not have: write the wall in mm"
    return f"{told}: did you mean '{pipe.wall(name):g} mm' ({name} of {pipe.od:g} mm)?"


def _pipe_of(od: object, tables: Catalogue) -> Pipe | None:
    """The pipe of that outside diameter."""
    return next((p for p in tables.pipes() if isinstance(od, float) and abs(p.od - od) <= _SAME), None)


def shape(key: str) -> str | None:
    """What an obstacle's shape of another name is here; None for a word that is none."""
    told = _SHAPED.get(key.lower())
    return told and f"there are {', '.join(SHAPES[:-1])} and {SHAPES[-1]}; {told.format(key)}"
