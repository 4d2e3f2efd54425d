"""How near a tube comes to an obstacle, whatever the obstacle is made of and whichever of them moves."""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen import readers
from manifoldgen.geometry.gap import Asked, Gap
from manifoldgen.geometry.mesh_distance import Tree
from manifoldgen.geometry.moved import Moved, gap_at_rest, over_movement
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.shapes import Shape, Tube
from manifoldgen.manifold.model import Engine, Obstacle
from manifoldgen.readers import Scan
from manifoldgen.wording import fixed, signed

LOOSE = 0.5  # mm: a bound further than this below the gap of the worst pose tried is said


@dataclass(frozen=True)
class Clearance:
    """The worst place between a tube and an obstacle.

    gap : over the engine's movement, if it moves against the obstacle.  moved : how, else None.
    """

    gap: Gap
    moved: Moved | None = None

    @property
    def told(self) -> str:
        """What a sentence adds about the movement; empty where nothing moves."""
        if self.moved is None:
            return ""
        shift = ", ".join(signed(s) for s in self.moved.shift)
        pose = f"shift {shift} mm" + (f", roll {signed(self.moved.roll_deg)}°" if self.moved.roll_deg else "")
        tried = f" with {fixed(self.moved.there)} mm" if self.moved.there > self.gap.gap + LOOSE else ""
        return f" over the engine's movement ({fixed(self.moved.rest)} mm at rest, worst at {pose}{tried})"

    @property
    def surely(self) -> bool:
        """Whether an overlap told is met in a true pose, and not only not ruled out."""
        return self.moved is None or self.moved.there <= 0.0


def solid(obstacle: Obstacle) -> Shape | Tree:
    """An obstacle's shape, a scan as its tree."""
    return readers.tree(obstacle.shape) if isinstance(obstacle.shape, Scan) else obstacle.shape


def movement_against(engine: Engine, obstacle: Obstacle) -> Movement | None:
    """How the engine moves against an obstacle: not at all where the obstacle moves with it."""
    moves = engine.movement if obstacle.mounted == "chassis" else None
    return None if moves is None or moves.none else moves


def clearance(tube: Tube, obstacle: Obstacle, asked: float, engine: Engine) -> Clearance:
    """The worst place between a tube and an obstacle, over the engine's movement.

    Parameters
    ----------
    asked : the gap asked, mm; what a scan's facets may hide is added to it.

    Raises
    ------
    ManifoldgenError : a scan's triangles are not on this machine.
    """
    asked += obstacle.shape.error if isinstance(obstacle.shape, Scan) else 0.0
    movement = movement_against(engine, obstacle)
    if movement is None:
        return Clearance(gap_at_rest(tube, solid(obstacle), Asked.flat(asked, tube.path.length)))
    moved = over_movement(tube, solid(obstacle), movement, asked)
    return Clearance(moved.gap, moved)
