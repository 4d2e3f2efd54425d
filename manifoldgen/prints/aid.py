"""What all shop aids share: told in words, made in a frame of their own, printed the way up they were drawn."""

from __future__ import annotations

from dataclasses import dataclass

from numpy.typing import ArrayLike

from manifoldgen.geometry.pose import BENCH, Frame
from manifoldgen.manifold.model import Manifold
from manifoldgen.mesh.triangles import Colour
from manifoldgen.prints import bodies
from manifoldgen.prints.finish import finished
from manifoldgen.prints.part import Kind, PrintedPart
from manifoldgen.shop.aids import file_name

COLD = "Plastic, softens at about 60 °C: for cold steel only, off before anything is welded."
TONGUE = "The upper tongue of a lap needs support; clean it before the screws go in."
UNDER = (0.0, 0.0, -1.0)
_COLOURS: dict[Kind, Colour] = {
    "guide": (0.86, 0.55, 0.22), "cradle": (0.30, 0.55, 0.75), "gauge": (0.40, 0.65, 0.40),
    "drill guide": (0.40, 0.65, 0.40), "window": (0.86, 0.55, 0.22), "nest": (0.62, 0.45, 0.70),
    "dummy": (0.75, 0.35, 0.35), "stand": (0.30, 0.55, 0.75), "reach": (0.72, 0.72, 0.66),
}  # fmt: skip


@dataclass(frozen=True)
class Told:
    """What is said of an aid: kind, name in words, mark, what it is for, how it sits, what can go wrong."""

    kind: Kind
    name: str
    mark: str
    purpose: str
    sits: str
    cautions: tuple[str, ...] = (COLD,)


def printed(
    m: Manifold, solid: bodies.Body, told: Told, frame: Frame = BENCH, down: ArrayLike = UNDER
) -> PrintedPart:
    """An aid to print.

    Parameters
    ----------
    solid : in the coordinates of `frame`, which puts it where it belongs in the bench frame.
    down : the side that lies on the printer's bed, in the same coordinates.

    Raises SolidError where it is not one body or does not fit on the bed.
    """
    return finished(
        m,
        bodies.moved(solid, frame),
        name=file_name(told.name),
        kind=told.kind,
        mark=told.mark,
        purpose=told.purpose,
        sits=told.sits,
        cautions=told.cautions,
        downs=[frame.turn(down)],
        only=True,
        colour=_COLOURS.get(told.kind, (0.7, 0.7, 0.7)),
    )
