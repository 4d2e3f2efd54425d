"""What a layout takes away from hands: studs out of reach and a way off that were there without the runners."""

from __future__ import annotations

from dataclasses import dataclass, replace

from manifoldgen.access.removal import removal
from manifoldgen.access.scene import scene
from manifoldgen.access.studs import studs
from manifoldgen.manifold.model import Manifold


@dataclass(frozen=True)
class HandReach:
    """What hands can do: studs a tool reaches, studs whose nut comes off, whether all slides off, and how far."""

    reached: frozenset[str]
    off: frozenset[str]
    slides: bool
    travel: float


NOTHING = HandReach(frozenset(), frozenset(), slides=False, travel=0.0)


def reach(m: Manifold) -> HandReach:
    """What hands can do on a manifold, runners without a path left out."""
    m = replace(m, runners=tuple(run for run in m.runners if run.path is not None))
    standing = scene(m)
    found = studs(m, full=False, standing=standing)
    way = removal(m, standing, access=found)
    return HandReach(
        frozenset(s.id for s in found if s.reachable),
        frozenset(s.id for s in found if s.comes_off),
        way.head_flange_slides_off,
        way.travel_mm,
    )


def lost(before: HandReach, m: Manifold) -> tuple[str, ...]:
    """What can no longer be done on a manifold that could be before its runners stood, in words."""
    now = reach(m)
    gone = [f"{s} out of reach" for s in sorted(before.reached - now.reached)]
    gone += [f"nut of {s} does not come off" for s in sorted(before.off - now.off)]
    return (*gone, *(["head flange does not slide off"] if before.slides and not now.slides else []))
