"""Mill nest: holds a collector's inlet tube so that each of its two cuts lies level under the end mill.

                    cut plane, level
    ────────────────────────────╱───            a collar sits on the tube, its key on the back line
       ╭╮ ______________----▔▔▔                (the line farthest from the collector's axis); the
    key││--   tube, up by δ   |                 nest's low end has a slot for each cut, ψ to either
       ╰╯▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁|                side of the bottom: mill, turn the key into the
       |______________________|  on the table   other slot, mill again

δ and ψ are the mill sheet's tilt and roll.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from manifoldgen.geometry.pose import BENCH, Frame
from manifoldgen.geometry.vectors import Array, array, cos_sin, vec
from manifoldgen.manifold.model import Collector, Manifold
from manifoldgen.pieces.blanks import nested
from manifoldgen.pieces.hub import leg_length, prefix
from manifoldgen.prints import bodies, marks
from manifoldgen.prints.aid import COLD, Told, printed
from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.aids import in_nest, nest_words
from manifoldgen.shop.mill import MillSheet
from manifoldgen.wording import fixed

UNDER = 12.0  # mm under the bore at its low end
EAR = 16.0  # mm beside the nest for clamps
EAR_THICK = 9.0
KEY = 5.0  # mm: width of the key
KEY_OUT = 5.0  # mm beyond the bore
KEY_LONG = 5.0  # mm along the tube
RING = 8.0  # mm of collar round the tube
SLIT = 3.0
SCREW = "M4"  # through the collar's ears


@dataclass(frozen=True)
class Nest:
    """Where things lie in a nest; its own axes: z up from the table, x along the tube as seen from above.

    tilt, roll : δ and ψ, degrees.  bore : radius, mm.  foot : the bore's axis at the nest's low end.
    axis : the tube's way, towards the collector.  top : unit, square to it, in the upright plane.
    length : of the nest along the tube.  from_ring : where the low end lies, mm along the inlet from the ring
    plane (negative upstream).  height : of the cut plane over the table.
    """

    tilt: float
    roll: float
    bore: float
    foot: Array
    axis: Array
    top: Array
    length: float
    from_ring: float
    collar: float
    height: float

    def key(self, side: int) -> Array:
        """The way from the tube's axis to the key for the cut on one side (+1, -1)."""
        c, s = cos_sin(self.roll)
        way: Array = -c * self.top + side * s * array((0.0, 1.0, 0.0))
        return way


def nests(m: Manifold, mill: Sequence[MillSheet]) -> tuple[PrintedPart, ...]:
    """Nest and collar for every merge collector; a plate collector's flat cut needs none.

    Raises SolidError for a nest that does not fit on the printer's bed.
    """
    return tuple(make() for make in nest_makers(m, mill).values())


def nest_makers(m: Manifold, mill: Sequence[MillSheet]) -> dict[str, Callable[[], PrintedPart]]:
    """By its name what makes each nest and each collar."""
    made: dict[str, Callable[[], PrintedPart]] = {}
    for sheet, collector in zip(mill, m.collectors, strict=True):
        if nested(m, collector) and sheet.inlets:
            nest, collar = nest_words(m, collector)
            made |= {nest: partial(_nest, m, sheet, collector), collar: partial(_collar, m, sheet, collector)}
    return made


def laid_out(m: Manifold, sheet: MillSheet, collector: Collector) -> Nest:
    """The nest's numbers, from the mill sheet's tilt and roll."""
    bore = collector.section.radius + m.workshop.fit
    cd, sd = cos_sin(sheet.tilt)
    length = sheet.grip
    low = sheet.scallop - sheet.spare - length
    foot = array((0.0, 0.0, UNDER + bore / cd))
    return Nest(
        tilt=sheet.tilt,
        roll=sheet.roll,
        bore=bore,
        foot=foot,
        axis=array((cd, 0.0, sd)),
        top=array((-sd, 0.0, cd)),
        length=length,
        from_ring=low,
        collar=sheet.collar,
        height=float(foot[2]) + (sheet.apex - low) * sd,
    )


