"""The collector on paper: one sheet for the mill, one with its section and the order of its seams."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from manifoldgen.drawing.collector_section import section
from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import Anchor
from manifoldgen.drawing.mill_picture import set_up
from manifoldgen.drawing.paper import Draft, paper
from manifoldgen.drawing.sheets.flow import GAP, SIZE, Flow, filled
from manifoldgen.drawing.table import TICK, Column
from manifoldgen.manifold.model import Collector, Manifold
from manifoldgen.shop.cautions import caution
from manifoldgen.shop.mill import MillInlet, MillSheet
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.wording import fixed, signed, sizes

RIGHT: Anchor = "right"
_CELL = 15.0  # mm, a piece's column
_SIZES = (SIZE, 2.15, 2.0, 1.9)  # mm, capitals: the largest that keep a sheet to one page
_TALL = 105.0  # mm the section may be high


def mill_drafts(shop: ShopPlan) -> tuple[Draft, ...]:
    """The mill sheet and the collector sheet of every collector, on the shop's paper."""
    m = shop.manifold
    made: list[Draft] = []
    for c, sheet in zip(m.collectors, shop.mill, strict=True):
        if sheet.inlets:
            made += _mill(m, sheet)
        made += _collector(m, c, sheet)
    return tuple(made)


def _mill(m: Manifold, sheet: MillSheet) -> tuple[Draft, ...]:
    cut = "on the mill" if sheet.kind == "merge" else "at the saw"
    title = f"{sheet.name.capitalize()}: inlets {cut}"
    return filled(title, paper(m.workshop.paper), partial(_fill_mill, sheet), _SIZES)


def _fill_mill(sheet: MillSheet, flow: Flow) -> None:
    if sheet.kind == "merge":
        picture = set_up(sheet, sheet.inlets[0], flow.room.width)
        flow.put(picture, -extent(picture).low)
        flow.table(_HEADS, _common(sheet))
    for number, said in enumerate(steps(sheet), start=1):
        flow.words(f"{number}.  {said}", gap=0.8)
    flow.y -= GAP
    flow.heading("Each inlet: mm along the tube from the line of the joint named")
    flow.table(*_inlets(sheet))
    for i in sheet.inlets:
        if not i.datum.square and i.clamp < sheet.grip:
            flow.words(_BEHIND_A_BEND.format(i.piece, i.clamp, sheet.grip), bold=True)
    if sheet.kind == "merge":
        flow.words(f"Other ways: {alternatives(sheet)}")
    flow.words(" ".join(("Caution.", *sheet.cautions)), bold=True)


_BEHIND_A_BEND = (
    "{}: only {:.0f} mm of straight behind its bend, {:.0f} mm wanted to clamp on: hold the bend in a nest, or cut by hand "
    "along the template."
)
_HEADS = (
    Column("tilt of the tube", RIGHT),
    Column("inside line off the top", RIGHT),
    Column("turn between the cuts", RIGHT),
    Column("flat cut from square", RIGHT),
    Column("tube", RIGHT),
    Column("inlets", RIGHT),
    Column("half angle", RIGHT),
)


def _common(s: MillSheet) -> list[list[str]]:
    roll = f"{fixed(s.roll)}° each side" if s.roll else "0.0° (one cut)"
    return [
        [
            f"{fixed(s.tilt)}°",
            roll,
            f"{fixed(s.turn)}°",
            f"{fixed(s.flat_cut)}°",
            f"{sizes(s.section.od, s.section.wall)} mm",
            f"{s.count}",
            f"{fixed(s.half_angle)}°",
        ]
    ]


def steps(s: MillSheet) -> tuple[str, ...]:
    """How one inlet is cut, step by step."""
    lines = (
        "Saw the blank square. Scribe the back line along the whole tube: it comes to lie farthest from the collector's "
        "axis. Scribe the inside line opposite and the joint's line round it. Mark the bend before it by its angle from the back line."
    )
    flat = (
        f"Saw the flat cut {fixed(s.flat_cut)}° from square through the mark on the back line, the tube shortest there. Deburr; "
        "saw off the grip allowance."
    )
    if s.kind == "bundle":
        return lines, flat
    down = (
        f"Touch off on the highest point of the end, then mill down by the depth from touch-off in passes of {s.pass_depth:g} mm: the cut "
        "runs out at the scallop mark."
    )
    if not s.roll:
        return lines, _clamp(s), f"Inside line on top. {down}", flat
    return (
        lines,
        _clamp(s),
        f"1st cut, seen at the cut end: inside line {fixed(s.roll)}° left of the top. {down}",
        f"2nd cut: turn the tube clockwise by {fixed(s.turn)}°, the inside line now {fixed(s.roll)}° right of the top. Same height, same cut.",
        flat,
    )


def _clamp(s: MillSheet) -> str:
    return (
        f"Clamp in V-blocks on {s.grip:.0f} mm at the square end, cut end up by {fixed(s.tilt)}° (gauge on the tube), a plug inside. The "
        "end mill's plane is level."
    )


def alternatives(s: MillSheet) -> str:
    """The same cuts made another way."""
    return (
        f"rotary table: tube on an angle plate at {fixed(s.half_angle)}° to the table's axis, both axes meeting at the apex; cut upright "
        f"through the table's axis at {fixed(s.half_step)}° to either side. Wedge nest: a block bored at {fixed(s.tilt)}° to its base with "
        f"key slots {fixed(s.roll)}° either side of the top for a key on the inside line; both cuts lie parallel to the base."
    )


