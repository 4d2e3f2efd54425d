"""Small pictures of numbers: lengths against the bound, gaps against what is asked, torch reach around each weld."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from manifoldgen.reports.shown import against, percent, shown
from manifoldgen.wording import compass

Content = Mapping[str, Any]
MOST_GAPS = 18  # the tightest that are drawn; the table has them all
DIAL = 20.0  # radius of a weld's dial, in its own units


@dataclass(frozen=True)
class PlotBar:
    """One bar: widths in percent of the plot.  tick : where the asked value stands, None without one."""

    go: str
    name: str
    text: str
    key: str
    width: float
    tick: float | None = None
    bad: bool = False


@dataclass(frozen=True)
class Bars:
    """Bars with a common scale.  line, line_text, line_key : a value all are held against."""

    bars: tuple[PlotBar, ...]
    line: float | None = None
    line_text: str = ""
    line_key: str = ""


def lengths(content: Content) -> Bars | None:
    """Runner lengths from nothing to the longest, the bound as a line where it is known."""
    runners = content.get("runners", {})
    if not runners:
        return None
    bound = content.get("length", {}).get("lower_bound_mm")
    top = 1.05 * max([r["length_mm"] for r in runners.values()] + ([bound] if bound else []))
    bars = tuple(
        PlotBar(f"runner:{n}", f"runner {n}", f"{shown(r['length_mm'])} mm", f"runners.{n}.length_mm", 100 * r["length_mm"] / top)
        for n, r in runners.items()
    )  # fmt: skip
    if not bound:
        return Bars(bars)
    return Bars(bars, 100 * bound / top, f"no shorter than {shown(bound)} mm", "length.lower_bound_mm")


def gaps(content: Content) -> Bars | None:
    """The tightest gaps, tightest against what is asked first, each with a tick where the asked gap stands."""
    rows = sorted(enumerate(content.get("gaps", [])), key=lambda kg: kg[1]["gap_mm"] - kg[1]["asked_mm"])
    rows = rows[:MOST_GAPS]
    if not rows:
        return None
    top = 1.1 * max(max(g["asked_mm"] for _, g in rows) * 2, 1.0)
    bars = tuple(
        PlotBar(
            f"gap:{k}",
            g["a"] if g["a"] == g["b"] else f"{g['a']} – {g['b']}",
            "{0.value} of {0.limit} mm".format(against(g["gap_mm"], g["asked_mm"], short=_short(g))),
            f"gaps.{k}.gap_mm",
            min(max(100 * g["gap_mm"] / top, 0.0), 100.0),
            100 * g["asked_mm"] / top,
            _short(g),
        )
        for k, g in rows
    )
    return Bars(bars)


@dataclass(frozen=True)
class Dial:
    """One weld round the clock: paths of its blocked stretches, clockwise from 12 o'clock where its curve begins.

    A seam is drawn as the same ring cut open at the bottom.
    """

    go: str
    name: str
    text: str
    ring: str
    blocked: tuple[str, ...]
    said: str


def dials(content: Content) -> tuple[Dial, ...]:
    """A dial for every weld whose reach is known by stretches."""
    made = []
    for w in content.get("welds", []):
        if "blocked_at" not in w:
            continue
        closed = w["unit"] == "deg"
        whole = 360.0 if closed else max([end for _, end in w["blocked_at"]] + [1.0])
        if not closed and w["reach"] < 1.0:  # the seam's length follows from its share that is blocked
            out = sum(end - start for start, end in w["blocked_at"])
            whole = max(whole, out / (1.0 - w["reach"]))
        span, first = (360.0, 0.0) if closed else (270.0, -135.0)
        arcs = tuple(_arc(first + span * a / whole, first + span * b / whole) for a, b in w["blocked_at"])
        unit = "°" if closed else " mm"
        told = compass if closed and w["reach"] > 0.0 else shown
        spans = ", ".join(f"{told(a)} to {told(b)}{unit}" for a, b in w["blocked_at"])
        said = f"{w['id']}: {percent(w['reach'])} reached" + (f", blocked {spans}" if spans else "")
        made.append(
            Dial(f"weld:{w['id']}", w["id"], percent(w["reach"]), _arc(first, first + span), arcs, said)
        )
    return tuple(made)


def _short(gap: Mapping[str, Any]) -> bool:
    return bool(gap["gap_mm"] < gap["asked_mm"] - 1e-3)


def _arc(start: float, end: float) -> str:
    """Path of a stretch of the dial, degrees clockwise from the top, in steps of at most a third of a turn."""
    steps = max(1, math.ceil((end - start) / 120.0))
    turns = [math.radians(start + (end - start) * k / steps) for k in range(steps + 1)]
    points = [f"{DIAL * math.sin(a):.2f} {-DIAL * math.cos(a):.2f}" for a in turns]
    return f"M{points[0]}" + "".join(f"A{DIAL:g} {DIAL:g} 0 0 1 {p}" for p in points[1:])