def nest_solid(m: Manifold, nest: Nest, mark: str) -> bodies.Body:
    """The nest in its own axes."""
    half = nest.bore + m.workshop.sound_wall + KEY_OUT
    reach = nest.length * nest.axis[0] + half
    block = bodies.box((-half, -half, 0.0), (reach, half, 3 * half + nest.length))
    ears = bodies.box((-half, -half - EAR, 0.0), (reach, half + EAR, EAR_THICK))
    end = nest.foot + nest.length * nest.axis
    block = bodies.upto(block, nest.foot, nest.top)
    body = bodies.union([block, ears])
    body = bodies.upto(bodies.upto(body, nest.foot, -nest.axis), end, nest.axis)
    cutters = [bodies.cylinder(nest.foot - 2 * nest.axis, nest.axis, nest.bore, nest.length + 4.0)]
    for side in (1, -1) if nest.roll > 0 else (1,):
        way = nest.key(side)
        place = Frame(vec(nest.foot), vec(way), vec(_cross(nest.axis, way)), vec(nest.axis))
        wide = KEY / 2 + m.workshop.fit
        cutters.append(
            bodies.box(
                (nest.bore - 1.0, -wide, -1.0),
                (nest.bore + KEY_OUT + m.workshop.fit, wide, KEY_LONG + 0.5),
                place,
            )
        )
    lean = (float(nest.foot[2]) - EAR_THICK) * math.tan(math.radians(nest.tilt))
    long = nest.length / float(nest.axis[0])
    middle, room = lean + long / 2, long - 4.0
    for text, y in ((mark, -half - EAR / 2), (f"Z {nest.height:.1f}", half + EAR / 2)):
        place = Frame((middle, y, EAR_THICK), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
        cutters.append(marks.flat(text, place, min(6.0, 6.0 * room / marks.width(text))))
    return bodies.minus(body, *cutters)


def collar_solid(m: Manifold, nest: Nest, mark: str) -> bodies.Body:
    """The collar, lying: its axis is z, the key stands up on it towards +x; the slit and screw are opposite."""
    inner, outer = nest.bore, nest.bore + RING
    hole = m.tables.hole(SCREW, "medium")
    up = array((0.0, 0.0, 1.0))
    ring = bodies.cylinder((0.0, 0.0, 0.0), up, outer, nest.collar)
    ears = bodies.box((-outer - 12.0, -8.0, 0.0), (-inner - 2.0, 8.0, nest.collar))
    key = bodies.box(
        (inner + m.workshop.fit, -KEY / 2, 0.0), (inner + KEY_OUT, KEY / 2, nest.collar + KEY_LONG)
    )
    body = bodies.union([ring, ears, key])
    line = bodies.box((inner + 1.0, -0.5, nest.collar - 0.8), (outer + 1.0, 0.5, nest.collar + 0.1))
    ear = Frame((-outer - 6.5, 4.8, nest.collar), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    height = min(4.5, 6.0 * 10.0 / marks.width(mark))
    return bodies.minus(
        body,
        marks.flat(mark, ear, height),
        bodies.cylinder((0.0, 0.0, -1.0), up, inner, nest.collar + 2.0),
        bodies.box((-outer - 20.0, -SLIT / 2, -1.0), (-inner + 2.0, SLIT / 2, nest.collar + 1.0)),
        bodies.cylinder((-outer - 5.0, -20.0, nest.collar / 2), (0.0, 1.0, 0.0), hole / 2, 40.0),
        bodies.minus(
            line, bodies.box((0.0, -KEY / 2, 0.0), (inner + KEY_OUT, KEY / 2, nest.collar + KEY_LONG))
        ),
    )


def _nest(m: Manifold, sheet: MillSheet, collector: Collector) -> PrintedPart:
    nest, held = laid_out(m, sheet, collector), in_nest(sheet)
    mark = f"{prefix(len(m.collectors), collector.name)} {fixed(sheet.tilt)}"
    by_hand = [i.piece for i in sheet.inlets if i not in held]
    cautions = [
        "Plastic: it holds the angle, the mill's own clamps hold the tube. Light passes, no heat.",
        "Stop the spindle before measuring or turning the tube.",
    ]
    if by_hand:
        cautions.append(
            f"Too short behind the bend for this nest: {', '.join(by_hand)}. Cut by hand along the template."
        )
    two = (
        f"then with its key in the other slot (turn {fixed(2 * sheet.roll)}°) and mill again"
        if sheet.roll > 0
        else "one cut"
    )
    told = Told(
        "nest",
        nest_words(m, collector)[0],
        mark,
        f"Holds the inlets {', '.join(i.piece for i in held)} at {fixed(sheet.tilt)}° on the mill: each cut between neighbours lies level.",
        f"Clamp it by its ears, low end away from the end mill. Tube in the bore, collar's key in one slot, clamped down; mill to"
        f" {fixed(nest.height)} mm over the table; {two}.",
        tuple(cautions),
    )
    return printed(m, nest_solid(m, nest, mark), told, BENCH)


def _collar(m: Manifold, sheet: MillSheet, collector: Collector) -> PrintedPart:
    nest, code = laid_out(m, sheet, collector), prefix(len(m.collectors), collector.name)
    ring = leg_length(collector)
    settings = [
        f"{i.piece} {i.flat - ring + nest.from_ring + i.extra:.1f}"
        + ("" if i.datum.square else " (from its bend)")
        for i in in_nest(sheet)
    ]
    told = Told(
        "nest",
        nest_words(m, collector)[1],
        code,
        f"Index collar for the mill nest {code}: its key on the tube's back line, the one farthest from the collector's axis.",
        "Key towards the nest, on the scribed back line, M4 screw tight. From the blank's sawn end to the collar's face with"
        f" the key, mm: {', '.join(settings)}. The blanks of the cut list are long enough for it.",
        (COLD,),
    )
    return printed(m, collar_solid(m, nest, code), told, BENCH)


def _cross(a: Array, b: Array) -> Array:
    return array((a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]))
