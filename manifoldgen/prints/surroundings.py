"""Turbo, valve and obstacles as dummies in plastic, where the parameter file gives them as plain shapes.

What is larger than the bed is cut across its longest way into equal parts that are glued flat to flat.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.geometry.shapes import Box, Capsule, Cone, Cylinder, HalfSpace, Plate, Shape
from manifoldgen.geometry.vectors import Array, Vec, array, unit, vec
from manifoldgen.manifold.model import Manifold
from manifoldgen.prints import bed, bodies
from manifoldgen.prints.finish import finished
from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.aids import PLAIN, file_name

MOST_PARTS = 6  # more than this of one thing is quicker made of wood or card
LOOSE = "Stands by itself: hold it where the drawing has it, by tape or wire."


def surroundings(m: Manifold) -> tuple[tuple[PrintedPart, ...], tuple[str, ...]]:
    """The dummies of what stands round the manifold, and a sentence for each thing that has none."""
    made: list[PrintedPart] = []
    missing: list[str] = []
    for obstacle in m.obstacles:
        shape = obstacle.shape
        if not isinstance(shape, PLAIN):
            missing.append(f"{obstacle.name}: a scan or an endless wall is not printed; use the real thing.")
            continue
        try:
            made += _dummy(m, obstacle.name, shape)
        except SolidError as error:
            missing.append(f"{error}.")
    return tuple(made), tuple(missing)


def shape_solid(shape: Shape) -> bodies.Body:
    """A plain shape as a solid, bench frame; a wall without end has none."""
    if isinstance(shape, Box):
        return bodies.box(-array(shape.half), shape.half, shape.frame)
    if isinstance(shape, Plate):
        return bodies.plate(bodies.outline(shape.contour), 0.0, shape.thickness, shape.frame)
    if isinstance(shape, HalfSpace):
        raise SolidError("dummy", "a wall without end cannot be printed")
    way = array(shape.end) - array(shape.start)
    length = float(np.linalg.norm(way))
    if isinstance(shape, Capsule):
        balls = [bodies.sphere(shape.start, shape.radius), bodies.sphere(shape.end, shape.radius)]
        bars = [bodies.cylinder(shape.start, way, shape.radius, length)] if length > 0 else []
        return bodies.union([*balls, *bars])
    if isinstance(shape, Cone):
        return bodies.cone(shape.start, way, shape.radius_start, shape.radius_end, length)
    return bodies.cylinder(shape.start, way, shape.radius, length)


def _dummy(m: Manifold, name: str, shape: Shape) -> list[PrintedPart]:
    solid = shape_solid(shape)
    along = _longest(shape)
    for count in range(1, MOST_PARTS + 1):
        parts = list(_slices(solid, along, count))
        if all(bed.fits(bodies.corners(p), m.workshop.bed, [along, -along]) for p in parts):
            break
    else:
        raise SolidError(name, f"would take more than {MOST_PARTS} prints; make it of wood or card")
    return [
        finished(
            m,
            part,
            name=file_name(f"dummy {name}" + (f" {k}" if count > 1 else "")),
            kind="dummy",
            purpose=f"{name} to try beside the model" + (f", part {k} of {count}" if count > 1 else ""),
            sits="glued flat to the next part" if count > 1 else "where it is on the engine",
            cautions=(LOOSE,),
            downs=[along, -along],
        )
        for k, part in enumerate(parts, start=1)
    ]


def _longest(shape: Shape) -> Array:
    """The direction that it is cut across."""
    if isinstance(shape, Box):
        k = int(np.argmax(shape.half))
        return array((shape.frame.x, shape.frame.y, shape.frame.z)[k])
    if isinstance(shape, Plate):
        left, low, right, high = shape.contour.bounds
        return array(shape.frame.x if right - left >= high - low else shape.frame.y)
    if isinstance(shape, Cylinder | Capsule | Cone) and math.dist(shape.start, shape.end) > 0:
        return unit(array(shape.end) - array(shape.start))
    return array((0.0, 0.0, 1.0))


def _slices(solid: bodies.Body, along: Array, count: int) -> Iterator[bodies.Body]:
    reach = bodies.corners(solid) @ along
    marks = np.linspace(float(reach.min()), float(reach.max()), count + 1)
    for low, high in pairwise(marks.tolist()):
        part = solid
        if high < marks[-1]:
            part = bodies.upto(part, _at(along, high), along)
        if low > marks[0]:
            part = bodies.upto(part, _at(along, low), -along)
        yield part


def _at(along: Array, distance: float) -> Vec:
    return vec(distance * along)
