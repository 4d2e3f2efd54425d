"""A neutral 2-D drawing: lines, arcs, outlines, text and pictures in mm, y up; PDF, DXF and SVG are read off it.

    Document ── Page (width, height) ── Figure ── items

A figure knows nothing of paper or file formats; a page is a figure of a given size whose origin is the
lower left corner. Everything is frozen; `moved` and `scaled` make new ones.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from manifoldgen.geometry.contour import Contour, Vertex

Point = tuple[float, float]
Anchor = Literal["left", "middle", "right"]

THIN, MEDIUM, THICK = 0.18, 0.35, 0.7  # mm, pens (ISO 128-2 line widths)


@dataclass(frozen=True)
class Pen:
    """How a line looks.  width : mm.  grey : 0 black … 1 white.  dash : mm on, off, …; empty = solid."""

    width: float = MEDIUM
    grey: float = 0.0
    dash: tuple[float, ...] = ()


FINE = Pen(THIN)
PLAIN = Pen()
BOLD = Pen(THICK)
HIDDEN = Pen(THIN, dash=(2.0, 1.0))
CENTRE = Pen(THIN, dash=(6.0, 1.5, 1.0, 1.5))


@dataclass(frozen=True)
class EdgeLine:
    """Straight and round edges.  vertices : (x, y, bulge), as in `geometry.contour`.  fill : grey, or None."""

    vertices: tuple[Vertex, ...]
    closed: bool = True
    pen: Pen | None = PLAIN
    fill: float | None = None
    layer: str = ""


@dataclass(frozen=True)
class Circle:
    """A whole circle."""

    centre: Point
    radius: float
    pen: Pen | None = PLAIN
    fill: float | None = None
    layer: str = ""


@dataclass(frozen=True)
class Text:
    """One line of text.  at : on the baseline.  size : height of the capitals, mm.  angle : degrees, turned left."""

    at: Point
    text: str
    size: float = 2.5
    anchor: Anchor = "left"
    angle: float = 0.0
    bold: bool = False
    grey: float = 0.0
    layer: str = ""


@dataclass(frozen=True)
class Picture:
    """A PNG file.  at : lower left corner; width, height : mm on paper.  DXF leaves it out."""

    at: Point
    width: float
    height: float
    path: Path
    layer: str = ""


@dataclass(frozen=True)
class Window:
    """A part of a drawing: what lies outside the rectangle is not shown.  DXF shows all of it.

    at : lower left corner of the rectangle, in the drawing's own coordinates; width, height : mm.
    """

    at: Point
    width: float
    height: float
    figure: Figure


Item = EdgeLine | Circle | Text | Picture | Window


@dataclass(frozen=True)
class Figure:
    """A drawing: items in the order they are drawn, later ones on top."""

    items: tuple[Item, ...] = ()

    def __add__(self, other: Figure) -> Figure:
        """Both, the other on top."""
        return Figure((*self.items, *other.items))

    def moved(self, dx: float, dy: float) -> Figure:
        """The same drawing shifted, mm."""
        return Figure(tuple(_moved(item, dx, dy) for item in self.items))

    def on_layer(self, layer: str) -> Figure:
        """The same drawing with every item on one layer."""
        return Figure(tuple(_on_layer(item, layer) for item in self.items))


@dataclass(frozen=True)
class SheetPage:
    """A sheet of paper, mm; the figure's origin is its lower left corner.  title : for the reader's index."""

    width: float
    height: float
    figure: Figure
    title: str = ""


@dataclass(frozen=True)
class PaperDocument:
    """Pages in order, and what the file calls itself."""

    title: str
    pages: tuple[SheetPage, ...]


def line(a: Point, b: Point, pen: Pen = PLAIN, layer: str = "") -> EdgeLine:
    """A straight line."""
    return EdgeLine(((*a, 0.0), (*b, 0.0)), closed=False, pen=pen, layer=layer)


def polyline(
    points: Iterable[Point], pen: Pen = PLAIN, *, closed: bool = False, fill: float | None = None
) -> EdgeLine:
    """Straight lines from point to point."""
    return EdgeLine(tuple((x, y, 0.0) for x, y in points), closed=closed, pen=pen, fill=fill)


def box(
    x: float, y: float, width: float, height: float, *, pen: Pen | None = PLAIN, fill: float | None = None
) -> EdgeLine:
    """A rectangle by its lower left corner."""
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    return EdgeLine(tuple((u, v, 0.0) for u, v in corners), pen=pen, fill=fill)


def outline(contour: Contour, pen: Pen | None = PLAIN, layer: str = "") -> EdgeLine:
    """A closed contour as it is."""
    return EdgeLine(contour.vertices, pen=pen, layer=layer)


def _on_layer(item: Item, layer: str) -> Item:
    if isinstance(item, Window):
        return replace(item, figure=item.figure.on_layer(layer))
    return replace(item, layer=layer)


def _moved(item: Item, dx: float, dy: float) -> Item:
    if isinstance(item, Window):
        at = (item.at[0] + dx, item.at[1] + dy)
        return replace(item, at=at, figure=item.figure.moved(dx, dy))
    if isinstance(item, EdgeLine):
        return replace(item, vertices=tuple((x + dx, y + dy, b) for x, y, b in item.vertices))
    if isinstance(item, Circle):
        return replace(item, centre=(item.centre[0] + dx, item.centre[1] + dy))
    return replace(item, at=(item.at[0] + dx, item.at[1] + dy))
