"""Which tool reaches each stud, and by how much the others fail.

A tool passes where it slides on, fits, and swings at least its arc with `limits.tool_margin` round every part,
clear of everything in the scene but its own nut. From the flange that its nut stands on it keeps only
`room.seat`: it has to stand there.

Directions of a tilted tool are counted from the flange's own axes, so that where the manifold stands in the
bench changes nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from manifoldgen.access import posed
from manifoldgen.access.fasteners import Assumed, Fastener, fastener
from manifoldgen.access.pack import across, rod
from manifoldgen.access.results import StudAccess
from manifoldgen.access.room import FAR, Nearby, Worst, room
from manifoldgen.access.scene import ENGINE, Scene, nut, scene
from manifoldgen.access.tools import Tool, tools
from manifoldgen.geometry.vectors import Array, array, first_square_to, vec
from manifoldgen.manifold.model import Manifold, Stud

DIRECTIONS = 24  # in which a tilted tool is tried
_WIDE = 1e3  # mm: more room is not told
_BETTERED = 8.0  # mm: what turning a tilted tool between the directions tried may gain
_TURNED = 6  # tilted tools that are turned so
_CLOSE = 0.02  # mm: violations closer than this are one


def studs(m: Manifold, *, full: bool = True, standing: Scene | None = None) -> tuple[StudAccess, ...]:
    """Every stud of every flange, in the manifold's order.

    Parameters
    ----------
    full : of a stud out of reach, look at every tool for shortfall and move, and between the tilts that are
        tried first; else stop at the first tool that passes, and only say of the others that none does.
    standing : the manifold's scene, where it is known already.
    """
    stands = standing or scene(m)
    packed: dict[Fastener, tuple[_Packed, ...]] = {}
    found = []
    for stud in m.studs:
        f = fastener(stud, m.tables, clamped(m, stud))
        alike = replace(f, assumed=())
        if alike not in packed:
            packed[alike] = tuple(_Packed(t) for t in tools(alike, m.tables))
        reach = max((c.reach for c in packed[alike]), default=0.0) + m.limits.tool_margin
        found.append(_spot(m, stud, f, stands, reach).access(packed[alike], full=full))
    return tuple(found)


def clamped(m: Manifold, stud: Stud) -> float:
    """What a bolt clamps on our side, mm: flange and gasket."""
    flange = next((f for f in m.flanges if f.name == stud.flange), None)
    return flange.thickness + flange.gasket if flange else 0.0


class _Packed:
    """A tool with its arrays and how far any part of it gets from the face."""

    def __init__(self, tool: Tool) -> None:
        self.tool = tool
        self.seat, self.shaft, self.arms = tool.arrays()
        self.tilts = np.radians(tool.tilts)
        low = max([tool.pivot, *(p.z1 + p.r1 for p in (*tool.seat, *tool.on))])
        high = max([0.0, *(p.z1 + p.r1 for p in tool.shaft)])
        out = max(math.hypot(a.rho1 + a.slide, a.z1 + a.lift) + a.radius for a in tool.arms)
        self.reach = low + max(high, out)


def _spot(m: Manifold, stud: Stud, f: Fastener, stands: Scene, reach: float) -> _Spot:
    axis = array(stud.axis)
    flange = next((f for f in m.flanges if f.name == stud.flange), None)
    u = first_square_to((flange.frame.x, flange.frame.y), axis) if flange else across(axis)[0]
    margin = m.limits.tool_margin
    seat = float(m.tables.row("tools", "room", "seat")["value"])
    behind = (ENGINE,) if stud.flange == m.head.name else ()
    around = room(stands, stud.at, reach, without=(nut(stud),), ease={stud.flange: max(margin - seat, 0.0)})
    return _Spot(
        stud,
        f,
        np.array([stud.at, axis, u, np.cross(axis, u)]),
        margin,
        float(m.tables.row("tools", "room", "above_nut")["value"]),
        around,
        around.without(stud.flange, *behind),
    )


@dataclass(frozen=True, eq=False)
class _Spot:
    """One stud with what stands round it.

    frame : rows: the face, the stud's axis, two directions across.  room : all but the own nut.
    beside : all but the own nut, its flange and what that stands on.
    """

    stud: Stud
    fastener: Fastener
    frame: Array
    margin: float
    above: float
    room: Nearby
    beside: Nearby

    def access(self, candidates: tuple[_Packed, ...], *, full: bool) -> StudAccess:
        """The stud's answer."""
        off = self._off()
        plain = StudAccess(
            id=self.stud.id, at=self.stud.at, reachable=False, ratchet=False, tool=None, drive=None,
            extension_mm=0.0, tilt_deg=0.0, toward=self.stud.axis, swing_deg=0.0, clearance_mm=0.0,
            blocked_by=None, shortfall_mm=0.0, move=None, comes_off=off.violation <= 0.0, off_mm=min(-off.violation, _WIDE),
            off_blocked_by=self.beside.said(off.thing) if off.violation > 0.0 else None,
            assumed=self.fastener.assumed, flange=self.stud.flange, thread=self.stud.thread,
        )  # fmt: skip
        best = self._best(candidates, full=full)
        return plain if best is None else self._told(plain, *best)

    def _off(self) -> Worst:
        """The way of nut and washer (or of the bolt) off the stud."""
        f = self.fastener
        high = f.shank + f.top if f.shank else f.tip + f.top - f.seat
        way = rod(self.frame[0], self.frame[0] + (high + self.above) * self.frame[1], f.radius)
        return self.beside.worst(way[None], 0.0)

    def _best(self, candidates: tuple[_Packed, ...], *, full: bool) -> tuple[_Packed, Array] | None:
        """The first tool that passes, or the one that fails by least; None where none passes and not `full`."""
        for c in candidates:
            found = self._tried(c, 0.0)
            if found is not None:
                return c, found
        return self._least(candidates) if full else None

    def _tried(self, c: _Packed, bound: float) -> Array | None:
        """A tool's least violation, where it is at most `bound`."""
        from manifoldgen.access import _approach

        around = np.arange(DIRECTIONS) * (2 * math.pi / DIRECTIONS)
        found = _approach.approach(
            self.frame, c.seat, c.shaft, c.arms, c.tool.pivot, c.tilts, around, c.tool.need, self.margin,
            self.room.arrays, self.room.ease, bound,
        )  # fmt: skip
        return found if found[0] < FAR else None

    def _least(self, candidates: tuple[_Packed, ...]) -> tuple[_Packed, Array] | None:
        """The tool that fails by least, tilted ones turned between the directions tried as well."""
        best: tuple[_Packed, Array] | None = None
        leaning: list[tuple[_Packed, Array]] = []
        for c in candidates:
            slack = _BETTERED if c.tilts[-1] > 0.0 else 0.0
            found = self._tried(c, FAR if best is None else float(best[1][0]) + slack)
            if found is None:
                continue
            if slack:
                leaning.append((c, found))
            if best is None or found[0] < best[1][0]:
                best = (c, found)
        for c, start in sorted(leaning, key=lambda x: float(x[1][0]))[:_TURNED]:
            better = self._turned(c, start)
            if best is None or better[0] < best[1][0]:
                best = (c, better)
        return best

    def _turned(self, c: _Packed, start: Array) -> Array:
        """A pose bettered by small turns."""
        from manifoldgen.access import _approach

        better: Array = _approach.refined(
            self.frame, c.seat, c.shaft, c.arms, c.tool.pivot, start, c.tilts[-1], math.pi / DIRECTIONS,
            c.tool.need, self.margin, self.room.arrays, self.room.ease,
        )  # fmt: skip
        return better

    def _told(self, plain: StudAccess, c: _Packed, found: Array) -> StudAccess:
        """The answer with a tool in its pose."""
        from manifoldgen.access import _approach

        tool, short = c.tool, max(float(found[0]), 0.0)
        leant = _approach.tilted(self.frame, tool.pivot, found[1], found[2])
        shown = posed.shapes(tool, self.frame, leant, math.radians(found[3] + found[4] / 2))
        worst = self._blocker(c, leant, found) if short > 0.0 else None
        blocker = worst.thing if worst else -1
        return replace(
            plain,
            reachable=short == 0.0,
            ratchet=short == 0.0 and tool.ratchet,
            tool=tool.name,
            drive=tool.drive,
            extension_mm=tool.extension,
            tilt_deg=math.degrees(found[1]),
            toward=vec(leant[1]),
            swing_deg=float(found[4]) if short == 0.0 else self._swing(c, leant),
            clearance_mm=min(-self.beside.worst(posed.rods(shown), 0.0).violation, _WIDE),
            blocked_by=self.room.said(blocker),
            shortfall_mm=short,
            move=vec(array(worst.way) * float(found[0])) if worst else None,
            assumed=(*plain.assumed, *map(Assumed, tool.assumed)),
            blocker=self.room.owner(blocker),
            shapes=shown,
        )

    def _swing(self, c: _Packed, leant: Array) -> float:
        """The free swing at the full margin, degrees."""
        from manifoldgen.access import _approach, _swing

        taken, first = np.zeros(_swing.BINS, np.bool_), np.zeros(1)
        arc = _approach.free_arc(leant, c.arms, self.margin, self.room.arrays, self.room.ease, taken, first)
        return float(max(arc, 0))

    def _blocker(self, c: _Packed, leant: Array, found: Array) -> Worst:
        """Who is in the way of a pose."""
        from manifoldgen.access import _approach, _swing

        fixed = [_approach.placed(c.seat, self.frame[0], self.frame[1])]
        fixed.append(_approach.placed(c.shaft, leant[0], leant[1]))
        worst = self.room.worst(np.concatenate(fixed), self.margin)
        if worst.violation < found[0] - _CLOSE:  # it is the swing that fails
            for k in np.arange(0.0, min(found[4], 359.5) + 0.1, _swing.STEP):
                rows = np.zeros((len(c.arms), 16))
                for arm, row in zip(c.arms, rows, strict=True):
                    _swing.arm_rod(
                        arm, leant[0], math.radians(found[3] + k), leant[2], leant[3], leant[1], row
                    )
                here = self.room.worst(rows, self.margin)
                worst = max(worst, here, key=lambda w: w.violation)
        return worst
