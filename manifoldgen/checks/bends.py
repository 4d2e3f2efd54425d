"""The bends of a run by radius: what the two checks of bends have in common."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.geometry.path import Bend, Element
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.model import Manifold, Run


@dataclass(frozen=True)
class Bends:
    """The bends of one radius in a run: `at` are the indices of their elements.  clr : mm."""

    run: Run
    clr: float
    at: tuple[int, ...]

    def finding(
        self, kind: FindingKind, message: str, do: str, *, value: float, limit: float, unit: str = "mm"
    ) -> Finding:
        """A finding on these bends; the message says what is wrong after naming them."""
        run, path = self.run, self.run.path
        middle = path.segments[self.at[0]] if path else None
        points = (vec(middle.point(middle.length / 2)),) if middle else ()
        return kind.finding(
            message=f"{run.name}, {self._which()}: {message}",
            do=do,
            value=value,
            limit=limit,
            unit=unit,
            parts=(run.name,),
            points=points,
            where=run.where,
        )

    def _which(self) -> str:
        """The elements as they are counted when written, from 1."""
        numbers = [str(k + 1) for k in self.at]
        if len(numbers) == 1:
            return f"element {numbers[0]}"
        return f"elements {', '.join(numbers[:-1])} and {numbers[-1]}"


def by_radius(m: Manifold) -> Iterator[Bends]:
    """Every radius of every run; a run that is still to be closed is read as far as it is written."""
    for run in m.runs:
        elements: tuple[Element, ...] = run.path.elements if run.path else run.written
        radii: dict[float, list[int]] = {}
        for k, element in enumerate(elements):
            if isinstance(element, Bend):
                radii.setdefault(element.clr, []).append(k)
        yield from (Bends(run, clr, tuple(at)) for clr, at in radii.items())
