"""What is bolted: tube sections, openings, flanges, ports, studs, in place in the bench frame; frozen numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from manifoldgen.geometry.contour import Contour, circle
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Vec

FixKind = Literal["stud", "bolt", "socket-head"]

SOCKET = 0.5  # share of the thickness that a tube stands in the flange (assumed; common practice, no source)


@dataclass(frozen=True)
class Section:
    """A round tube section."""

    od: float
    wall: float
    material: str

    @property
    def radius(self) -> float:
        """Outer radius, mm."""
        return self.od / 2

    @property
    def bore_radius(self) -> float:
        """Inner radius, mm."""
        return self.od / 2 - self.wall


@dataclass(frozen=True)
class Opening:
    """A gas opening as written: its outline about its own centre, and the centre in the flange plane.

    kind : round, oval (two half rounds joined by straights), rectangle (with corner radius), or drawn: as a
        drawing has it (then corner is 0).
    width, height : mm along the flange's x and y.  corner : mm.
    """

    kind: Literal["round", "oval", "rectangle", "drawn"]
    width: float
    height: float
    corner: float
    at: tuple[float, float]
    contour: Contour  # centred on (0, 0)


@dataclass(frozen=True)
class Hole:
    """A bolt or stud hole: its id (S1, T1, W1), place in the flange plane and diameter."""

    id: str
    at: tuple[float, float]
    diameter: float


@dataclass(frozen=True)
class VBand:
    """A V-band flange: body and clamp sizes, mm."""

    od: float
    clamp_od: float
    clamp_width: float


@dataclass(frozen=True)
class Flange:
    """A flange in place. It fills local z = 0 … thickness; z is the gas direction.

    name : ``head flange``, ``turbo flange``, ``wastegate flange``.
    tube_side : ``end`` where the tube stands on the z = thickness face (head), ``start`` where it stands
        on z = 0 (turbo, wastegate).
    tube : the section that joins it.  fit : tube on the face (butt) or in the flange (socket).
    transition : opening becomes round within the flange's thickness, or in a formed tube of
        `transition_length` mm (0 otherwise).
    gasket : mm between the flange's far face and its mate.
    outline : None for a V-band.
    """

    name: str
    frame: Frame
    thickness: float
    material: str
    outline: Contour | None
    openings: tuple[Opening, ...]
    holes: tuple[Hole, ...]
    tube: Section
    tube_side: Literal["start", "end"]
    fit: Literal["butt", "socket"] = "butt"
    transition: Literal["flange", "tube"] = "flange"
    transition_length: float = 0.0
    gasket: float = 0.0
    vband: VBand | None = None

    @property
    def seat_depth(self) -> float:
        """How deep a tube stands in the flange, mm along the flange's axis (0 for a butt fit)."""
        return SOCKET * self.thickness if self.fit == "socket" else 0.0

    @property
    def rim(self) -> Contour:
        """The outline, a round for a V-band."""
        if self.outline is not None:
            return self.outline
        return circle(self.vband.od if self.vband else 2 * self.tube.od)


@dataclass(frozen=True)
class Port:
    """Port (= cylinder) `number`: centre of its hole on the engine side, and the way the gas leaves."""

    number: int
    at: Vec
    direction: Vec
    opening: Opening


@dataclass(frozen=True)
class Stud:
    """A stud, bolt or socket-head screw.

    at : centre of the nut's (or head's) bearing face, before the washer: on the flange face.
    axis : unit, from the face towards the tool.
    tip : length from the face to the stud's end, mm (0 where it does not apply).
    """

    id: str
    flange: str
    kind: FixKind
    at: Vec
    axis: Vec
    thread: str
    tip: float
    nut: str | None
    washer: bool
    hole: float
