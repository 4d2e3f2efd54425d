"""PDF of a drawing, 1 : 1 in mm, letters embedded, the same bytes for the same drawing."""

from __future__ import annotations

import io
import math
from pathlib import Path
from typing import Any

from manifoldgen.drawing.extent import edges
from manifoldgen.drawing.figure import (
    Circle,
    EdgeLine,
    Figure,
    Item,
    PaperDocument,
    Pen,
    Picture,
    SheetPage,
    Text,
)
from manifoldgen.drawing.lettering import CAPITAL, clean, drawable, face, text_width
from manifoldgen.errors import OutputError
from manifoldgen.geometry.edges import ArcEdge, Edge

__all__ = ["pdf_bytes", "text_width", "write_pdf"]

MM = 72 / 25.4  # points a mm
_STEP = math.pi / 4  # an arc up to this is one curve: off by less than 5e-6 of its radius
_ROUND_JOIN = 1


def write_pdf(path: Path | str, document: PaperDocument) -> None:
    """Write the pages of a document; OutputError says why it could not be written."""
    try:
        Path(path).write_bytes(pdf_bytes(document))
    except OSError as error:
        raise OutputError(f"'{path}' cannot be written: {error.strerror or error}") from None


def pdf_bytes(document: PaperDocument) -> bytes:
    """The file's content."""
    from reportlab.pdfgen.canvas import Canvas

    face(), face(bold=True)  # registered before the first page
    buffer = io.BytesIO()
    canvas = Canvas(buffer, invariant=1, pageCompression=1, initialFontName=face().name)
    canvas.setTitle(clean(document.title))
    canvas.setCreator("manifoldgen")
    canvas.setAuthor("manifoldgen")
    canvas.setViewerPreference(
        "PrintScaling", "None"
    )  # a viewer that fits to the page would spoil every template
    for number, page in enumerate(document.pages, start=1):
        _page(canvas, page, number)
    canvas.save()
    return buffer.getvalue()


def _page(canvas: Any, page: SheetPage, number: int) -> None:  # noqa: ANN401 - reportlab's canvas is not typed
    canvas.setPageSize((page.width * MM, page.height * MM))
    canvas.bookmarkPage(f"page{number}")
    canvas.addOutlineEntry(drawable(page.title) or f"Page {number}", f"page{number}")
    canvas.setLineJoin(_ROUND_JOIN)
    _figure(canvas, page.figure)
    canvas.showPage()


def _figure(canvas: Any, figure: Figure) -> None:  # noqa: ANN401
    for item in figure.items:
        _item(canvas, item)


def _item(canvas: Any, item: Item) -> None:  # noqa: ANN401
    if isinstance(item, EdgeLine):
        _outline(canvas, item)
    elif isinstance(item, Circle):
        (x, y), r = item.centre, item.radius
        halves = ((x + r, y, 1.0), (x - r, y, 1.0))
        _outline(canvas, EdgeLine(halves, pen=item.pen, fill=item.fill))
    elif isinstance(item, Text):
        _text(canvas, item)
    elif isinstance(item, Picture):
        _picture(canvas, item)
    else:
        canvas.saveState()
        frame = canvas.beginPath()
        frame.rect(item.at[0] * MM, item.at[1] * MM, item.width * MM, item.height * MM)
        canvas.clipPath(frame, stroke=0, fill=0)
        _figure(canvas, item.figure)
        canvas.restoreState()


def _outline(canvas: Any, item: EdgeLine) -> None:  # noqa: ANN401
    if (item.pen is None and item.fill is None) or not item.vertices:
        return
    drawn = canvas.beginPath()
    drawn.moveTo(item.vertices[0][0] * MM, item.vertices[0][1] * MM)
    for edge in edges(item):
        _edge(drawn, edge)
    if item.closed:
        drawn.close()
    if item.pen is not None:
        _take(canvas, item.pen)
    if item.fill is not None:
        canvas.setFillGray(item.fill)
    canvas.drawPath(drawn, stroke=int(item.pen is not None), fill=int(item.fill is not None))


def _edge(drawn: Any, edge: Edge) -> None:  # noqa: ANN401
    if not isinstance(edge, ArcEdge):
        drawn.lineTo(edge.end[0] * MM, edge.end[1] * MM)
        return
    parts = max(1, math.ceil(abs(edge.sweep) / _STEP - 1e-9))
    step = edge.sweep / parts
    handle = 4 / 3 * math.tan(step / 4) * edge.radius  # of the curve that meets the arc at ends and middle
    for k in range(parts):
        a, b = edge.first + k * step, edge.first + (k + 1) * step
        (x0, y0), (x3, y3) = edge.towards(a), edge.end if k == parts - 1 else edge.towards(b)
        x1, y1 = x0 - handle * math.sin(a), y0 + handle * math.cos(a)
        x2, y2 = x3 + handle * math.sin(b), y3 - handle * math.cos(b)
        drawn.curveTo(x1 * MM, y1 * MM, x2 * MM, y2 * MM, x3 * MM, y3 * MM)


def _take(canvas: Any, pen: Pen) -> None:  # noqa: ANN401
    canvas.setLineWidth(pen.width * MM)
    canvas.setStrokeGray(pen.grey)
    canvas.setDash([d * MM for d in pen.dash])


def _text(canvas: Any, item: Text) -> None:  # noqa: ANN401
    line = drawable(item.text)
    if not line.strip():
        return
    canvas.saveState()
    canvas.setFillGray(item.grey)
    canvas.setFont(face(bold=item.bold).name, item.size / CAPITAL * MM)
    canvas.translate(item.at[0] * MM, item.at[1] * MM)
    if item.angle:
        canvas.rotate(item.angle)
    draw = {"left": canvas.drawString, "middle": canvas.drawCentredString, "right": canvas.drawRightString}
    draw[item.anchor](0, 0, line)
    canvas.restoreState()


def _picture(canvas: Any, item: Picture) -> None:  # noqa: ANN401
    from reportlab.lib.utils import ImageReader

    try:
        # read from memory: named by content, not by where the file lies
        image = ImageReader(io.BytesIO(item.path.read_bytes()))
    except OSError as error:
        raise OutputError(f"the picture '{item.path}' cannot be read: {error.strerror or error}") from None
    x, y, w, h = (v * MM for v in (*item.at, item.width, item.height))
    canvas.drawImage(image, x, y, w, h, mask="auto")
