"""Gasket drawings and scan traces that the parameter file names, in their place on the flange.

A drawing is seen looking upstream, as x and y of every flange are counted. It is shifted, never turned:

    head flange   port 1's opening (the leftmost, or the rightmost with `first: right`) comes to where port 1
                  stands; a drawing without an opening for every cylinder keeps its own origin as port 1's middle
    other flanges the middle of the only large opening comes to the flange's middle; else the drawing's own origin
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from manifoldgen.errors import GeometryError, ManifoldgenError, Where
from manifoldgen.geometry import contour
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.edges import Point
from manifoldgen.manifold.bolted import Opening
from manifoldgen.manifold.place import place
from manifoldgen.parameters.flange import Drawing
from manifoldgen.parameters.job import Parameters
from manifoldgen.readers.dxf import TOL, DrawnFlange, diameter, middle, read_dxf

HEAD = "head_flange"
ASKEW = 0.5  # mm: openings that stand further from the written ports are told

Keys = tuple[str | int, ...]


@dataclass(frozen=True)
class Drawings:
    """What drawings give, in the flanges' own axes.

    outlines : by block (head_flange, turbo, wastegate).  openings : of the ports in cylinder order, where
    drawn.  told : what was taken for what, and where the file names the drawing.
    """

    outlines: Mapping[str, Contour] = field(default_factory=dict)
    openings: tuple[Opening, ...] = ()
    told: tuple[tuple[str, Where | None], ...] = ()


NONE = Drawings()


def drawings(job: Parameters) -> tuple[Parameters, Drawings]:
    """The job with ports, studs and bolts placed where its drawings have them, and what else they give.

    Raises ManifoldgenError with the place in the file for a drawing that cannot be used.
    """
    if not any(block.dxf for _, block in job.drawings()):
        return job, NONE
    placed = _Placed(job)
    job = placed.ports()
    for keys, block in job.drawings():
        if block.dxf and keys[-1] in {"studs", "bolts"}:
            job = _with(job, keys, {"positions": placed.holes(keys, block), "dxf": None})
    outlines = {
        str(keys[0]): placed.outline(keys, block)
        for keys, block in job.drawings()
        if block.dxf and keys[-1] == "outline"
    }
    return job, Drawings(outlines, placed.openings, tuple(placed.told.items()))


class _Placed:
    """Drawings read once each, with the shift that puts them on their flange."""

    def __init__(self, job: Parameters) -> None:
        self.job = job
        self.told: dict[str, Where | None] = {}
        self.openings: tuple[Opening, ...] = ()
        self._read: dict[tuple[Any, ...], tuple[DrawnFlange, Point]] = {}

    def ports(self) -> Parameters:
        """The job with the ports' centres from their drawing, if they have one."""
        job, block = self.job, self.job.head_flange.ports
        if not block.dxf:
            return job
        keys: Keys = (HEAD, "ports")
        drawn, (dx, dy) = self._at(keys, block)
        if len(drawn.openings) != job.cylinders:
            raise self._refused(
                keys,
                f"it has {len(drawn.openings)} large openings, engine.firing_order {job.cylinders} cylinders: "
                "leave one for each port in the drawing, or write the ports out",
            )
        order = drawn.openings if block.first == "left" else drawn.openings[::-1]
        centred = [_opening(c.moved(dx, dy)) for c in order]
        if block.shape is None:
            if job.head_flange.transition == "tube" and any(o.kind == "drawn" for o in centred):
                raise self._refused(
                    keys,
                    "a formed transition tube begins at a round, an oval or a rectangle, not at another drawn shape: "
                    "take transition: flange, or give ports.shape",
                )
            self.openings = tuple(centred)
        self.job = _with(
            job, keys, {"positions": {n: o.at for n, o in enumerate(centred, start=1)}, "dxf": None}
        )
        return self.job

    def holes(self, keys: Keys, block: Drawing) -> tuple[Point, ...]:
        """Centres of the small circles, from left to right."""
        drawn, (dx, dy) = self._at(keys, block)
        if not drawn.holes:
            raise self._refused(keys, "there are no small circles in it: write the positions out")
        return tuple((round(x + dx, 6), round(y + dy, 6)) for (x, y), _ in drawn.holes)

    def outline(self, keys: Keys, block: Drawing) -> Contour:
        """The outer edge."""
        drawn, (dx, dy) = self._at(keys, block)
        return drawn.outline.moved(dx, dy)

    def _at(self, keys: Keys, block: Drawing) -> tuple[DrawnFlange, Point]:
        head = keys[0] == HEAD
        name = (keys[0], block.dxf, block.scale, block.mirror)
        if name not in self._read:
            try:
                drawn = read_dxf(self.job.base / str(block.dxf), scale=block.scale, mirror=block.mirror)
            except ManifoldgenError as error:
                raise self._refused(keys, str(error)) from None
            shift, words = self._on_head(drawn) if head else _on_flange(drawn)
            side = (
                "seen from the other side, turned over"
                if block.mirror
                else "seen looking upstream, into the exhaust"
            )
            self._read[name] = (drawn, shift)
            flange = str(keys[0]).replace("_", " ")
            self.told[f"{flange}: {drawn.told}; {side}; {words}"] = self.job.where(*keys, "dxf")
        return self._read[name]

    def _on_head(self, drawn: DrawnFlange) -> tuple[Point, str]:
        block, n = self.job.head_flange.ports, self.job.cylinders
        if len(drawn.openings) != n:
            return (0.0, 0.0), "its origin taken for the middle of port 1"
        centres = [middle(c) for c in drawn.openings]
        if block.dxf:
            first = centres[0 if block.first == "left" else -1]
            return (-first[0], -first[1]), f"its {block.first}most opening is port 1, at x 0, y 0"
        written = [block.place(k) for k in range(1, n + 1)]
        ranks = sorted(range(n), key=lambda k: written[k])
        mine = dict(zip(ranks, centres, strict=True))
        dx, dy = written[0][0] - mine[0][0], written[0][1] - mine[0][1]
        off = max(math.dist((mine[k][0] + dx, mine[k][1] + dy), written[k]) for k in range(n))
        told = "its opening of port 1 put on port 1"
        if off > ASKEW:
            told += f", but another of its openings then stands {off:.1f} mm from the port that is written"
        return (dx, dy), told

    def _refused(self, keys: Keys, sentence: str) -> ManifoldgenError:
        return ManifoldgenError(f"{place(self.job, *keys, 'dxf')}{'.'.join(map(str, keys))}: {sentence}")


