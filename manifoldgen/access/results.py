"""What is said about every stud and about the way off: the report's keys as attributes, mm and degrees."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from manifoldgen.access.fasteners import Assumed
from manifoldgen.geometry.shapes import Capsule, Cone, Cylinder
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.model import Owner

Primitive = Cylinder | Cone | Capsule


@dataclass(frozen=True)
class StudAccess:
    """Whether a hand gets at one stud, and with what.

    id, at, flange, thread : of the stud; `at` is the centre of the bearing face.
    reachable : a tool slides on, fits and swings with the margin all round it.
    ratchet : a ratchet with a socket does it.
    tool, drive, extension_mm, tilt_deg : the tool taken first; of a stud out of reach the one that fails by least.
    toward : unit, from the nut along the tool's last axis (tilted where the tool is).
    swing_deg : free arc of its handle; clearance_mm : least distance of the reported pose to anything.
    blocked_by : who is in the way of a stud out of reach, in words; blocker : the run or collector that it belongs to.
    shortfall_mm : least over all approaches of the worst violation over the stages; 0 where reachable.
    move : vector that takes the blocker out of the way of that approach, mm.
    comes_off : nut and washer come off the stud's end (a bolt: it comes out); off_mm : the room there.
    assumed : sizes taken from memory or not given.  shapes : the tool's primitives in the reported pose.
    """

    id: str
    at: Vec
    reachable: bool
    ratchet: bool
    tool: str | None
    drive: str | None
    extension_mm: float
    tilt_deg: float
    toward: Vec
    swing_deg: float
    clearance_mm: float
    blocked_by: str | None
    shortfall_mm: float
    move: Vec | None
    comes_off: bool
    off_mm: float
    off_blocked_by: str | None = None
    assumed: tuple[Assumed, ...] = ()
    shapes: tuple[Primitive, ...] = ()
    blocker: Owner | None = None
    flange: str = field(kw_only=True)
    thread: str = field(kw_only=True)

    def as_dict(self) -> dict[str, Any]:
        """The report's mapping; `shapes` as one mapping a primitive."""
        made: dict[str, Any] = {k: v for k, v in self.__dict__.items() if k != "blocker"}
        made["at"], made["toward"] = list(self.at), list(self.toward)
        made["move"] = None if self.move is None else list(self.move)
        made["assumed"] = [a.words for a in self.assumed]
        made["shapes"] = [shape_dict(s) for s in self.shapes]
        return made


@dataclass(frozen=True)
class Removal:
    """Whether the manifold comes off its studs.

    head_flange_slides_off : the whole manifold clears the ends of its studs with nothing in the way.
    nuts_come_off : every nut comes off its stud, every bolt out of its hole.
    order : what to undo, one after another, in words.
    travel_mm : how far the flange has to slide; free_mm : how far it can.
    blocked_by : names of what stands in the way; missing_mm : of travel, for each of them.
    not_parallel : studs that are not parallel to the first of their flange.
    """

    head_flange_slides_off: bool
    nuts_come_off: bool
    order: tuple[str, ...]
    travel_mm: float = 0.0
    free_mm: float = 0.0
    blocked_by: tuple[str, ...] = ()
    missing_mm: tuple[float, ...] = ()
    not_parallel: tuple[str, ...] = ()
    assumed: tuple[Assumed, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """The report's mapping."""
        made = {k: list(v) if isinstance(v, tuple) else v for k, v in self.__dict__.items()}
        return {**made, "assumed": [a.words for a in self.assumed]}


def shape_dict(shape: Primitive) -> dict[str, Any]:
    """A primitive as the report writes it: capsule, cylinder, cone or sphere; mm, bench frame."""
    a, b = list(shape.start), list(shape.end)
    if isinstance(shape, Cone):
        return {
            "cone": {"from": a, "to": b, "radius_from": shape.radius_start, "radius_to": shape.radius_end}
        }
    if isinstance(shape, Capsule) and a == b:
        return {"sphere": {"at": a, "radius": shape.radius}}
    kind = "capsule" if isinstance(shape, Capsule) else "cylinder"
    return {kind: {"from": a, "to": b, "radius": shape.radius}}
