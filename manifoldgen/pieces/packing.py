"""Bars: lengths packed into as few equal bars as they go."""

from __future__ import annotations

from collections.abc import Sequence

STEPS = 20000  # of the search, after which the lengths count as not fitting


def packed(lengths: Sequence[float], room: float, bars: int) -> list[list[int]] | None:
    """Which length goes into which bar, by number; None where they do not go into `bars` bars of `room` mm.

    Longest first into the first bar that takes it; where that needs more bars, every way is tried.
    """
    order = sorted(range(len(lengths)), key=lambda k: (-lengths[k], k))
    first = _first_fit(order, lengths, room)
    if len(first) <= bars:
        return first
    search = _Search(order, lengths, room, bars)
    return search.loads if search.place() else None


def _first_fit(order: Sequence[int], lengths: Sequence[float], room: float) -> list[list[int]]:
    loads: list[list[int]] = []
    rest: list[float] = []
    for k in order:
        b = next((b for b, r in enumerate(rest) if r >= lengths[k] - 1e-9), None)
        if b is None:
            loads.append([])
            rest.append(room)
            b = len(loads) - 1
        loads[b].append(k)
        rest[b] -= lengths[k]
    return loads


class _Search:
    """Every way to put the lengths, longest first, into bars; bars with the same room left are the same."""

    def __init__(self, order: Sequence[int], lengths: Sequence[float], room: float, bars: int) -> None:
        self.order, self.lengths = order, lengths
        self.rest = [room] * bars
        self.loads: list[list[int]] = [[] for _ in range(bars)]
        self.steps = STEPS

    def place(self, n: int = 0) -> bool:
        """Whether the lengths from the n-th on find room."""
        if n == len(self.order):
            return True
        self.steps -= 1
        length = self.lengths[self.order[n]]
        tried: set[float] = set()
        for b, room in enumerate(self.rest):
            if self.steps < 0 or room < length - 1e-9 or round(room, 6) in tried:
                continue
            tried.add(round(room, 6))
            self.loads[b].append(self.order[n])
            self.rest[b] -= length
            if self.place(n + 1):
                return True
            self.loads[b].pop()
            self.rest[b] += length
        return False
