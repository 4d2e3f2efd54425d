"""A TIG torch as primitives about its tungsten's axis, made from the catalogue's rows, and how it may be held.

    work ──arc──▲──stick-out──┌cup┐┌head┐┌cap┐          axis coordinates: 0 at the tungsten's tip,
               tip            └───┘└─┬──┘└───┘          up away from the work
                                  handle, 70° to the axis, free to roll about it

The tungsten itself is not part of the torch: it may stand where it likes inside its arc length. Sizes are
from memory in the shipped catalogue; a shop's own rows win.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from manifoldgen.access.results import Primitive
from manifoldgen.catalogue import Catalogue, TableRow
from manifoldgen.catalogue.catalogue import OWN
from manifoldgen.geometry.shapes import Capsule, Cone, Cylinder
from manifoldgen.geometry.vectors import Array, Vec, array, unit, vec

TierName = Literal["easy", "awkward", "stretch"]
TIERS: tuple[TierName, ...] = ("easy", "awkward", "stretch")
ROLLS = 12
_STEP = 20.0  # degrees between the angles a torch is tried at, beyond the easy ones


@dataclass(frozen=True)
class Torch:
    """One torch with its cup.

    number : of the cup, as it is sold.  cup : radius at the tip, radius at the head, length, mm.
    head, cap : radius, length.
    handle : radius, length, angle to the axis in degrees.
    stick_out : mm by tier, easy first, not falling.  assumed : names of sizes nobody measured.
    """

    name: str
    number: str
    cup: tuple[float, float, float]
    head: tuple[float, float]
    cap: tuple[float, float]
    handle: tuple[float, float, float]
    stick_out: tuple[float, float, float]
    assumed: tuple[str, ...] = ()

    @property
    def sizes(self) -> Array:
        """For the kernel: cup tip, cup top, cup length, head r, length, cap r, length, handle r, length, angle (rad)."""
        r, length, angle = self.handle
        return array([*self.cup, *self.head, *self.cap, r, length, math.radians(angle)])

    def reach(self, arc: float) -> float:
        """Radius of the ball about the weld that holds every pose, mm."""
        middle = arc + self.stick_out[-1] + self.cup[2] + self.head[1] / 2
        back = middle + self.head[1] / 2 + self.cap[1]
        return max(middle + self.handle[1] + self.handle[0], math.hypot(back, self.head[0]))


@dataclass(frozen=True)
class TorchPose:
    """One way to hold a torch: travel, work and roll in degrees, stick-out in mm."""

    travel: float
    work: float
    roll: float
    stick_out: float


@dataclass(frozen=True, eq=False)
class Holds:
    """All ways a torch is tried, tier after tier.

    axes : (n, 3): tangents of travel and work, stick-out.  tier : (n,) index of the tier of each axis.
    turns : rolls, radians.  arc : mm from the work to the tip.
    """

    axes: Array
    tier: NDArray[np.int64]
    turns: Array
    arc: float


def torches(tables: Catalogue) -> tuple[Torch, ...]:
    """Every torch of the catalogue; the shop's own come first, the rest in the order they are tried."""
    rows = sorted(tables.table("tig", "set").items(), key=lambda item: OWN not in item[1].src)
    return tuple(torch_of(tables, name, row) for name, row in rows)


def torch_of(tables: Catalogue, name: str, row: TableRow) -> Torch:
    """The torch of one row of the catalogue's `set`, by the row's name."""
    body, cup = tables.row("tig", "torch", row["torch"]), tables.row("tig", "cups", row["cup"])
    number = str(row["number"])
    bores = tables.row("tig", "cup", "bore")
    wider = (float(bores[number]) - float(bores["6"])) / 2
    bore = float(bores[number])
    tip = float(cup["od_tip_6"]) / 2 + wider
    handle = (body["handle_d"] / 2, float(body["handle_length"]), float(body["handle_to_axis"]))
    return Torch(
        name=name,
        number=number,
        cup=(tip, max(float(cup["od_top"]) / 2, tip), float(cup["length"])),
        head=(body["head_d"] / 2, float(body["head_h"])),
        cap=(body["cap_d"] / 2, float(body["cap_short"])),
        handle=handle,
        stick_out=_stick_outs(tables, bore, lens=bool(cup.get("lens"))),
        assumed=tuple(
            what for what, r in (("torch head and handle", body), ("cup", cup)) if r.conf != "high"
        ),
    )


