"""How numbers are worded: lengths and angles to 0.1, sizes as the catalogue has them, a value apart from its limit.

Zero is never negative.  No unit is added: it stands beside the number or in the head of its column.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

MOST = 6  # decimals that are tried to tell two numbers apart

_MANY = {"branch": "branches"}  # where an s is not enough


def fixed(value: float, decimals: int = 1) -> str:
    """A number to so many decimals: ``12.0``."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}"


def signed(value: float) -> str:
    """A move or an error to 0.1 with its sign, ``+12.0``; nothing is ``0.0``."""
    text = fixed(value)
    return text if float(text) <= 0.0 else f"+{text}"


def size(mm: float) -> str:
    """A size that is bought or drilled, as the catalogue has it: ``38``, ``42.4``, ``57.15``."""
    return fixed(mm, 2).rstrip("0").rstrip(".")


def sizes(*mm: float) -> str:
    """Outside diameter and wall, or the sides of a plate: ``42.4 x 2``."""
    return " x ".join(size(v) for v in mm)


def counted(number: int, word: str) -> str:
    """A number of things: ``1 branch``, ``2 branches``, ``no joints``."""
    return f"{number or 'no'} {word if number == 1 else _MANY.get(word, word + 's')}"


def place(at: Iterable[float]) -> str:
    """A point or a vector in mm: ``113.7, 159.5, 224.9``."""
    return ", ".join(fixed(float(v)) for v in at)


def compass(degrees: float) -> str:
    """An angle once round, 0.0 to 359.9."""
    return fixed(round(degrees % 360.0, 1) % 360.0)


def turn(degrees: float) -> str:
    """An angle the short way round, -179.9 to 180.0."""
    short = round((degrees + 180.0) % 360.0 - 180.0, 1)
    return fixed(180.0 if short == -180.0 else short)


def some(value: float) -> str:
    """A number to 0.1, or to its first digit where that would read 0.0: ``3.2``, ``0.04``."""
    for decimals in range(1, MOST):
        if abs(value) < 10.0**-MOST or float(fixed(value, decimals)):
            return fixed(value, decimals)
    return fixed(value, MOST)


@dataclass(frozen=True)
class Compared:
    """Two numbers that are held against each other, and what lies between them, in as many digits as tell them apart."""

    value: str
    limit: str
    apart: str


def compared(value: float, limit: float, least: int = 1) -> Compared:
    """A value and its limit, to 0.1, or to as many digits as it takes before they read differently.

    least : decimals to begin with.
    """
    decimals = least
    if math.isfinite(value) and abs(value - limit) >= 10.0**-MOST:
        while decimals < MOST and (
            fixed(value, decimals) == fixed(limit, decimals) or not float(fixed(value - limit, decimals))
        ):
            decimals += 1
    return Compared(fixed(value, decimals), fixed(limit, decimals), fixed(abs(value - limit), decimals))
