"""Elements of a path as written: straights, bends with `toward` or `roll`, and the word ``close``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Discriminator, Tag, WithJsonSchema, model_validator

from manifoldgen import units
from manifoldgen.parameters.meant import Clr
from manifoldgen.parameters.scalars import (
    ANGLE_SCHEMA,
    AXES,
    Angle,
    Block,
    Direction,
    LengthOrZero,
    within,
)

Up = Literal["up", "down"]


def _toward(value: object) -> str:
    if isinstance(value, str) and value not in {"up", "down"}:
        raise ValueError(
            f"'{units.shown(value)}' is no way to bend: use up, down, +x, -x, +y, -y, +z, -z or [x, y, z]"
        )
    return "<word>" if isinstance(value, str) else "<list>"


def _axis_word(value: object) -> object:
    found = AXES.get(value.strip(), value) if isinstance(value, str) else value
    _toward(found)
    return found


Toward = Annotated[
    Annotated[Direction, Tag("<list>")] | Annotated[Up, Tag("<word>")],
    Discriminator(lambda v: "<word>" if isinstance(v, str) else "<list>"),
    BeforeValidator(_axis_word),
    WithJsonSchema(
        {
            "anyOf": [
                {"enum": ["up", "down", *AXES]},
                {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3},
            ]
        }
    ),
]
BendAngle = Annotated[float, BeforeValidator(within(units.angle, "°", 0, 360, open_ends=True)), ANGLE_SCHEMA]


class StraightStep(Block):
    """``{straight: 40}``, mm."""

    straight: LengthOrZero


class BendStep(Block):
    """``{bend: 60, clr: 63.6, toward: up}`` or with ``roll: 90``.

    bend : degrees.  clr : mm.  toward : ``up``, ``down`` (the engine's) or a vector in the bench frame; the
    bend turns the travel towards it.  roll : degrees from the previous bend's plane, right-handed about the
    travel.  Both None: the first bend of a runner or a branch, roll 0.
    """

    bend: BendAngle
    clr: Clr
    toward: Toward | None = None
    roll: Angle | None = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        if self.toward is not None and self.roll is not None:
            raise ValueError("a bend gives toward or roll, not both: drop one")
        return self


Step = StraightStep | BendStep
Close = Literal["close"]
_KEYS = ("straight", "bend")


def _kind(value: object) -> str:
    """Discriminator of a path element."""
    if isinstance(value, StraightStep | BendStep):
        return "<straight>" if isinstance(value, StraightStep) else "<bend>"
    if value == "close":
        return "<close>"
    if not isinstance(value, Mapping):
        hint = " (close is written without braces)" if isinstance(value, str) else ""
        raise ValueError(  # noqa: TRY004 - the models collect ValueError
            f"{units.named(value)} is no path element: use {{straight: …}}, {{bend: …}} or close{hint}"
        )
    keys = [str(k) for k in value]
    if not any(k in keys for k in _KEYS):
        close = [g for k in keys for g in get_close_matches(k, _KEYS, 1)]
        hint = f"; did you mean '{close[0]}'?" if close else ""
        raise ValueError(
            f"a path element says straight or bend, this one says {', '.join(keys) or 'nothing'}{hint}"
        )
    return "<straight>" if "straight" in keys and "bend" not in keys else "<bend>"


def _known(value: object) -> object:
    _kind(value)
    return value


AnyStep = Annotated[
    Annotated[StraightStep, Tag("<straight>")]
    | Annotated[BendStep, Tag("<bend>")]
    | Annotated[Close, Tag("<close>")],
    Discriminator(_kind),
    BeforeValidator(_known),
]


def misfits(
    steps: Sequence[Step | str], *, first: Literal["either", "toward"], may_close: bool
) -> list[tuple[int, str]]:
    """What is wrong with the elements together: (index, sentence) each.

    first : ``either`` where the first bend may take toward, roll or neither (then roll 0); ``toward`` where it
        must take toward.
    """
    found = []
    earlier = False
    for i, step in enumerate(steps):
        if step == "close":
            if not may_close:
                found.append((i, "close is for runners only: write straights and bends here"))
            elif i + 1 < len(steps):
                found.append((i, "close stands last: move it to the end or drop what follows"))
        if isinstance(step, BendStep):
            if step.toward is None and (first == "toward" and not earlier):
                found.append(
                    (i, "the first bend of this path takes toward (there is no bend before it to roll from)")
                )
            elif step.toward is None and step.roll is None and earlier:
                found.append((i, "this bend gives neither toward nor roll: give one of the two"))
            earlier = True
    return found
