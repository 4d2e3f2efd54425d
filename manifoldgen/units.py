"""Lengths, angles and shares as people write them: ``1-5/8 in``, ``41.3 mm``, ``12 deg``, ``1 %``.

Every reader returns a plain float (mm, degrees, fraction) or raises ValueError with one clear sentence.
"""

from __future__ import annotations

import math
import re

MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4, "″": 25.4}
LARGEST_MM = 1e5  # 100 m: more is a slip of the keyboard

_DECIMAL = r"(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(
    rf"""(?P<sign>[-+]?)\s*
    (?: (?:(?P<whole>\d+)(?:\s*-\s*|\s+))? (?P<top>\d+)\s*/\s*(?P<bottom>\d+) | (?P<decimal>{_DECIMAL}) )
    \s*(?P<unit>[a-zA-Z]+|["″])?""",
    re.VERBOSE,
)
_SUFFIXED = re.compile(rf"([-+]?{_DECIMAL})\s*(\D*)")
_COMMA = re.compile(r"[-+]?\d+,\d+")
_LONGEST = 60


def number(value: object) -> float:
    """`value` as a finite float; text, yes/no and NaN are refused."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        if isinstance(value, str) and _COMMA.match(value):
            raise ValueError(f"'{shown(value)}' has a decimal comma: use a point")
        raise ValueError(f"{named(value)} is not a number")  # noqa: TRY004 - the models collect ValueError
    try:
        result = float(value)
    except OverflowError:
        result = math.inf
    if not math.isfinite(result):
        raise ValueError(f"{named(value)} is not a finite number")
    return result


def length(value: object) -> float:
    """`value` in mm: a number (mm) or text with a unit (mm, cm, m, in, ").

    Inches may be fractions: ``1-5/8 in``, ``1 5/8 in``, ``5/8"``. 1 in = 25.4 mm exactly
    (international yard and pound agreement, 1959).
    """
    mm = _length_text(value.strip()) if isinstance(value, str) else number(value)
    if abs(mm) > LARGEST_MM:
        raise ValueError(f"{named(value)} is too large: at most {LARGEST_MM:.0f} mm")
    return mm


def across_flats(mm: float) -> str:
    """What a spanner's or key's size is called: ``9/16 in`` where it is a whole number of 32nds of an inch, else ``13 mm``."""
    return " ".join(flats_size(mm))


def flats_size(mm: float) -> tuple[str, str]:
    """The number and the unit that `across_flats` says.

    Sizes stand in tables to 0.01 mm; no size in whole or half mm up to 50 is that near to a 32nd.
    """
    top, bottom = round(mm / MM["in"] * 32), 32
    if top < 1 or abs(top / bottom * MM["in"] - mm) > 0.0051:
        return f"{mm:g}", "mm"
    whole, top = divmod(top, bottom)
    while top and top % 2 == 0:
        top, bottom = top // 2, bottom // 2
    parts = [str(whole)] if whole else []
    return "-".join([*parts, *([f"{top}/{bottom}"] if top else [])]), "in"


def article(name: str) -> str:
    """``an`` before a name that begins with 8, 11 or 18 read aloud (``8 mm ring spanner``), else ``a``."""
    spoken = re.match(r"8|1[18]\b", name)
    return "an" if spoken else "a"


def angle(value: object) -> float:
    """`value` in degrees: a number, or text such as ``12 deg`` or ``12°``."""
    return _suffixed(value, {"deg": 1.0, "degrees": 1.0, "°": 1.0}, "an angle", "12 or '12 deg'")


def fraction(value: object) -> float:
    """`value` as a share of 1: a number (0.01), or text such as ``1 %``."""
    return _suffixed(value, {"%": 0.01}, "a share", "0.01 or '1 %'")


def _length_text(text: str) -> float:
    if _COMMA.match(text):
        raise ValueError(f"'{shown(text)}' has a decimal comma: use a point")
    match = _LENGTH.fullmatch(text) if len(text) <= _LONGEST else None
    if match is None:
        raise ValueError(f"'{shown(text)}' is not a length: write 41.3, '41.3 mm' or '1-5/8 in'")
    unit = (match["unit"] or "").lower()
    if unit and unit not in MM:
        raise ValueError(f"'{shown(text)}': the unit '{unit}' is not known; use mm, cm, m or in")
    if match["decimal"] is not None:
        size = float(match["decimal"])
    else:
        bottom = int(match["bottom"])
        if not bottom:
            raise ValueError(f"'{shown(text)}' divides by zero")
        size = int(match["whole"] or 0) + int(match["top"]) / bottom
    if not unit and match["decimal"] is None:  # nobody writes millimetres in fractions
        raise ValueError(
            f"'{shown(text)}' has no unit: did you mean '{shown(text)} in' ({size * MM['in']:.2f} mm)?"
        )
    if not unit:
        raise ValueError(f"'{shown(text)}' has no unit: write '{shown(text)} mm' or '{shown(text)} in'")
    return math.copysign(number(size * MM[unit]), -1.0 if match["sign"] == "-" else 1.0)


def _suffixed(value: object, units: dict[str, float], what: str, example: str) -> float:
    if not isinstance(value, str):
        return number(value)
    text = value.strip()
    if _COMMA.match(text):
        raise ValueError(f"'{shown(text)}' has a decimal comma: use a point")
    match = _SUFFIXED.fullmatch(text) if len(text) <= _LONGEST else None
    if match is None or match[2].lower() not in units:
        raise ValueError(f"'{shown(text)}' is not {what}: write {example}")
    return number(float(match[1]) * units[match[2].lower()])


def shown(text: str) -> str:
    """`text` for a sentence, never long."""
    return text if len(text) <= _LONGEST else text[:_LONGEST] + "…"


def named(value: object) -> str:
    """`value` for a sentence, never long."""
    if value is None:
        return "an empty value"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"'{shown(value)}'"
    if isinstance(value, int | float):
        return shown(f"{value:g}" if isinstance(value, float) or abs(value) < 10**15 else "this number")
    return (
        "a block of keys"
        if isinstance(value, dict)
        else "a list"
        if isinstance(value, list | tuple)
        else "this"
    )
