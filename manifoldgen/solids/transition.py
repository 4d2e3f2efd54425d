"""The formed transition tube: port-shaped where it stands on the head flange, round where the runner goes on.

flange face ┐ port's outline, wall outside it    its walls are ruled, outer and inner edge by edge,
            │╲                                    so its ends are exact and its wall is nowhere thin
            │ ╲ round tube
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cadquery as cq
import numpy as np

from manifoldgen.errors import GeometryError, SolidError
from manifoldgen.geometry import contour
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.vectors import Array, array, unit, vec
from manifoldgen.manifold.model import Flange, Opening, Section
from manifoldgen.solids import ruled
from manifoldgen.solids.ruled import Ring

LEAST_WALL = 0.9  # share of the nominal wall that the formed tube must keep (a forming allowance, no source)
_GRID = 24  # samples along an edge and along the tube


@dataclass(frozen=True)
class Transition:
    """A formed tube: its inner and outer rings at the foot and at the round end."""

    inner: tuple[Ring, Ring]
    outer: tuple[Ring, Ring]

    @property
    def solid(self) -> cq.Shape:
        """The tube."""
        ends = [ruled.cap(o, [i]) for o, i in zip(self.outer, self.inner, strict=True)]
        return ruled.sewn([*ends, *ruled.wall(*self.outer), *ruled.wall(*self.inner)])

    @property
    def lumen(self) -> cq.Shape:
        """The gas inside it."""
        return ruled.sewn([*map(ruled.cap, self.inner), *ruled.wall(*self.inner)])

    @property
    def lumen_volume(self) -> float:
        """Volume of the gas inside, mm³."""
        return abs(ruled.between(*self.inner))

    @property
    def volume(self) -> float:
        """Volume of the metal, mm³."""
        return abs(ruled.between(*self.outer)) - self.lumen_volume

    @property
    def least_wall(self) -> float:
        """Least distance from sampled points of the inside to the outside, mm."""
        from scipy.spatial import KDTree

        inside, outside = _samples(*self.inner, _GRID), _samples(*self.outer, 3 * _GRID)
        return float(np.min(KDTree(outside).query(inside)[0]))


def transition(part: str, flange: Flange, opening: Opening, path: Path) -> tuple[Transition, Path]:
    """Make the formed tube that begins a runner, and the path that is left for the round tube.

    part : the runner's name.  opening : its port's opening in the flange.  path : from the flange face on.
    Raises GeometryError where the path's first straight is shorter than the formed tube, SolidError where
    forming would leave the wall thinner than 0.9 of nominal.
    """
    length = flange.transition_length
    first = path.elements[0] if path.elements else None
    straight = first.length if isinstance(first, Straight) else 0.0
    if straight < length:
        raise GeometryError(
            f"its first straight of {straight:.1f} mm is shorter than the transition tube of {length:g} mm; "
            f"lengthen it by {length - straight:.1f} mm or shorten `transition_length`",
            part,
        )
    made = _formed(flange, opening, path.start, flange.tube)
    least = made.least_wall
    if least < LEAST_WALL * flange.tube.wall:
        raise SolidError(
            part,
            f"forming the transition tube leaves {least:.2f} mm of a {flange.tube.wall:g} mm wall; "
            f"make `transition_length` longer than {length:g} mm",
        )
    pose = replace(path.start, at=vec(path.point(length)))
    rest = Straight(straight - length)
    kept = (rest, *path.elements[1:]) if rest.length > ruled.SEWING else path.elements[1:]
    return made, Path(pose, kept)


def _formed(flange: Flange, opening: Opening, start: Pose, tube: Section) -> Transition:
    d = array(start.direction)
    end = array(start.at) + flange.transition_length * d
    foot = [_foot(flange, opening, grown, start) for grown in (0.0, tube.wall)]
    corner = foot[0][0].at(np.zeros(1))[0][0] - array(start.at)  # both ends begin on the same side
    x = unit(corner - float(corner @ d) * d)
    square = Frame(vec(end), vec(x), vec(np.cross(d, x)), start.direction)
    radii = (tube.bore_radius, tube.radius)
    if opening.kind == "round":
        tops = [ruled.circle(end, square, r) for r in radii]
    else:
        tops = [ruled.bore(end, square, start.direction, r, foot[0]) for r in radii]
    return Transition((foot[0], tops[0]), (foot[1], tops[1]))


def _foot(flange: Flange, opening: Opening, grown: float, start: Pose) -> Ring:
    if opening.kind == "round":
        centre = flange.frame.out((*opening.at, flange.thickness))
        return ruled.circle(centre, flange.frame, opening.width / 2 + grown, start.direction)
    return ruled.outline(_grown(opening, grown).moved(*opening.at), flange.frame, flange.thickness)


def _grown(opening: Opening, by: float) -> Contour:
    width, height = opening.width + 2 * by, opening.height + 2 * by
    if opening.kind == "oval":
        return contour.oval(width, height)
    return contour.rectangle(width, height, opening.corner + by if opening.corner > 0 else 0.0)


def _samples(foot: Ring, top: Ring, count: int) -> Array:
    s = np.linspace(0.0, 1.0, count, endpoint=False)
    steps = np.linspace(0.0, 1.0, count + 1)[:, None, None]
    rows = [p.at(s)[0] + steps * (q.at(s)[0] - p.at(s)[0]) for p, q in zip(foot, top, strict=True)]
    return np.concatenate(rows, axis=1).reshape(-1, 3)
