"""One printed part: its mesh as it lies on the printer's bed, and all that the bench has to know about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.shop.aid_worth import Group

Kind = Literal[
    "model", "guide", "cradle", "gauge", "drill guide", "window", "nest", "dummy", "stand", "reach", "other"
]


@dataclass(frozen=True, eq=False)
class PrintedPart:
    """A part to print.

    name : as its files are called, lower case, no blanks (``model-r2-1``).
    kind : what sort of part; "other" is another package's.  mark : what is engraved in it (empty: nothing).
    mesh : closed, in print pose: stands on z = 0, its least x and y are 0; mm.
    pose : takes the print pose back to where the part belongs: ``pose.out(print) = bench``.
    purpose : what it is for.  sits : how it sits on the work, or how it goes together.
    cautions : what can go wrong with it, one sentence each.
    grams, hours : estimated (`prints.estimate`).
    step : of the work list in which it is printed; empty for another package's.
    group : when it is worth printing (`shop.aid_worth`).
    """

    name: str
    kind: Kind
    mark: str
    mesh: Mesh
    pose: Frame
    purpose: str
    sits: str
    cautions: tuple[str, ...] = ()
    grams: float = 0.0
    hours: float = 0.0
    step: str = ""
    group: Group = "helps"

    @property
    def size(self) -> tuple[float, float, float]:
        """How much of the bed it takes, and its height, mm."""
        x, y, z = (self.mesh.vertices.max(axis=0) - self.mesh.vertices.min(axis=0)).tolist()
        return x, y, z

    @property
    def in_place(self) -> Mesh:
        """The same mesh where the part belongs, bench frame."""
        placed: Array = self.pose.out(self.mesh.vertices)
        return Mesh(self.mesh.name, placed, self.mesh.triangles, self.mesh.colour)
