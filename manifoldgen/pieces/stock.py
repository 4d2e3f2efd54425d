"""Which stock item a bend or a straight is cut from."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from manifoldgen.manifold.model import RunKind, Section, StockItem

SAME_CLR = 0.05  # mm
SAME_ANGLE = 0.01  # degrees
STEP_SHARE = 0.25  # of the thinner wall; common practice, no source: what a butt weld may step


@dataclass(frozen=True)
class ArcPart:
    """A bend, or one of the equal parts it is cut into: degrees, and the item it comes from."""

    angle: float
    item: StockItem | None


def arcs(stock: Iterable[StockItem], tube: RunKind) -> tuple[StockItem, ...]:
    """The elbows and bends for this tube."""
    return tuple(i for i in stock if i.tube == tube and i.kind != "straight")


def step(item: StockItem, section: Section) -> float:
    """The greater of the outside and the inside step where the item meets the tube, mm."""
    outside = abs(item.od - section.od) / 2
    inside = abs((item.od / 2 - item.wall) - section.bore_radius)
    return max(outside, inside)


def fits(item: StockItem, section: Section) -> bool:
    """Whether the item can be welded to the tube: a step of at most a quarter of the thinner wall."""
    return step(item, section) <= STEP_SHARE * min(item.wall, section.wall) + 1e-9


def with_clr(items: Iterable[StockItem], clr: float) -> tuple[StockItem, ...]:
    """The items of this centreline radius."""
    return tuple(i for i in items if abs(i.clr - clr) <= SAME_CLR)


def arc_parts(items: Sequence[StockItem], angle: float) -> tuple[ArcPart, ...]:
    """How a bend of `angle` degrees is had from items of its radius.

    The smallest elbow it can be cut from (the cheaper of equals); a bend larger than any elbow becomes
    equal parts. An elbow that can only be used whole serves for exactly its angle, where nothing else
    does. A bend that cannot be had is one part without an item.
    """
    plain = [i for i in items if not i.whole]
    if not plain:
        return (ArcPart(angle, next((i for i in items if abs(i.angle - angle) <= SAME_ANGLE), None)),)
    count = max(1, math.ceil(angle / max(i.angle for i in plain) - 1e-9))
    share = angle / count
    enough = [i for i in plain if i.angle >= share - SAME_ANGLE]
    item = min(enough, key=lambda i: (i.angle, math.inf if i.price is None else i.price))
    return (ArcPart(share, item),) * count


def bar(stock: Iterable[StockItem], tube: RunKind, section: Section, length: float) -> StockItem | None:
    """The shortest straight stock that gives `length` mm of this tube."""
    bars = [
        i
        for i in stock
        if i.kind == "straight" and i.tube == tube and fits(i, section) and i.length >= length
    ]
    return min(bars, key=lambda i: i.length, default=None)