def _stick_outs(tables: Catalogue, bore: float, *, lens: bool) -> tuple[float, float, float]:
    tier = tables.table("tig", "pose_tier")
    if lens:
        easy, awkward, stretch = (float(tier[name]["stick_out_lens"]) for name in TIERS)
        return easy, awkward, stretch
    most = bore * float(tables.row("tig", "stick_out", "standard")["most"])
    return min(bore * float(tier["easy"]["stick_out_bores"]), most), most, most


def arc_length(tables: Catalogue) -> float:
    """Tip to work, mm: the middle of the catalogue's range."""
    low, high = tables.row("tig", "practice", "arc_length")["range"]
    return (float(low) + float(high)) / 2


def holds(tables: Catalogue, torch: Torch) -> Holds:
    """The ways to hold a torch: travel and work up to each tier's limits, stick-outs up to each tier's."""
    tier = tables.table("tig", "pose_tier")
    found: dict[tuple[float, float, float], int] = {}
    for number, name in enumerate(TIERS):
        travels, works = _angles(float(tier[name]["travel"])), _angles(float(tier[name]["work"]))
        for stick in dict.fromkeys((*torch.stick_out[: number + 1], torch.stick_out[0] / 2)):
            for work in works:
                for travel in travels:
                    hold = (math.tan(math.radians(travel)), math.tan(math.radians(work)), stick)
                    found.setdefault(hold, number)
    turns = 2 * math.pi * np.arange(ROLLS) / ROLLS
    return Holds(
        array(list(found)), np.array(list(found.values()), dtype=np.int64), turns, arc_length(tables)
    )


def _angles(most: float) -> list[float]:
    """0, then pairs of angles up to the limit, the limit itself last."""
    steps = [*np.arange(_STEP / 2, most - _STEP / 4, _STEP), most]
    return [0.0, *(sign * float(a) for a in steps for sign in (1.0, -1.0))]


def axis_of(along: Array, bisector: Array, pose: TorchPose) -> Array:
    """The tungsten's unit axis, away from the work: bisector leaned by travel along the weld, work across it."""
    across = np.cross(along, bisector)
    travel, work = math.tan(math.radians(pose.travel)), math.tan(math.radians(pose.work))
    return unit(array(bisector) + travel * array(along) + work * across)


def placed(
    torch: Torch, at: tuple[Array, Array, Array], pose: TorchPose, arc: float
) -> tuple[Primitive, ...]:
    """The torch's primitives at one place, bench frame: cup, head, cap, handle.

    at : point, way along the weld, bisector.  arc : mm from the work to the tip.
    """
    point, along, bisector = at
    axis = axis_of(along, bisector, pose)
    tip = array(point) + arc * array(bisector)

    def on_axis(height: float) -> Vec:
        return vec(tip + height * axis)

    u, v = roll_axes(along, bisector, axis)
    turn = math.radians(pose.roll)
    radius, length, lean = torch.handle
    across = math.cos(turn) * u + math.sin(turn) * v
    way = math.sin(math.radians(lean)) * across + math.cos(math.radians(lean)) * axis
    base = pose.stick_out + torch.cup[2]
    top, end = base + torch.head[1], base + torch.head[1] + torch.cap[1]
    grip = on_axis(base + torch.head[1] / 2)
    return (
        Cone(on_axis(pose.stick_out), on_axis(base), torch.cup[0], torch.cup[1]),
        Cylinder(on_axis(base), on_axis(top), torch.head[0]),
        Cylinder(on_axis(top), on_axis(end), torch.cap[0]),
        Capsule(grip, vec(array(grip) + length * way), radius),
    )


def roll_axes(along: Array, bisector: Array, axis: Array) -> tuple[Array, Array]:
    """Two unit vectors square to the axis that roll counts from, right-handed about it."""
    u = unit(np.cross(axis, np.cross(along, bisector)))  # work < 90°: the axis is never along the second
    return u, array(np.cross(axis, u))
