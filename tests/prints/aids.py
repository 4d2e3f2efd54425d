"""What the tests of the shop aids share: a demo job in pieces, aids as solids where they belong, overlaps."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from manifoldgen.manifold.model import Manifold
from manifoldgen.prints import bodies
from manifoldgen.prints.cradles import cradles
from manifoldgen.prints.part import PrintedPart
from tests.worked import demo

JOBS = Path(__file__).resolve().parents[2] / "cq_scripts" / "jobs"


@cache
def job(name: str = "sand_rail_four") -> Manifold:
    """A demo job in pieces (runners still to be found have none)."""
    return demo(name).manifold


@cache
def cradles_of(name: str = "sand_rail_four") -> tuple[PrintedPart, ...]:
    """The cradles of a demo job."""
    return cradles(job(name))


def in_place(part: PrintedPart) -> bodies.Body:
    """A printed part as a solid where it belongs, bench frame."""
    return bodies.solid_of(part.in_place)


def overlap(a: bodies.Body, b: bodies.Body) -> float:
    """What two solids share, mm³."""
    return float(bodies.common(a, b).volume())
