"""Gasket drawings with the habits of other programs, written by ezdxf alone."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import ezdxf

# the gasket: a plate 300 × 80 with corners of 15, three ports, six holes; mm about the middle of port 1
PLATE = (-50.0, -40.0, 250.0, 40.0)
CORNER = 15.0
PORTS = ((0.0, 0.0), (100.0, 0.0), (200.0, 0.0))
OVAL = (42.0, 34.0)
HOLES = tuple((x + dx, dy) for x, _ in PORTS for dx, dy in ((-35.0, 25.0), (35.0, -25.0)))
HOLE = 8.5

PLATE_AREA = 300 * 80 - (4 - math.pi) * CORNER**2  # closed form
OVAL_AREA = (42 - 34) * 34 + math.pi * 17**2

Place = tuple[float, float]


def new(unit: int | None = 4, version: str = "R2000"):
    """An empty drawing that says its unit ($INSUNITS), or does not."""
    doc = ezdxf.new(version)
    doc.header["$INSUNITS"] = 0 if unit is None else unit
    return doc


def edges(at: Place, size: Place, corner: float) -> list[tuple[str, tuple[float, ...]]]:
    """A rounded rectangle as loose lines (x0, y0, x1, y1) and arcs (cx, cy, r, start, end degrees)."""
    (x, y), a, b, r = at, size[0] / 2, size[1] / 2, corner
    made: list[tuple[str, tuple[float, ...]]] = []
    if a > r:
        made += [
            ("line", (x - a + r, y - b, x + a - r, y - b)),
            ("line", (x + a - r, y + b, x - a + r, y + b)),
        ]
    if b > r:
        made += [
            ("line", (x + a, y - b + r, x + a, y + b - r)),
            ("line", (x - a, y + b - r, x - a, y - b + r)),
        ]
    for k, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        made.append(("arc", (x + sx * (a - r), y + sy * (b - r), r, 90.0 * k, 90.0 * k + 90)))
    return made


def loose(
    space, at: Place, size: Place, corner: float, *, k: float = 1.0, shift: Place = (0.0, 0.0), **look
) -> None:
    """The edges drawn one by one, every other line backwards."""
    for n, (kind, v) in enumerate(edges((at[0] + shift[0], at[1] + shift[1]), size, corner)):
        w = [k * u for u in v]
        if kind == "line":
            start, end = ((w[0], w[1]), (w[2], w[3]))[:: -1 if n % 2 else 1]
            space.add_line(start, end, dxfattribs=look)
        else:
            space.add_arc((w[0], w[1]), w[2], v[3], v[4], dxfattribs=look)


def draw(space, *, k: float = 1.0, shift: Place = (0.0, 0.0)) -> None:
    """The whole gasket in loose lines, arcs and circles."""
    middle = ((PLATE[0] + PLATE[2]) / 2, (PLATE[1] + PLATE[3]) / 2)
    loose(space, middle, (300.0, 80.0), CORNER, k=k, shift=shift)
    for port in PORTS:
        loose(space, port, OVAL, OVAL[1] / 2, k=k, shift=shift)
    for x, y in HOLES:
        space.add_circle((k * (x + shift[0]), k * (y + shift[1])), k * HOLE / 2)


def saved(folder: Path, fill: Callable, unit: int | None = 4, version: str = "R2000") -> Path:
    """A file with what `fill(doc)` draws."""
    doc = new(unit, version)
    fill(doc)
    path = folder / "gasket.dxf"
    doc.saveas(path)
    return path
