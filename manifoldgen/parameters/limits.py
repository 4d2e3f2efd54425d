"""`limits`: what the checks ask for; defaults are the catalogue's, with their source."""

from __future__ import annotations

from pydantic import ValidationInfo, model_validator

from manifoldgen.parameters import own
from manifoldgen.parameters.scalars import Block, Length, LengthOrZero

_DEFAULT = own.SHOWN["limits"]


class Limits(Block):
    """Gaps, zones and straights in mm (`end_tolerance` also in degrees)."""

    gap: LengthOrZero = _DEFAULT["gap"]
    gap_at_merge: LengthOrZero = _DEFAULT["gap_at_merge"]
    merge_zone: LengthOrZero = _DEFAULT["merge_zone"]
    gap_at_flange: LengthOrZero = _DEFAULT["gap_at_flange"]
    flange_zone: LengthOrZero = _DEFAULT["flange_zone"]
    ramp: LengthOrZero = _DEFAULT["ramp"]
    gap_other: LengthOrZero = _DEFAULT["gap_other"]
    self_gap: LengthOrZero = _DEFAULT["self_gap"]
    flange_straight: LengthOrZero = _DEFAULT["flange_straight"]
    inlet_straight: LengthOrZero = _DEFAULT["inlet_straight"]
    end_tolerance: Length = _DEFAULT["end_tolerance"]
    tool_margin: LengthOrZero = _DEFAULT["tool_margin"]
    torch_margin: LengthOrZero = _DEFAULT["torch_margin"]
    heat_gap: LengthOrZero = _DEFAULT["heat_gap"]

    @model_validator(mode="before")
    @classmethod
    def _defaults(cls, data: object, info: ValidationInfo) -> object:
        """What the file does not say is the catalogue's, with the shop's own rows."""
        return own.filled(data, info, "limits")
