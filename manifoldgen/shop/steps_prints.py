"""The steps of printing: a family of aids where it is first of use, and how other steps name those they take."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.aids import Aid, Family
from manifoldgen.shop.rates import rate
from manifoldgen.shop.work_step import Step

_SAID: dict[Family, str] = {
    "stud gauge": "the stud gauge", "drill guides": "the drill guides", "reach test piece": "the reach test piece",
    "tool dummies": "the tools to try in the model", "test-fit model": "the test-fit model",
    "dummies": "the dummies of what stands around", "saw guides": "the saw guides and their stop blocks",
    "joint cradles": "the joint cradles", "mill nests": "the mill nest and its collar",
    "wastegate window": "the wastegate window", "bench stand": "the bench stand with its straps",
}  # fmt: skip
_NOTE: dict[Family, str] = {
    "saw guides": "; their bores are made for the measured outside",
    "joint cradles": "; plastic: quick tacks in their window, off again before anything is welded",
    "bench stand": "; plastic: for cold joints and tacks only",
}
_NAMED: tuple[Family, ...] = ("saw guides", "mill nests")  # what they serve does not show in their names


@dataclass(frozen=True)
class Printing:
    """The printed aids of a job as the steps see them; those that cannot be made are not there."""

    m: Manifold
    aids: tuple[Aid, ...]

    def step(self, family: Family, needs: tuple[str, ...]) -> Iterator[Step]:
        """The one step that prints a family, with every file by its name; none where there is nothing of it."""
        found = self._of(family)
        if not found:
            return
        told = "; ".join(_told(aid) for aid in found)
        own = rate(self.m, "print_model") if family == "test-fit model" else 0.0
        minutes = own or len(found) * rate(self.m, "print_part")
        what = f"print {_SAID[family]}: {told}{_NOTE.get(family, '')}"
        yield Step(found[0].step, "printer", what, minutes, needs)

    def needs(self, *families: Family) -> tuple[str, ...]:
        """The steps that print these, as far as there is anything to print."""
        return tuple(found[0].step for f in families if (found := self._of(f)))

    def serving(self, family: Family, thing: str) -> tuple[str, ...]:
        """The files of a family that a piece, joint or flange takes: ``guide-68-3``, ``guide-68-3-stop-39-6``."""
        return tuple(aid.name for aid in self._of(family) if thing in aid.serves)

    def named(self, family: Family) -> str:
        """All files of a family."""
        return ", ".join(aid.name for aid in self._of(family))

    def _of(self, family: Family) -> list[Aid]:
        return [aid for aid in self.aids if aid.family == family and not aid.lacks]


def _told(aid: Aid) -> str:
    files = f"all {aid.name} files" if aid.several else aid.name
    return f"{files} for {', '.join(aid.serves)}" if aid.family in _NAMED else files
