"""Every way to cut a small job, tried one by one: the judge of the optimiser. Shares no code with it.

A runner is a list of ("S", mm) and ("B", degrees). Lengths are net; allowances are nought but kerf and truing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

KERF = 1.2 + 2 * 0.3  # mm between two pieces: saw and the truing of both faces
SHELF = 20.0  # degrees of offcut that count half


@dataclass(frozen=True)
class Elbow:
    """An elbow or bend of the judge's own."""

    angle: float
    clr: float
    legs: tuple[float, float]
    price: float


@dataclass(frozen=True)
class Bent:
    """A bent piece: degrees, the straights it takes."""

    angle: float
    a: float
    b: float


def ways_to_divide(angle: float, most: float) -> list[tuple[float, ...]]:
    """A bend whole, or in equal parts, or in the largest elbow's angle and the rest."""
    count = math.ceil(angle / most - 1e-9)
    ways = {(angle / count,) * count}
    rest = angle - most * (count - 1)
    if count > 1 and rest >= 8.0:
        ways |= {(most,) * (count - 1) + (rest,), (rest,) + (most,) * (count - 1)}
    return sorted(ways)


def ways_to_share(length: float, left: bool, right: bool, legs: list[float]) -> list[tuple[float, float]]:
    """What the bend before and the bend after take of a straight; all, none, or both with one weld between."""
    ways = {(0.0, 0.0)} | ({(length, 0.0)} if left else set()) | ({(0.0, length)} if right else set())
    if left and right:
        for x in {length / 2, *legs, *(length - leg for leg in legs)}:
            if 3 <= x <= length - 3:
                ways.add((x, length - x))
    return sorted(ways)


def ways_to_cut(
    runner: list[tuple[str, float]], elbows: list[Elbow]
) -> Iterator[tuple[list[Bent], list[float]]]:
    """Bent pieces and straight lengths of every way to cut one runner."""
    bends = [k for k, (kind, _) in enumerate(runner) if kind == "B"]
    straights = [k for k, (kind, _) in enumerate(runner) if kind == "S"]
    divided = [ways_to_divide(runner[k][1], max(e.angle for e in elbows)) for k in bends]
    legs = [leg for e in elbows for leg in e.legs]
    shared = [ways_to_share(runner[k][1], k - 1 in bends, k + 1 in bends, legs) for k in straights]
    for parts in product(*divided):
        for takes in product(*shared):
            share = dict(zip(straights, takes, strict=True))
            bars = [runner[k][1] for k in straights if sum(share[k]) == 0]
            bent = []
            for k, angles in zip(bends, parts, strict=True):
                a, b = share.get(k - 1, (0, 0))[1], share.get(k + 1, (0, 0))[0]
                last = len(angles) - 1
                bent += [Bent(t, a if i == 0 else 0, b if i == last else 0) for i, t in enumerate(angles)]
            yield bent, bars


def from_one(elbow: Elbow, group: list[Bent], od: float) -> float | None:
    """Waste in mm of centreline where these pieces come out of one elbow; None where they do not."""
    used = sum(p.a + p.b for p in group)
    legs_left = sum(elbow.legs) - used
    exact = abs(group[0].angle - elbow.angle) <= 0.01
    if len(group) == 1 and exact:
        for first, last in (elbow.legs, elbow.legs[::-1]):
            if group[0].a <= first and group[0].b <= last:
                return legs_left
        return None
    if any((p.a and p.b) or abs(p.angle - elbow.angle) <= 0.01 for p in group):
        return None
    wanted = sorted((max(p.a, p.b) for p in group if p.a or p.b), reverse=True)
    if len(wanted) > 2 or any(
        w > leg for w, leg in zip(wanted, sorted(elbow.legs, reverse=True), strict=False)
    ):
        return None
    eaten = math.degrees(math.asin(KERF / (elbow.clr - od / 2)))
    left = elbow.angle - sum(p.angle for p in group) - (len(group) - 1) * eaten
    if left < -1e-9:
        return None
    arc = math.radians(max(left, 0.0)) * elbow.clr
    return (arc / 2 if left >= SHELF else arc) + legs_left


def partitions(items: list[int], most: int) -> Iterator[list[list[int]]]:
    """Every way to put the items into groups of at most `most`."""
    if not items:
        yield []
        return
    head, *tail = items
    for rest in partitions(tail, most):
        yield [[head], *rest]
        for k, group in enumerate(rest):
            if len(group) < most:
                yield [*rest[:k], [head, *group], *rest[k + 1 :]]


def fewest_bars(lengths: list[float], bar: float) -> int:
    """The fewest bars, by trying every partition."""
    ways = (
        len(groups)
        for groups in partitions(list(range(len(lengths))), len(lengths) or 1)
        if all(sum(lengths[k] + KERF for k in group) <= bar for group in groups)
    )
    return min(ways, default=0)


def best(
    runners: list[list[tuple[str, float]]], elbows: list[Elbow], bar: tuple[float, float], od: float
) -> tuple[int, float, float]:
    """Fewest pieces, then least cost, then least waste, over every way; bar : length and price."""
    found = (10**6, math.inf, math.inf)
    cheapest: dict[tuple[Bent, ...], tuple[float, float] | None] = {}
    for job in product(*(list(ways_to_cut(r, elbows)) for r in runners)):
        bent = sorted((p for one, _ in job for p in one), key=lambda p: (p.angle, p.a, p.b))
        bars = [s for _, one in job for s in one]
        count = len(bent) + len(bars)
        if count > found[0]:
            continue
        key = tuple(bent)
        if key not in cheapest:
            cheapest[key] = _cheapest(bent, elbows, od)
        elbow_cost = cheapest[key]
        if elbow_cost is None:
            continue
        cost = elbow_cost[0] + fewest_bars(bars, bar[0]) * bar[1]
        found = min(found, (count, round(cost, 6), round(elbow_cost[1], 4)))
    return found


def _cheapest(bent: list[Bent], elbows: list[Elbow], od: float) -> tuple[float, float] | None:
    """Least cost, then least waste, of elbows for these pieces, three of one at most."""
    best_one: tuple[float, float] | None = None
    for groups in partitions(list(range(len(bent))), 3):
        cost = waste = 0.0
        for group in groups:
            ways = [
                (e.price, w) for e in elbows if (w := from_one(e, [bent[k] for k in group], od)) is not None
            ]
            if not ways:
                break
            price, w = min(ways)
            cost, waste = cost + price, waste + w
        else:
            if best_one is None or (round(cost, 6), round(waste, 4)) < best_one:
                best_one = (round(cost, 6), round(waste, 4))
    return best_one
