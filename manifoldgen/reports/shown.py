"""Numbers as people read them on the page: one decimal, the unit beside it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from manifoldgen.wording import Compared, compared, fixed, size

NOTHING = "–"
_UNITS = {
    "mm": "mm",
    "mm3": "mm³",
    "mm2": "mm²",
    "deg": "°",
    "kg": "kg",
    "pct": "%",
    "s": "s",
    "kpa": "kPa",
    "cc": "cm³",
    "k": "K",
    "mpa": "MPa",
}
_FULL = {"mm3": 0}  # decimals where one is too many
_SIZES = {"od_mm", "wall_mm", "clr_mm", "clrs"}


def shown(value: object, decimals: int = 1) -> str:
    """A value as the page writes it: numbers to `decimals` places, yes and no, – for what does not apply."""
    if value is None:
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        if not math.isfinite(value):
            return NOTHING
        return fixed(value, decimals)
    return str(value)


def under(key: str, value: object) -> str:
    """What stands under a report key: sizes that are bought as the catalogue has them, all else to 0.1."""
    if isinstance(value, float) and key.rpartition(".")[2] in _SIZES:
        return size(value)
    return shown(value, decimals_of(key))


def against(value: float, limit: float, *, short: bool) -> Compared:
    """A value and what is asked, to 0.1; where it is short, in as many digits as show it."""
    return compared(value, limit) if short else Compared(shown(value), shown(limit), "")


def finding_numbers(finding: Mapping[str, Any]) -> tuple[str, str]:
    """Value and limit of a finding, so that they read differently; empty where it has none."""
    value, limit = finding["value"], finding["limit"]
    if value is not None and limit is not None:
        told = compared(value, limit)
        return told.value, told.limit
    return "" if value is None else shown(value), "" if limit is None else shown(limit)


def unit_of(finding: Mapping[str, Any]) -> str:
    """A finding's unit as it stands behind its numbers: `` mm``, ``°``; empty where it has none."""
    unit = finding["unit"]
    return "°" if unit == "deg" else f" {unit}" if unit else ""


def percent(share: object) -> str:
    """A share of 1 as a percentage."""
    return shown(100.0 * share) + " %" if isinstance(share, int | float) else NOTHING


def worded(key: str) -> tuple[str, str]:
    """A report key in words, and its unit: ``ring_length_mm`` is ring length in mm."""
    stem, _, last = key.rpartition("_")
    if stem and last in _UNITS:
        return stem.replace("_", " "), _UNITS[last]
    return key.replace("_", " "), ""


def leaves(key: str, value: object) -> Iterator[tuple[str, object]]:
    """Every single value under a report key with its full key, lists of plain values as one."""
    if isinstance(value, Mapping):
        for inner, part in value.items():
            yield from leaves(f"{key}.{inner}", part)
    elif isinstance(value, list | tuple) and any(isinstance(v, Mapping | list | tuple) for v in value):
        for number, part in enumerate(value):
            yield from leaves(f"{key}.{number}", part)
    else:
        yield key, value


def value_at(content: Mapping[str, Any], key: str) -> Any:  # noqa: ANN401 - whatever the report holds there
    """The report's value behind a full key: ``runners.1.length_mm``."""
    found: Any = content
    for step in key.split("."):
        found = found[int(step)] if isinstance(found, list | tuple) else found[step]
    return found


def decimals_of(key: str) -> int:
    """How many decimals a key's numbers are shown with."""
    last = key.rpartition(".")[2].rpartition("_")[2]
    if last == "kg":
        return 2
    return _FULL.get(last, 1)
