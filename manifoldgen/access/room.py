"""What stands round one place, packed for the kernels, and what can be asked of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.access.pack import blocks
from manifoldgen.access.scene import Index, Scene
from manifoldgen.geometry.vectors import Array, Vec, array, vec
from manifoldgen.manifold.model import Owner

FAR = 1e9  # mm: a violation that nothing has
_GONE = 1e3 * FAR  # mm: the ease of what is not there


@dataclass(frozen=True, eq=False)
class Worst:
    """The thing that comes nearest to violating a margin: violation, its number, unit way from the tool to it."""

    violation: float
    thing: int
    way: Vec


@dataclass(frozen=True, eq=False)
class Nearby:
    """Things near a place, the nearest first: balls, then solids, then half spaces.

    arrays : balls, solids, bounds, points, half spaces, blocks of solids, as the kernels take them.
    ease : mm of the margin that each thing does not ask for.  group, station : of each thing.
    """

    scene: Scene
    arrays: tuple[Array, Array, Array, Array, Array, Array]
    ease: Array
    group: Index
    station: Array

    def worst(self, rods: Array, margin: float) -> Worst:
        """The greatest violation (margin less ease less distance) of some rods, exactly; thing -1 in empty room."""
        from manifoldgen.access import _kernels

        bad, thing, *way = _kernels.worst(rods, margin, *self.arrays, self.ease, -FAR, FAR)
        return Worst(float(bad), int(thing), vec(way))

    def without(self, *groups: str) -> Nearby:
        """The same place as if some groups were not there."""
        gone = [name in groups for name in self.scene.groups]
        away = np.array(gone, dtype=bool)[self.group] if len(self.group) else np.zeros(0, dtype=bool)
        return replace(self, ease=np.where(away, _GONE, self.ease))

    def owner(self, thing: int) -> Owner | None:
        """The run or the collector that a thing belongs to."""
        return None if thing < 0 else self.scene.owners[int(self.group[thing])]

    def said(self, thing: int) -> str | None:
        """Who a thing is, in words."""
        return None if thing < 0 else self.scene.said(int(self.group[thing]), float(self.station[thing]))


def room(
    scene: Scene,
    at: ArrayLike,
    reach: float,
    *,
    without: tuple[str, ...] = (),
    ease: Mapping[str, float] | None = None,
) -> Nearby:
    """What reaches within `reach` mm of a point.

    without : groups that are not there.  ease : mm of the margin that a group does not ask for.
    """
    near = scene.near(array(at), reach)
    gone = {i for i, name in enumerate(scene.groups) if name in without}

    def kept(numbers: Index, groups: Index) -> Index:
        return numbers[[int(g) not in gone for g in groups[numbers]]] if gone and len(numbers) else numbers

    balls = kept(near.balls, scene.ball_group)
    solids = kept(near.solids, scene.solid_group)
    halves = kept(near.halves, scene.half_group)
    rows, bounds, points = [scene.solids[solids]], [scene.bounds[solids]], [scene.points, np.zeros((1, 3))]
    owner = [scene.solid_group[solids]]
    count = len(scene.points) + 1
    for surface, numbers in scene.facets(at, reach):
        picked = surface.picked(numbers)
        facets = picked.rows
        facets[:, 1] += count
        count += 3 * len(facets)
        rows.append(facets)
        bounds.append(picked.bounds)
        points.append(picked.corners.reshape(-1, 3))
        owner.append(np.full(len(facets), surface.group))
    group = np.concatenate([scene.ball_group[balls], *owner, scene.half_group[halves]])
    eased = np.array([(ease or {}).get(name, 0.0) for name in scene.groups])
    plain, around = len(group) - len(balls), np.concatenate(bounds)
    return Nearby(
        scene,
        (
            scene.balls[balls],
            np.concatenate(rows),
            around,
            np.concatenate(points),
            scene.halves[halves],
            blocks(around),
        ),
        eased[group] if len(group) else np.zeros(0),
        group,
        np.concatenate([scene.ball_station[balls], np.full(plain, math.nan)]),
    )
