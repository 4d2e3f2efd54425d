"""What a bend or a straight can be cut from, and what an item costs."""

from __future__ import annotations

from collections.abc import Iterable

from manifoldgen.manifold.model import RunKind, Section, StockItem

SAME_CLR = 0.05  # mm
SAME_ANGLE = 0.01  # degrees


def arcs(stock: Iterable[StockItem], tube: RunKind) -> tuple[StockItem, ...]:
    """The elbows and bends for this tube."""
    return tuple(i for i in stock if i.tube == tube and i.kind != "straight")


def bars(stock: Iterable[StockItem], tube: RunKind, section: Section, share: float) -> tuple[StockItem, ...]:
    """The straight stock for this tube; share : as in `fits`."""
    return tuple(i for i in stock if i.tube == tube and i.kind == "straight" and fits(i, section, share))


def step(item: StockItem, section: Section) -> float:
    """The greater of the outside and the inside step where the item meets the tube, mm."""
    outside = abs(item.od - section.od) / 2
    inside = abs((item.od / 2 - item.wall) - section.bore_radius)
    return max(outside, inside)


def fits(item: StockItem, section: Section, share: float) -> bool:
    """Whether the item can be welded to the tube.  share : of the thinner wall that they may step."""
    return step(item, section) <= share * min(item.wall, section.wall) + 1e-9


def with_clr(items: Iterable[StockItem], clr: float) -> tuple[StockItem, ...]:
    """The items of this centreline radius."""
    return tuple(i for i in items if abs(i.clr - clr) <= SAME_CLR)


def reckoned_price(item: StockItem, stock: Iterable[StockItem]) -> float:
    """What an item counts in the choice: its price, or what the dearest like it costs by degree or by mm.

    Where none like it has a price, an elbow counts 1 for 90° and a bar 0.1 a metre.
    """
    if item.price is not None:
        return item.price
    straight = item.kind == "straight"

    def size(i: StockItem) -> float:
        return i.length / 1000 if straight else i.angle / 90

    like = [i for i in stock if i.tube == item.tube and (i.kind == "straight") == straight]
    dearest = max((i.price / size(i) for i in like if i.price), default=0.1 if straight else 1.0)
    return dearest * size(item)
