"""What stands in the way and what lies on the shelf: obstacles and stock, as the file gives them."""

from __future__ import annotations

import math
from collections.abc import Iterable

from manifoldgen.geometry.pose import Frame, X, Y
from manifoldgen.geometry.pose import Z as UP
from manifoldgen.geometry.shapes import Box, Cylinder, Shape
from manifoldgen.geometry.vectors import Vec, array, vec
from manifoldgen.manifold.model import Obstacle, StockItem
from manifoldgen.parameters import obstacles as written
from manifoldgen.parameters.job import Parameters
from manifoldgen.parameters.stock import StockItem as WrittenItem


def obstacles(job: Parameters) -> tuple[Obstacle, ...]:
    """The job's obstacles and the turbo's body, as far as their shape is known (see `unplaced`)."""
    made = [_placed(o, job, ("obstacles", i)) for i, o in enumerate(job.obstacles)]
    made += [_placed(o, job, ("turbo", "body", i), ("turbo flange",)) for i, o in enumerate(job.turbo.body)]
    return tuple(o for o in made if o is not None)


def unplaced(job: Parameters) -> tuple[str, ...]:
    """Names of obstacles that are not read yet: scans, and shapes that hang on surveyed points."""
    every: Iterable[written.Obstacle] = (*job.obstacles, *job.turbo.body)
    return tuple(o.name for o in every if _shape(o) is None)


def _placed(
    o: written.Obstacle, job: Parameters, keys: tuple[str | int, ...], joined: tuple[str, ...] = ()
) -> Obstacle | None:
    shape = _shape(o)
    if shape is None:
        return None
    return Obstacle(o.name, shape, o.clearance, o.heat_sensitive, o.mounted, job.where(*keys), joined)


def _shape(o: written.Obstacle) -> Shape | None:
    if o.box is not None and not isinstance(o.box.from_, str) and not isinstance(o.box.to, str):
        low, high = array(o.box.from_), array(o.box.to)
        return Box(Frame(vec((low + high) / 2), X, Y, UP), vec(abs(high - low) / 2))
    c = o.cylinder
    if c is not None and not isinstance(c.from_, str) and not isinstance(c.to, str):
        return Cylinder(_vec(c.from_), _vec(c.to), c.radius)
    return None


def _vec(p: tuple[float, float, float]) -> Vec:
    return vec(p)


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
        where=job.where("stock", index),
    )
