"""What a thread is called, and what its name says.

    M8   M10x1.25   3/8-16 UNC        the one way a thread is written in every list
    M10             3/8               its size, under which nuts, heads, washers and holes are tabled

Other ways to write it (``m10 X 1.25``, ``M8x1.25``, ``3/8"-16``, ``3/8-16unc``, ``3/8 UNC``) are read as the same.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

INCH = 25.4
_METRIC = re.compile(r"[Mm]\s*(\d+(?:\.\d+)?)(?:\s*[xX×*-]\s*(\d+(?:\.\d+)?))?")
_UNIFIED = re.compile(r"(\d+)\s*/\s*(\d+)\s*(?:in|\"|″)?\s*(?:-\s*(\d+))?\s*-?\s*(UN[A-Z]*)?", re.IGNORECASE)


@dataclass(frozen=True)
class Called:
    """What a name says.  size : ``M10``, ``3/8``.  pitch, series : None and empty where it does not say them."""

    name: str
    size: str
    diameter: float
    pitch: float | None
    series: str

    def may_be(self, other: Called) -> bool:
        """Whether nothing that this name says is otherwise in the other."""
        same_pitch = None in {self.pitch, other.pitch} or math.isclose(self.pitch or 0, other.pitch or 0)
        same_series = self.series == other.series or "" in {self.series, other.series}
        return self.size == other.size and same_pitch and same_series


def called(text: str) -> Called | None:
    """What a thread's name says; None for one that is written in neither way.

    A size alone (``3/8``) has no pitch and no series.
    """
    text = text.strip()
    if found := _METRIC.fullmatch(text):
        size, pitch = f"M{float(found[1]):g}", float(found[2]) if found[2] else None
        return Called(size + (f"x{pitch:g}" if pitch else ""), size, float(found[1]), pitch, "")
    found = _UNIFIED.fullmatch(text)
    if found is None or not int(found[2]) or found[3] == "0":
        return None
    top, bottom, per_inch = int(found[1]), int(found[2]), found[3]
    size, series = f"{top}/{bottom}", (found[4] or "").upper()
    name = size + (f"-{int(per_inch)}" if per_inch else "") + (f" {series}" if series else "")
    return Called(name, size, INCH * top / bottom, INCH / int(per_inch) if per_inch else None, series)


def named(text: str, known: Iterable[Called]) -> str:
    """The name in `known` that means the same thread, else the tidied text.

    Only a metric size alone is a thread (the coarse one, which is `known` by it); ``3/8`` might be either of two.
    """
    it = called(text)
    if it is None:
        return text.strip()
    if it.pitch is None and not it.series:
        return it.name
    alike = [k for k in known if it.may_be(k)]
    return alike[0].name if len(alike) == 1 else it.name
