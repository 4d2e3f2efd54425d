"""What flanges have in common: gas openings, outlines, bolts, V-bands."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, ClassVar, Literal, Self

from pydantic import BeforeValidator, Discriminator, Tag, ValidationInfo, WithJsonSchema, model_validator

from manifoldgen import units
from manifoldgen.catalogue import FITS, NUTS, Catalogue, Unknown
from manifoldgen.parameters.meant import BoltCircle, Gas, GasSizes, Thickness
from manifoldgen.parameters.own import tables
from manifoldgen.parameters.scalars import (
    Angle,
    Block,
    Count,
    Length,
    LengthOrZero,
    Misfit,
    Place,
    Text,
    YesNo,
    read_length,
)


class Round(Block):
    """``{round: 38}``: diameter, mm."""

    kind: ClassVar[Literal["round"]] = "round"
    round: Gas

    @property
    def width(self) -> float:
        """Along the flange's x, mm."""
        return self.round

    @property
    def height(self) -> float:
        """Along the flange's y, mm."""
        return self.round

    @property
    def radius(self) -> float:
        """Of the corners, mm."""
        return self.round / 2


class Oval(Block):
    """``{oval: [44, 36]}``: width and height of two half rounds joined by straights, mm."""

    kind: ClassVar[Literal["oval"]] = "oval"
    oval: GasSizes

    @property
    def width(self) -> float:
        """Along the flange's x, mm."""
        return self.oval[0]

    @property
    def height(self) -> float:
        """Along the flange's y, mm."""
        return self.oval[1]

    @property
    def radius(self) -> float:
        """Of the corners, mm."""
        return min(self.oval) / 2


class Rectangle(Block):
    """``{rectangle: [40, 34], corner: 8}``: width, height, corner radius, mm."""

    kind: ClassVar[Literal["rectangle"]] = "rectangle"
    rectangle: GasSizes
    corner: LengthOrZero = 0.0

    @property
    def width(self) -> float:
        """Along the flange's x, mm."""
        return self.rectangle[0]

    @property
    def height(self) -> float:
        """Along the flange's y, mm."""
        return self.rectangle[1]

    @property
    def radius(self) -> float:
        """Of the corners, mm."""
        return self.corner

    @model_validator(mode="after")
    def _corner_fits(self) -> Self:
        if self.corner > min(self.rectangle) / 2:
            raise Misfit.at(
                f"a corner of {self.corner:g} mm does not fit a rectangle of {self.width:g} x {self.height:g} mm: "
                f"at most {min(self.rectangle) / 2:g}",
                "corner",
            )
        return self


_SHAPES = ("round", "oval", "rectangle")


def _shape(value: object) -> str:
    if isinstance(value, Round | Oval | Rectangle):
        return f"<{value.kind}>"
    keys = [k for k in _SHAPES if isinstance(value, Mapping) and k in value]
    if len(keys) != 1:
        raise ValueError("an opening is one of {round: …}, {oval: [w, h]} and {rectangle: [w, h], corner: …}")
    return f"<{keys[0]}>"


def _known_shape(value: object) -> object:
    _shape(value)
    return value


Opening = Annotated[
    Annotated[Round, Tag("<round>")]
    | Annotated[Oval, Tag("<oval>")]
    | Annotated[Rectangle, Tag("<rectangle>")],
    Discriminator(_shape),
    BeforeValidator(_known_shape),
]


class Drawing(Block):
    """What can be read from a DXF drawing of a gasket or the trace of a scan.

    dxf : the file.  scale : mm of one unit of it, where it does not say or says it wrong.
    mirror : it shows the part from the gas's upstream side; otherwise it is seen with the gas coming at you, the
    way x and y are counted.
    """

    dxf: Text | None = None
    scale: Length | None = None
    mirror: YesNo = False

    @model_validator(mode="after")
    def _of_a_drawing(self) -> Self:
        for key in ("scale", "mirror"):
            if self.dxf is None and key in self.model_fields_set:
                raise Misfit.at(f"{key} belongs to a drawing: name it with dxf, or drop {key}", key)
        return self


class Outline(Drawing):
    """A flange's outer edge: hull with `margin` mm of metal, or a polygon, or a drawing file; one of the three."""

    margin: Length | None = None
    polygon: tuple[Place, ...] | None = None

    @model_validator(mode="after")
    def _one(self) -> Self:
        given = [v for v in (self.margin, self.polygon, self.dxf) if v is not None]
        if len(given) != 1:
            raise ValueError("an outline is one of {margin: …}, {polygon: [[x, y], …]} and {dxf: file}")
        if self.polygon is not None and len(self.polygon) < 3:
            raise ValueError(f"a polygon has 3 corners or more, not {len(self.polygon)}")
        return self


def _thread(value: object, info: ValidationInfo) -> object:
    known = tables(info)
    name = known.thread_name(str(value))
    if name not in known.threads():
        raise ValueError(
            f"{units.named(value)} is no thread of the catalogue: use {', '.join(known.threads_of_size(name))}, "
            "or add its nut, washer and hole to the shop file"
        )
    return name


def _nut(value: object) -> object:
    if not isinstance(value, str) or value not in NUTS:
        raise ValueError(f"{units.named(value)} is no nut of the catalogue: use {', '.join(NUTS)}")
    return value


