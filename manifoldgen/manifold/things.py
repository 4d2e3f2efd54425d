"""What stands in the way and what lies on the shelf: obstacles and stock, as the file gives them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from manifoldgen import readers
from manifoldgen.errors import ManifoldgenError
from manifoldgen.geometry.pose import Frame, X, Y
from manifoldgen.geometry.pose import Z as UP
from manifoldgen.geometry.shapes import Box, Cylinder, Shape
from manifoldgen.geometry.vectors import Vec, array, vec
from manifoldgen.manifold import head
from manifoldgen.manifold.model import Obstacle, StockItem
from manifoldgen.manifold.place import place
from manifoldgen.parameters import obstacles as written
from manifoldgen.parameters.job import Parameters
from manifoldgen.parameters.stock import StockItem as WrittenItem
from manifoldgen.readers import Scan

LEAST_SIZE = 200.0  # mm: no manifold is smaller


def obstacles(job: Parameters, points: Mapping[str, Vec]) -> tuple[Obstacle, ...]:
    """The job's obstacles and the turbo's body, as far as their shape is known (see `unplaced`).

    points : the surveyed points by name.
    """
    made = [_placed(o, job, points, ("obstacles", i)) for i, o in enumerate(job.obstacles)]
    made += [
        _placed(o, job, points, ("turbo", "body", i), ("turbo flange",)) for i, o in enumerate(job.turbo.body)
    ]
    return tuple(o for o in made if o is not None)


def unplaced(job: Parameters, points: Mapping[str, Vec]) -> tuple[str, ...]:
    """Names of obstacles that have no place: shapes on points that the survey does not fix."""
    every: Iterable[written.Obstacle] = (*job.obstacles, *job.turbo.body)
    return tuple(o.name for o in every if o.mesh is None and _shape(o, points) is None)


def _placed(
    o: written.Obstacle,
    job: Parameters,
    points: Mapping[str, Vec],
    keys: tuple[str | int, ...],
    joined: tuple[str, ...] = (),
) -> Obstacle | None:
    shape = _scan(o, job, keys) if o.mesh is not None else _shape(o, points)
    if shape is None:
        return None
    where = job.where(*keys)
    return Obstacle(o.name, shape, o.clearance, o.heat_sensitive, o.mounted, where, joined, _named(o))


def _scan(o: written.Obstacle, job: Parameters, keys: tuple[str | int, ...]) -> Scan:
    try:
        return readers.read(job.base / str(o.mesh), o.scale, _size(job))
    except ManifoldgenError as error:
        raise ManifoldgenError(f"{place(job, *keys, 'mesh')}{o.name}: {error}") from None


def _size(job: Parameters) -> float:
    """The job's own extent, mm, roughly: over the ports and to the turbine, if that is typed."""
    ports = [p.at for p in head.ports(job)]
    at = job.turbo.inlet.at
    reach = array(ports if isinstance(at, str) else [*ports, at])
    return max(LEAST_SIZE, float((reach.max(axis=0) - reach.min(axis=0)).max()))


def _shape(o: written.Obstacle, points: Mapping[str, Vec]) -> Shape | None:
    shape = o.box or o.cylinder
    if shape is None:
        return None
    start, end = (points.get(p) if isinstance(p, str) else vec(p) for p in (shape.from_, shape.to))
    if start is None or end is None:
        return None
    if isinstance(shape, written.Cylinder):
        return Cylinder(start, end, shape.radius)
    low, high = array(start), array(end)
    return Box(Frame(vec((low + high) / 2), X, Y, UP), vec(abs(high - low) / 2))


def _named(o: written.Obstacle) -> tuple[str, ...]:
    """The surveyed points that a shape hangs on."""
    shape = o.box or o.cylinder
    return tuple(p for p in (shape.from_, shape.to) if isinstance(p, str)) if shape else ()


def stock(job: Parameters) -> tuple[StockItem, ...]:
    """The stock; od and wall are the item's own or those of its tube."""
    return tuple(_item(item, job, i) for i, item in enumerate(job.stock))


def _item(item: WrittenItem, job: Parameters, index: int) -> StockItem:
    tube = getattr(job.tubes, item.tube) or job.tubes.runner
    legs = item.legs or (0.0, 0.0)
    if item.centre_to_end is not None and item.clr and item.angle:
        leg = max(0.0, item.centre_to_end - item.clr * math.tan(math.radians(item.angle / 2)))
        legs = (leg, leg)
    return StockItem(
        name=item.name,
        kind=item.kind,
        tube=item.tube,
        od=item.od or tube.od,
        wall=item.wall or tube.wall,
        clr=item.clr or 0.0,
        angle=item.angle or 0.0,
        legs=legs,
        length=item.length or 0.0,
        whole=item.centre_to_end is not None,
        price=item.price,
        count=item.count,
        where=job.where("stock", index),
    )
