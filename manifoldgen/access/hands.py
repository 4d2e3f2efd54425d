"""Can a hand get in: studs, the way off the engine, welds; measured once and read by checks, report and sheets."""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen.access.removal import removal
from manifoldgen.access.results import Removal, StudAccess
from manifoldgen.access.results_welds import Welding
from manifoldgen.access.scene import scene
from manifoldgen.access.studs import studs
from manifoldgen.access.welding import welding
from manifoldgen.manifold.model import Manifold


@dataclass(frozen=True)
class Hands:
    """What hand tools and torch reach; `welding` is None while the manifold has no pieces."""

    studs: tuple[StudAccess, ...]
    removal: Removal
    welding: Welding | None

    def as_dict(self) -> dict[str, object]:
        """The report's keys `studs`, `removal`, `welds`, `weld_order`."""
        made: dict[str, object] = {
            "studs": [s.as_dict() for s in self.studs],
            "removal": self.removal.as_dict(),
        }
        if self.welding is not None:
            made["welds"] = [w.as_dict() for w in self.welding.welds]
            made["weld_order"] = [s.as_dict() for s in self.welding.stages]
        return made


def hands(m: Manifold) -> Hands | None:
    """Measure every stud, the removal and every weld; None while a path is still open."""
    if any(run.path is None for run in m.runs):
        return None
    standing = scene(m)
    reached = studs(m, standing=standing)
    off = removal(m, standing, access=reached)
    return Hands(reached, off, welding(m, standing) if m.pieces else None)