def _hole(value: object) -> object:
    if isinstance(value, str) and value.isalpha():
        if value not in FITS:
            raise ValueError(f"'{value}' is no fit: use fine, medium, coarse or a diameter in mm")
        return value
    return read_length(value)


def catalogued(
    known: Catalogue, kind: str, thread: str, nut: str, hole: float | str, *, washer: bool
) -> None:
    """Refuse a fastener of whose thread, nut, head, key, washer or clearance hole the catalogue lacks a size."""
    looked_up: list[tuple[str, Callable[[], object], str]] = [("thread", lambda: known.thread(thread), "")]
    if kind == "stud":
        looked_up.append(("nut", lambda: known.nut(nut, thread), "name another nut"))
    else:
        looked_up.append(("kind", lambda: _turned(known, kind, thread), "take another kind"))
    if washer:
        looked_up.append(("washer", lambda: known.washer(thread), "say washer: false"))
    if isinstance(hole, str):
        looked_up.append(("hole", lambda: known.hole(thread, hole), "give the hole in mm"))
    found: list[tuple[tuple[str | int, ...], str]] = []
    for key, look, remedy in looked_up:
        try:
            look()
        except Unknown as error:
            found.append(((key,), f"{error}, or {remedy}" if remedy else str(error)))
    if found:
        raise Misfit(*found)


def _turned(known: Catalogue, kind: str, thread: str) -> None:
    """A bolt's head, and for a socket head a key that fits it."""
    head = known.head(kind, thread)
    if head.key is not None:
        known.key(head.key)


Thread = Annotated[
    str,
    BeforeValidator(_thread),
    WithJsonSchema({"type": "string", "examples": ["M8", "M10x1.25", "3/8-16 UNC"]}),
]
NutKind = Annotated[str, BeforeValidator(_nut), WithJsonSchema({"enum": list(NUTS)})]
HoleSize = Annotated[
    float | Literal["fine", "medium", "coarse"],
    BeforeValidator(_hole),
    WithJsonSchema({"anyOf": [{"enum": list(FITS)}, {"type": "number"}, {"type": "string"}]}),
]


class Bolts(Drawing):
    """The bolts of a turbo or wastegate flange: at `positions`, `count` on a `circle`, or the holes of a drawing.

    side : where the tool works.  circle : diameter, mm.  start : degrees from the flange's +y to the first,
    right-handed about the gas.  length : of the stud above the flange face, or of the bolt, mm.
    """

    kind: Literal["stud", "bolt", "socket-head"]
    side: Literal["manifold", "turbo", "valve"] = "manifold"
    thread: Thread
    positions: tuple[Place, ...] | None = None
    circle: BoltCircle | None = None
    count: Count | None = None
    start: Angle = 0.0
    length: Length | None = None
    nut: NutKind = "all-metal-lock"
    washer: YesNo = True
    hole: HoleSize = "medium"

    @model_validator(mode="after")
    def _placed_once(self, info: ValidationInfo) -> Self:
        if [self.positions, self.circle, self.dxf].count(None) != 2:
            raise ValueError(
                "bolts stand at positions: [[x, y], …], on circle: … with count: …, or in dxf: file; give one of them"
            )
        if (self.circle is None) != (self.count is None):
            raise ValueError("circle and count go together: give both")
        if self.positions is not None and not self.positions:
            raise Misfit.at("the list of bolt positions is empty", "positions")
        catalogued(tables(info), self.kind, self.thread, self.nut, self.hole, washer=self.washer)
        return self


class VBand(Block):
    """A V-band flange and its clamp, mm."""

    od: Length
    thickness: Length
    clamp_od: Length
    clamp_width: Length

    @model_validator(mode="after")
    def _clamp_outside(self) -> Self:
        if self.clamp_od < self.od:
            raise Misfit.at(
                f"the clamp ({self.clamp_od:g} mm) is smaller than its flange ({self.od:g} mm): swap them?",
                "clamp_od",
            )
        return self


class TubeFlange(Block):
    """A flange at the end of a tube: bolted with a thickness, or a V-band that brings its own."""

    opening: Opening
    thickness: Thickness | None = None
    gasket: LengthOrZero = 0.0
    material: Text = "304"
    outline: Outline | None = None
    bolts: Bolts | None = None
    vband: VBand | None = None

    sides: ClassVar[tuple[str, str]] = ("manifold", "turbo")

    @property
    def depth(self) -> float:
        """Thickness in mm, of the plate or of the V-band flange."""
        return self.vband.thickness if self.vband else self.thickness or 0.0

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        if (self.bolts is None) == (self.vband is None):
            raise ValueError("a flange has bolts or a vband: give one of the two")
        if self.vband and (self.thickness is not None or self.outline is not None):
            raise ValueError("a vband brings its own thickness and outline: drop thickness and outline")
        if self.bolts and self.thickness is None:
            raise ValueError("'thickness' is missing")
        if self.bolts and self.bolts.side not in self.sides:
            raise Misfit.at(
                f"'{self.bolts.side}' is no side here: use {' or '.join(self.sides)}", "bolts", "side"
            )
        if self.vband and max(self.opening.width, self.opening.height) >= self.vband.od:
            raise Misfit.at(f"the opening does not fit a vband of {self.vband.od:g} mm", "opening")
        return self
