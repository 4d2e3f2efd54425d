"""Tools to try in the printed model: a socket on its ratchet for every size of nut on the head, and the torch.

They have the catalogue's sizes, which are what the reach tests use; measure your own and put them in the shop
file. Printed standing on the flat side that no nut and no weld sees, so that nothing there is wider than the tool.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

import numpy as np

from manifoldgen import units
from manifoldgen.access.fasteners import Fastener
from manifoldgen.access.tools import Tool
from manifoldgen.access.torch import Torch, torches
from manifoldgen.geometry.pose import BENCH, Frame
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.model import Manifold
from manifoldgen.prints import bodies, marks
from manifoldgen.prints.aid import Told, printed
from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.aids import DummyRatchet, dummy_ratchets, torch_words

FOOT = 0.42  # half the flat a handle stands on, over its radius: an octagon's side round it
NUT_FREE = 0.2  # mm a side between nut and socket
PIN = 5.3  # mm: hole for a 5 mm pin between the torch's head and its handle
PIN_DEEP = 14.0
TUNGSTEN_FREE = 0.2  # mm: a hole for the thickest real tungsten is as much larger
_UP = (0.0, 0.0, 1.0)
SIZES = "Sizes from the catalogue; measure your own tool and put it in the shop file if it is larger."
NO_HAND = "The hand is not part of it: leave room for your fist round the end of the handle."


def tool_dummies(m: Manifold) -> tuple[PrintedPart, ...]:
    """A ratchet with its socket for every kind of nut or head on the head flange, then the torch in two parts."""
    return tuple(make() for make in dummy_makers(m).values())


def dummy_makers(m: Manifold) -> dict[str, Callable[[], PrintedPart]]:
    """By its name what makes each."""
    torch = torches(m.tables)[0]
    head, handle = torch_words(m)
    made: dict[str, Callable[[], PrintedPart]] = {r.words: partial(_ratchet, m, r) for r in dummy_ratchets(m)}
    return made | {head: partial(_head, m, torch), handle: partial(_handle, m, torch)}


def ratchet_solid(tool: Tool, f: Fastener, longest: float) -> bodies.Body:
    """A ratchet with its socket, upright as it stands on the nut; z = 0 is the flange's face.

    longest : of the handle that can be printed, mm; a longer one is cut short.
    """
    head = tool.shaft[-1]
    move = tool.pivot
    parts = [_frustum(p.z0, p.r0, p.z1, p.r1) for p in tool.seat]
    parts += [_frustum(p.z0 + move, p.r0, p.z1 + move, p.r1) for p in tool.shaft if p.z1 > p.z0]
    top = head.z1 + move
    for arm in tool.arms[:2]:
        first, last = min(arm.rho0, longest), min(arm.rho1, longest)
        if last - first < 1.0:
            continue
        mid = min(arm.z0 + move, top - arm.radius)
        bar = bodies.cylinder((first, 0.0, mid), (1.0, 0.0, 0.0), arm.radius, last - first)
        half = FOOT * arm.radius
        foot = bodies.box((first, -half, top - 0.5), (last, half, top))
        parts.append((bar + foot).hull())
    body = bodies.union(parts)
    foot = min(p.z0 for p in tool.seat)
    if f.across_flats:
        flat = bodies.Body.cylinder(
            f.top - foot + 1.0,
            (f.across_flats / 2 + NUT_FREE) / math.cos(math.pi / 6),
            circular_segments=6,
        )
        body = bodies.minus(body, flat.translate((0.0, 0.0, foot - 0.5)))
        hole = bodies.cylinder((0.0, 0.0, foot - 0.5), _UP, f.across_flats / 4 + 1.5, f.tip - foot + 2.0)
        body = bodies.minus(body, hole)
    return body


def _frustum(z0: float, r0: float, z1: float, r1: float) -> bodies.Body:
    return bodies.cone((0.0, 0.0, z0), _UP, r0, r1, z1 - z0)


def _ratchet(m: Manifold, dummy: DummyRatchet) -> PrintedPart:
    tool = dummy.tool
    x, y, _ = m.workshop.bed
    head = tool.shaft[-1].r1
    longest = math.hypot(x - 10.0, y - 10.0) - head - 3 * max(a.radius for a in tool.arms[:2])
    full = max(a.rho1 for a in tool.arms[:2])
    solid = ratchet_solid(tool, dummy.on, longest)
    mark = f"{units.flats_size(dummy.size)[0]} {tool.drive or ''}".strip()
    top = tool.pivot + tool.shaft[-1].z1
    place = Frame((0.0, 0.0, top), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), _UP)
    height = min(6.0, 6.0 * 1.5 * head / marks.width(mark))
    solid = bodies.minus(solid, marks.flat(mark, place, height))
    short = f" The handle is cut to {longest:.0f} of {full:.0f} mm for the printer." if full > longest else ""
    told = Told(
        "dummy",
        dummy.words,
        mark,
        f"A {tool.name} to try on the studs of the printed model.",
        f"Put a nut on the stud, the socket over it, and swing. The handle's ridge is only its foot for printing.{short}",
        (SIZES, NO_HAND, "Never on a real nut with any force."),
    )
    return printed(m, solid, told, BENCH, down=_UP)


def torch_solid(torch: Torch, tungsten: float) -> bodies.Body:
    """Cup, head and cap, the cup's end at z = 0, a hole for a real tungsten, one for the handle's pin.

    tungsten : its diameter, mm.
    """
    cup, (head_r, head_h), (cap_r, cap_h) = torch.cup, torch.head, torch.cap
    top = cup[2] + head_h
    parts = [
        _frustum(0.0, cup[0], cup[2], cup[1]),
        _frustum(cup[2], head_r, top, head_r),
        _frustum(top, cap_r, top + cap_h, cap_r),
    ]
    ledge = head_r - cap_r
    if ledge > 0.4:  # what hangs over when it is printed on its cap
        parts.append(_frustum(top - 0.01, head_r, top + min(1.3 * ledge, cap_h), cap_r))
    way = array([math.sin(math.radians(torch.handle[2])), 0.0, math.cos(math.radians(torch.handle[2]))])
    middle = array([0.0, 0.0, cup[2] + head_h / 2])
    end = Frame((0.0, 0.0, top + cap_h), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), _UP)
    height = min(5.0, 6.0 * 1.5 * cap_r / marks.width(torch.number))
    return bodies.minus(
        bodies.union(parts),
        marks.flat(torch.number, end, height, 0.6),
        bodies.cylinder((0.0, 0.0, -1.0), _UP, (tungsten + TUNGSTEN_FREE) / 2, cup[2] + head_h / 4),
        bodies.cylinder(middle, way, PIN / 2, 2 * head_r),
    )


def handle_solid(torch: Torch) -> bodies.Body:
    """The handle, lying along x with a flat underneath (z = 0), a hole for its pin at the beginning."""
    radius, long, _ = torch.handle
    begin = torch.head[0]
    bar = bodies.cylinder((begin, 0.0, radius), (1.0, 0.0, 0.0), radius, long - begin)
    half = FOOT * radius
    bar = (bar + bodies.box((begin, -half, 0.0), (long, half, 1.0))).hull()
    place = Frame(((begin + long) / 2, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))
    height = min(5.0, 1.6 * half)
    return bodies.minus(
        bar,
        bodies.cylinder((begin - 1.0, 0.0, radius), (1.0, 0.0, 0.0), PIN / 2, PIN_DEEP + 1.0),
        marks.flat(torch.name, place, height, 0.6),
    )


def head_pin(torch: Torch) -> float:
    """Length of the pin between head and handle, mm."""
    return torch.head[0] + PIN_DEEP


def _head(m: Manifold, torch: Torch) -> PrintedPart:
    told = Told(
        "dummy",
        torch_words(m)[0],
        torch.number,
        f"The torch's cup, head and cap ({torch.name}), to try every weld in the printed model.",
        f"Push a real tungsten in, {torch.stick_out[0]:.1f} mm out of the cup for easy work, at most {torch.stick_out[-1]:.1f} mm; the"
        f" handle on a {PIN - 0.3:.0f} mm pin of {head_pin(torch):.0f} mm.",
        (SIZES, "The hose is not part of it."),
    )
    tungsten = max(map(float, m.tables.row("tig", "practice", "tungsten")["diameters"]))
    return printed(m, torch_solid(torch, tungsten), told, BENCH, down=_UP)


def _handle(m: Manifold, torch: Torch) -> PrintedPart:
    told = Told(
        "dummy",
        torch_words(m)[1],
        torch.name.upper(),
        f"Handle of the torch dummy ({torch.name}).",
        f"On a {PIN - 0.3:.0f} mm pin in the side of the torch's head, leaning back with the hole; a drop of glue once it sits.",
        (NO_HAND,),
    )
    solid = handle_solid(torch)
    longest = np.hypot(m.workshop.bed[0] - 10.0, m.workshop.bed[1] - 10.0) - 3 * torch.handle[0]
    return printed(m, bodies.upto(solid, (longest, 0.0, 0.0), (1.0, 0.0, 0.0)), told, BENCH)
