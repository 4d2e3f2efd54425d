"""What printing is worth: the three groups of printed parts, and which of them a shop wants.

The question is a fabricator's: what does it cost not to have the part? A stud gauge that does not go on saves a flange;
an elbow is hard to hold square to the saw without its guide, and an inlet at its tilt on the mill without its nest.
The test-fit model is the surest trial of all, but days of printing: it comes second, whole or a runner of it
(`print.runner`; `print.model: lattice` is quicker). A cradle clocks two bends to each other; where one of the pieces is
straight, angle iron and the marks do that, as scrap tube does for a stand, and paper or a laser for the flanges' holes.
Common practice, no source. Which part belongs where stands in `shop.aids`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from manifoldgen.manifold.workshop import PrintOnly

Group = Literal["print first", "helps", "nice to have"]
GROUPS: Mapping[Group, str] = {
    "print first": "finds a wrong number before steel is cut, or holds a cut that is hard to hold without it",
    "helps": "saves time or an error further on: the whole manifold tried cold, bend clocked to bend, the branch's hole",
    "nice to have": "a shop has other ways: marks and angle iron, scrap tube, the paper template, the tool itself",
}
_TAKES: Mapping[PrintOnly, int] = {"first": 1, "helps": 2, "all": 3}


def wanted(only: PrintOnly) -> tuple[Group, ...]:
    """The groups that are made where the shop says ``print: {only: …}``: its own and those before it."""
    return tuple(GROUPS)[: _TAKES[only]]


def rank(group: Group) -> int:
    """Where a group stands, from 0; what is printed first comes first."""
    return list(GROUPS).index(group)
