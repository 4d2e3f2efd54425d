"""The tubes of runs as they meet their neighbours: on the flange's face or in it, up to the collector's inlets.

A runner begins on the head flange, cut by its face (or by the floor of its socket), or with a formed transition
tube; it ends where the collector's own inlet begins. Outlet and branch end on or in their flange.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cadquery as cq

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold.collector import inlet_lead
from manifoldgen.manifold.model import Flange, Manifold, Opening, Run, Section
from manifoldgen.pieces.part import SLIVER, part_of
from manifoldgen.solids.flange import seat_depth
from manifoldgen.solids.transition import Transition, transition
from manifoldgen.solids.tube import tube_solid, tube_volume


@dataclass(frozen=True)
class Laid:
    """A stretch of tube ready to be built: its path, the planes that cut its start, a formed tube before it."""

    path: Path
    section: Section
    start: tuple[HalfSpace, ...] = ()
    formed: Transition | None = None

    @property
    def empty(self) -> bool:
        """Whether there is no round tube."""
        return self.path.length <= SLIVER

    def metal(self) -> list[cq.Shape]:
        """The tube, as solids that share whole faces."""
        shapes = [self.formed.solid] if self.formed else []
        return shapes if self.empty else [*shapes, tube_solid(self.path, self.section, start=self.start)]

    def gas(self) -> list[cq.Shape]:
        """The gas in it, as solids that share whole faces."""
        shapes = [self.formed.lumen] if self.formed else []
        if self.empty:
            return shapes
        return [*shapes, tube_solid(self.path, self.section, start=self.start, fill="bore")]

    @property
    def volume(self) -> float:
        """Volume of the metal, mm³."""
        return tube_volume(self.path, self.section) + (self.formed.volume if self.formed else 0.0)

    def upto(self, path: Path) -> Laid:
        """The same beginning with another path (a stretch of it that begins with it)."""
        return Laid(path, self.section, self.start, self.formed)


def laid_runner(m: Manifold, run: Run) -> Laid:
    """The tube of a runner, flange to inlet.

    Raises GeometryError where the last straight is shorter than what the collector's inlet takes of it, or
    the first shorter than the formed tube.
    """
    path = path_of(run)
    collector = next((c for c in m.collectors if run.number in c.order), None)
    lead = inlet_lead(collector) if collector else 0.0
    if lead:
        last = path.elements[-1] if path.elements else None
        straight = last.length if isinstance(last, Straight) else 0.0
        if straight < lead:
            raise GeometryError(
                f"its last straight of {straight:.1f} mm is shorter than the {lead:.1f} mm that its inlet takes; "
                f"lengthen it by {lead - straight:.1f} mm",
                run.name,
            )
        path = part_of(path, 0.0, path.length - lead)
    return on_head(m, run, path)


def on_head(m: Manifold, run: Run, path: Path) -> Laid:
    """A tube that begins on the head flange as `run` does and then follows `path`."""
    head = m.head
    away = vec(-array(head.frame.z))
    if head.transition == "tube":
        formed, rest = transition(run.name, head, opening_of(m, run.number), path)
        return Laid(rest, run.section, formed=formed)
    depth = seat_depth(head)
    if depth:
        d = array(path.start.direction)
        sunk = depth / float(d @ array(head.frame.z))
        start = Pose(vec(array(path.start.at) - sunk * d), path.start.direction, path.start.normal)
        path = Path(start, (Straight(sunk), *path.elements))
    return Laid(path, run.section, (HalfSpace(path.start.at, away),))


def laid_to(flange: Flange | None, path: Path, section: Section) -> Laid:
    """A tube whose end stands on a flange, or in its socket."""
    depth = seat_depth(flange) if flange else 0.0
    return Laid(path.plus(Straight(depth)) if depth else path, section)


def path_of(run: Run) -> Path:
    """The run's path; raises GeometryError while it is still to be found."""
    if run.path is None:
        raise GeometryError(f"its path is not known yet ({run.trouble or run.todo or 'no path'})", run.name)
    return run.path


def opening_of(m: Manifold, cylinder: int) -> Opening:
    """The head flange's opening for a cylinder."""
    return next(p.opening for p in m.ports if p.number == cylinder)


def axes_of(m: Manifold, flange: Flange) -> Sequence[tuple[float, float, float]]:
    """The direction of the tube at each of a flange's openings."""
    if flange is not m.head:
        return ()
    by_place = {p.opening.at: p.direction for p in m.ports}
    return [by_place[o.at] for o in flange.openings]