def _on_flange(drawn: DrawnFlange) -> tuple[Point, str]:
    if len(drawn.openings) != 1:
        return (0.0, 0.0), "its origin taken for the flange's middle"
    x, y = middle(drawn.openings[0])
    return (-x, -y), "its opening put in the flange's middle"


def _opening(drawn: Contour) -> Opening:
    """A drawn loop as an opening: as the round, oval or rectangle that it is within 0.05 mm, else as drawn."""
    x, y = middle(drawn)
    at = (round(x, 6), round(y, 6))  # what is left of arithmetic in inches is no measure
    loop = drawn.moved(-at[0], -at[1])
    x0, y0, x1, y1 = loop.bounds
    width, height = round(x1 - x0, 6), round(y1 - y0, 6)
    across = diameter(loop)
    if across is not None:
        across = round(across, 6)
        return Opening("round", across, across, across / 2, at, contour.circle(across))
    least = min(width, height)
    corner = math.sqrt(max(width * height - loop.area, 0.0) / (4 - math.pi))
    tries: Sequence[tuple[Any, float, Callable[[], Contour]]] = (
        ("oval", least / 2, lambda: contour.oval(width, height)),
        ("rectangle", corner, lambda: contour.rectangle(width, height, corner)),
    )
    for kind, radius, make in tries:
        try:
            plain = make()
        except GeometryError:
            continue
        if all(abs(contour.distance(plain, p)) <= TOL for p in contour.points(loop, TOL)):
            return Opening(kind, width, height, radius, at, plain)
    return Opening("drawn", width, height, 0.0, at, loop)


def _with(job: Parameters, keys: Keys, update: Mapping[str, Any]) -> Parameters:
    """The job with one block changed; its places stay."""
    chain: list[Any] = [job]
    for key in keys:
        chain.append(getattr(chain[-1], str(key)))
    changed = chain[-1].model_copy(update=update)
    for block, key in zip(reversed(chain[:-1]), reversed(keys), strict=True):
        changed = block.model_copy(update={str(key): changed})
    made: Parameters = changed
    return made
