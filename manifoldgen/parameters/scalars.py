"""The small words of the parameter file: lengths, angles, vectors, names, and the block they stand in.

Each type reads what a user may write and gives plain floats (mm, degrees), tuples or text; what cannot be
is refused with one sentence.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    WithJsonSchema,
)

from manifoldgen import units

LEAST_MM = 1e-3  # a length that must be there is at least this


class Misfit(ValueError):  # noqa: N818 - a problem for the loader to place
    """Sentences about places below the block that raises them: (keys from that block down, sentence)."""

    def __init__(self, *problems: tuple[tuple[str | int, ...], str]) -> None:
        super().__init__("; ".join(sentence for _, sentence in problems))
        self.problems = problems

    @classmethod
    def at(cls, sentence: str, *keys: str | int) -> Misfit:
        """One sentence about one place."""
        return cls((keys, sentence))


class Block(BaseModel):
    """A block of keys: frozen, and unknown keys are errors."""

    model_config = ConfigDict(frozen=True, extra="forbid", protected_namespaces=(), hide_input_in_errors=True)


def within(
    read: Callable[[object], float],
    unit: str,
    least: float | None = None,
    most: float | None = None,
    *,
    open_ends: bool = False,
) -> Callable[[object], float]:
    """A reader that also asks for a range (`open_ends`: the ends themselves are refused)."""

    def checked(value: object) -> float:
        found = read(value)
        low = least is not None and (found < least or (open_ends and found == least))
        high = most is not None and (found > most or (open_ends and found == most))
        if low or high:
            raise ValueError(f"{_told(found)}{unit} is not possible: {_range(least, most, unit, open_ends)}")
        return found

    return checked


def _told(value: float) -> str:
    return f"{value:.6g}"


def _range(least: float | None, most: float | None, unit: str, open_ends: bool) -> str:  # noqa: FBT001
    if least is not None and most is not None:
        return f"use {least:g} to {most:g}{unit}" + (", ends excluded" if open_ends else "")
    if least is not None:
        return (
            "use more than 0"
            if least in {0, LEAST_MM} and (open_ends or least)
            else f"use {least:g}{unit} or more"
        )
    return f"use {most:g}{unit} or less"


def auto_or(read: Callable[[object], float]) -> Callable[[object], float | str]:
    """A reader that also takes the bare word ``auto``."""

    def checked(value: object) -> float | str:
        if isinstance(value, str) and value.strip().isalpha() and value != "auto":
            raise ValueError(f"'{value}' is neither auto nor a number")
        return "auto" if value == "auto" else read(value)

    return checked


LENGTH: dict[str, Any] = {
    "anyOf": [
        {"type": "number"},
        {"type": "string", "pattern": '^[-+0-9.eE/ ]+(mm|cm|m|in|inch|inches|"|″)$'},
    ],
    "description": "mm, or text with a unit: '41.3 mm', '1-5/8 in'",
}
ANGLE: dict[str, Any] = {
    "anyOf": [{"type": "number"}, {"type": "string", "pattern": "^[-+0-9.eE ]+(deg|degrees|°)$"}],
    "description": "degrees",
}
LENGTH_SCHEMA, ANGLE_SCHEMA = WithJsonSchema(LENGTH), WithJsonSchema(ANGLE)
SHARE_SCHEMA = WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string", "pattern": "^[0-9.eE ]+%$"}]})
_AUTO: dict[str, Any] = {"const": "auto"}
AUTO_ANGLE_SCHEMA = WithJsonSchema({"anyOf": [_AUTO, *ANGLE["anyOf"]]})

read_length = within(units.length, " mm", LEAST_MM)

Number = Annotated[float, BeforeValidator(units.number)]
Coordinate = Annotated[float, BeforeValidator(units.length), LENGTH_SCHEMA]
Length = Annotated[float, BeforeValidator(read_length), LENGTH_SCHEMA]
LengthOrZero = Annotated[float, BeforeValidator(within(units.length, " mm", 0)), LENGTH_SCHEMA]
Positive = Annotated[float, BeforeValidator(within(units.number, "", 0, 1e9, open_ends=True))]
NotNegative = Annotated[float, BeforeValidator(within(units.number, "", 0, 1e9))]
Angle = Annotated[float, BeforeValidator(within(units.angle, "°", -3600, 3600)), ANGLE_SCHEMA]
AutoLength = Annotated[
    float | Literal["auto"],
    BeforeValidator(auto_or(read_length)),
    WithJsonSchema({"anyOf": [_AUTO, *LENGTH["anyOf"]]}),
]
AutoLengthOrZero = Annotated[
    float | Literal["auto"],
    BeforeValidator(auto_or(within(units.length, " mm", 0))),
    WithJsonSchema({"anyOf": [_AUTO, *LENGTH["anyOf"]]}),
]
AutoAngle = Annotated[
    float | Literal["auto"],
    BeforeValidator(auto_or(within(units.angle, "°", -3600, 3600))),
    AUTO_ANGLE_SCHEMA,
]


def _whole(value: object) -> object:
    if isinstance(value, str) and value.isascii() and value.isdigit() and len(value) < 6:
        return int(value)  # keys of a JSON mapping are text
    if isinstance(value, bool) or not isinstance(value, int | float) or value != int(units.number(value)):
        raise ValueError(f"{units.named(value)} is not a whole number")
    if not 1 <= value <= 1000:
        raise ValueError(f"{value:g} is not possible: use 1 or more (at most 1000)")
    return int(value)


Count = Annotated[int, BeforeValidator(_whole)]


def _yes_no(value: object) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"{units.named(value)} is neither true nor false")  # noqa: TRY004 - the models collect ValueError
    return value


YesNo = Annotated[bool, BeforeValidator(_yes_no)]


def _auto_yes_no(value: object) -> bool | str:
    return "auto" if value == "auto" else _yes_no(value)


AutoYesNo = Annotated[bool | Literal["auto"], BeforeValidator(_auto_yes_no)]


def listed(count: int | None, what: str) -> Callable[[object], object]:
    """A reader that asks for a list (of `count` entries) before its entries are read."""

    def checked(value: object) -> object:
        if isinstance(value, str | Mapping) or not isinstance(value, Sequence):
            raise ValueError(f"{units.named(value)} is not {what}")  # noqa: TRY004 - the models collect ValueError
        if count is not None and len(value) != count:
            comma = "; a decimal point is written '.'" if len(value) > count else ""
            raise ValueError(f"{what} has {count} numbers, not {len(value)}{comma}")
        return tuple(value)

    return checked


def _has_direction(v: tuple[float, float, float]) -> tuple[float, float, float]:
    if not 1e-6 < sum(x * x for x in v) ** 0.5 < 1e9:
        raise ValueError("a direction of no length points nowhere: give at least one number that is not 0")
    return v


def _word_vector(value: object) -> object:
    return AXES.get(value.strip(), value) if isinstance(value, str) else value


AXES = {
    sign + axis: tuple((-1.0 if sign == "-" else 1.0) if axis == a else 0.0 for a in "xyz")
    for axis in "xyz"
    for sign in ("", "+", "-")
}
Vec = tuple[float, float, float]
Point = Annotated[tuple[Coordinate, Coordinate, Coordinate], BeforeValidator(listed(3, "a point [x, y, z]"))]
Place = Annotated[tuple[Coordinate, Coordinate], BeforeValidator(listed(2, "a place [x, y]"))]
Direction = Annotated[
    tuple[Number, Number, Number],
    AfterValidator(_has_direction),
    BeforeValidator(listed(3, "a direction [x, y, z]")),
]


def _text(value: object) -> object:
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)  # an unquoted 304
    if not isinstance(value, str):
        raise ValueError(f"{units.named(value)} is not a text")  # noqa: TRY004
    if not value.strip() or len(value) > 200:
        raise ValueError("a name is 1 to 200 letters")
    if not value.isprintable():
        raise ValueError("a name has no line breaks or control characters")
    return value


Text = Annotated[str, BeforeValidator(_text), WithJsonSchema({"type": ["string", "integer"]})]


def matching(pattern: str, sentence: str) -> BeforeValidator:
    """A reader of text of one form; `sentence` says which."""

    def checked(value: object) -> object:
        if not isinstance(value, str) or not re.fullmatch(pattern, value):
            raise ValueError(f"{units.named(value)} is not possible: {sentence}")
        return value

    return BeforeValidator(checked)


POINT_NAME = r"[A-Za-z][A-Za-z0-9_.\-]{0,63}"
PointName = Annotated[
    str,
    matching(POINT_NAME, "the name of a point begins with a letter; letters, digits and _ . - follow"),
    Field(pattern=f"^{POINT_NAME}$"),
]
AxisName = Literal["x", "y", "z", "+x", "+y", "+z", "-x", "-y", "-z"]


def text_or_list(value: object) -> str:
    """Discriminator between a word and a list of numbers."""
    return "<word>" if isinstance(value, str) else "<list>"


PointOrName = Annotated[
    Annotated[Point, Tag("<list>")] | Annotated[PointName, Tag("<word>")], Discriminator(text_or_list)
]


def only_one(what: str) -> BeforeValidator:
    """A list with one entry is read as that entry; more are not possible yet."""

    def entry(value: object) -> object:
        if isinstance(value, str | Mapping) or not isinstance(value, Sequence):
            return value
        if len(value) != 1:
            raise ValueError(f"{len(value)} {what}: one is possible, more than one not yet")
        return value[0]

    return BeforeValidator(entry)


def row_name(value: object) -> object:
    """A row's name as the catalogue has it: sizes are written 10 or "10"."""
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return f"{value:g}" if plain else value


RowName = Annotated[str, BeforeValidator(row_name)]