def _inlets(s: MillSheet) -> tuple[list[Column], list[list[str]]]:
    """One column a piece, one row a number."""
    heads = [Column(""), *(Column(i.piece, RIGHT, _CELL) for i in s.inlets)]
    merge = s.kind == "merge"
    rows = [
        _row(s, "from", lambda i: i.datum.joint or i.datum.name),
        _row(s, "blank, sawn square", lambda i: fixed(i.blank)),
        _row(s, "before the joint line: grip allowance, shrink and trim", lambda i: fixed(i.extra)),
        _row(
            s,
            "of that left on for shrink and trim; the grip allowance is sawn off",
            lambda i: fixed(i.left_on),
        ),
    ]
    if merge:
        rows += [
            _row(s, "scallop's bottom, where each cut runs out", lambda i: fixed(i.scallop)),
            _row(s, "centre point, on the inside line", lambda i: fixed(i.star)),
            _row(s, "both planes cross the centreline, beyond the tube", lambda i: fixed(i.apex)),
            _row(s, "depth from touch-off", lambda i: fixed(i.infeed)),
        ]
    rows += [
        _row(s, "flat cut on the back line", lambda i: fixed(i.back)),
        _row(s, "flat cut on the centreline", lambda i: fixed(i.flat)),
        _row(s, "longest point", lambda i: fixed(i.longest)),
        _row(s, "straight to clamp on, without what is added", lambda i: fixed(i.clamp)),
    ]
    if merge and s.roll:
        rows += [
            _row(s, "1st cut: outer valley", lambda i: i.right or "-"),
            _row(s, "2nd cut: outer valley", lambda i: i.left or "-"),
        ]
    rows += [
        _row(
            s,
            "back of the bend before: ° from the back line, + anticlockwise at the cut end",
            lambda i: _clock(i.bend_at, 1.0),
        ),
        _row(
            s, "the same in mm around the tube", lambda i: _clock(i.bend_at, math.pi * s.section.od / 360.0)
        ),
    ]
    return heads, rows


def _row(s: MillSheet, name: str, cell: Callable[[MillInlet], str]) -> list[str]:
    return [name, *(cell(i) for i in s.inlets)]


def _inner(s: MillSheet) -> list[list[str]]:
    """Inner seams in rows; those of the same numbers share one."""
    rows: dict[tuple[str, ...], list[str]] = {}
    for i in s.inner:
        reach = "not measured" if i.reachable is None else f"{fixed(i.reachable)} mm"
        rows.setdefault((f"{fixed(i.length)} mm", f"{fixed(i.depth)} mm", reach), []).append(i.joint)
    return [[", ".join(joints), *numbers] for numbers, joints in rows.items()]


def _clock(angle: float | None, scale: float) -> str:
    """An angle from the back line the short way round, in degrees times `scale`."""
    if angle is None:
        return "-"
    return signed(((angle + 180.0) % 360.0 - 180.0) * scale)


def _collector(m: Manifold, c: Collector, sheet: MillSheet) -> tuple[Draft, ...]:
    title = f"{sheet.name.capitalize()}: section, seams"
    return filled(title, paper(m.workshop.paper), partial(_fill_section, m, c, sheet), _SIZES)


def _fill_section(m: Manifold, c: Collector, sheet: MillSheet, flow: Flow) -> None:
    picture = section(c, flow.room.width, _TALL * flow.size / SIZE)
    flow.put(picture, -extent(picture).low)
    flow.table(
        [
            "inlet circle",
            "gap of the inlets",
            "opening at the flat cut",
            "centre point below the flat cut",
            "deepest seam below it",
        ],
        [
            [
                f"{fixed(2 * c.ring_radius)} mm",
                f"{fixed(c.true_gap)} mm",
                f"{fixed(sheet.opening)} mm" if sheet.kind == "merge" else "-",
                f"{fixed(sheet.star_depth)} mm" if sheet.star_depth else "-",
                f"{fixed(sheet.scallop_depth)} mm" if sheet.scallop_depth else "-",
            ]
        ],
    )
    if sheet.deep:
        flow.words(
            "The centre point lies deeper than the opening is wide: hard to see and to reach. A larger outlet or half angle helps.",
            bold=True,
        )
    flow.heading("Order of the seams (by judgement; joints in the order of welding)")
    rows = [[f"{k}", s.text, ", ".join(s.joints) or "-", TICK] for k, s in enumerate(sheet.steps, start=1)]
    flow.table(
        [Column("", RIGHT, 8.0), "what", Column("joints", width=52.0), Column("done", width=12.0)], rows
    )
    flow.words(caution(m.tables, "weld", "penetrant"), 1.9, bold=True)
    if sheet.inner:
        flow.heading("Inner seams: from the centre point to the scallop, reached from the outlet end")
        flow.table(
            [
                "joint",
                Column("length", RIGHT),
                Column("far end below the flat cut", RIGHT),
                Column("torch reaches", RIGHT),
            ],
            _inner(sheet),
        )
        flow.words(
            "What the torch does not reach is left to the root of the outer seam, or closed in the middle with a small pointed plug."
        )
