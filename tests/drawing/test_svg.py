"""SVG: well-formed whatever a text holds, in mm, with every shape in its place."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from manifoldgen.drawing.figure import Circle, EdgeLine, Figure, SheetPage, Text, Window, outline
from manifoldgen.drawing.svg import svg_text, write_svg
from manifoldgen.geometry import contour

SVG = "{http://www.w3.org/2000/svg}"


def test_size_and_shapes_are_in_mm():
    """Width and height carry mm; y is turned over; a half round is one arc command."""
    page = SheetPage(
        210, 297, Figure((Circle((10, 20), 5), EdgeLine(((0, 0, 1.0), (30, 0, 0.0)), closed=False))), "page"
    )
    root = ElementTree.fromstring(svg_text(page))  # noqa: S314 - our own text
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("210mm", "297mm", "0 0 210 297")
    circle = root.find(f"{SVG}circle")
    assert circle is not None
    assert (circle.get("cx"), circle.get("cy"), circle.get("r")) == ("10", "277", "5")
    path = root.find(f"{SVG}path")
    assert path is not None
    # counter-clockwise with y up is anti-clockwise on the page: sweep flag 0 (SVG 1.1, 8.3.8)
    assert path.get("d") in {"M0 297A15 15 0 0 0 30 297", "M0 297A15 15 0 1 0 30 297"}


@pytest.mark.parametrize(
    "text", ["<script>alert('x')</script> & \"q\" ]]>", "\u202eab\x00\x1b\ufffe", "z" * 10_000]
)
def test_text_stays_text(text):
    """Markup, controls and turned writing in a text make no element of their own."""
    items = (Text((0, 0), text, 3.0, angle=45.0), outline(contour.circle(5)))
    drawn = svg_text(Figure((Window((-50, -50), 100, 100, Figure(items)),)), title=text)
    root = ElementTree.fromstring(drawn)  # noqa: S314
    assert {e.tag.removeprefix(SVG) for e in root.iter()} == {
        "svg",
        "title",
        "clipPath",
        "rect",
        "g",
        "text",
        "path",
    }


def test_a_figure_is_as_large_as_its_items(tmp_path):
    """The picture ends where the drawing ends; the file is the text."""
    figure = Figure(
        (
            outline(contour.rectangle(60, 30), None).__class__(
                contour.rectangle(60, 30).vertices, pen=None, fill=0.5
            ),
        )
    )
    write_svg(tmp_path / "f.svg", figure)
    root = ElementTree.fromstring((tmp_path / "f.svg").read_text("utf-8"))  # noqa: S314
    assert (root.get("width"), root.get("height")) == ("60mm", "30mm")
