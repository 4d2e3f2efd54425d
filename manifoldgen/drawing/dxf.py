"""DXF of a drawing in mm: polylines with bulges, circles, lines, arcs, text, on the drawing's layers.

Closed outlines are closed polylines, never loose pieces, splines or ellipses. Fills and pictures are paper's
alone and left out. The same drawing gives the same bytes.
"""

from __future__ import annotations

import io
import logging
import math
from pathlib import Path
from typing import Any

from manifoldgen.drawing.extent import edges, extent
from manifoldgen.drawing.figure import Circle, EdgeLine, Figure, Item, Pen, Text
from manifoldgen.drawing.lettering import LONGEST, clean
from manifoldgen.errors import OutputError
from manifoldgen.geometry.edges import ArcEdge
from manifoldgen.manifold.workshop import DxfVersion

# what the eye tells apart on screen; cutters go by the layer's name
CUT_LAYERS = frozenset({"CUT_OUTER", "CUT_INNER", "CUT_HOLES"})
COLOURS = {"CUT_OUTER": 1, "CUT_INNER": 5, "CUT_HOLES": 3, "ETCH": 6, "NOTES": 8}
_PLAIN_COLOUR = 7
_MM, _METRIC = 4, 1  # $INSUNITS, $MEASUREMENT


def write_dxf(path: Path | str, figure: Figure, version: DxfVersion = "R2010") -> None:
    """Write a figure to model space, 1 : 1 in mm; OutputError says why it could not be written."""
    try:
        Path(path).write_bytes(dxf_bytes(figure, version))
    except OSError as error:
        raise OutputError(f"'{path}' cannot be written: {error.strerror or error}") from None


def dxf_bytes(figure: Figure, version: DxfVersion = "R2010") -> bytes:
    """The file's content."""
    from ezdxf import new, options  # type: ignore[attr-defined]  # re-exported without saying so

    log = logging.getLogger("ezdxf")
    kept = options.write_fixed_meta_data_for_testing, log.level
    options.write_fixed_meta_data_for_testing = True  # no dates, no random ids
    log.setLevel(logging.ERROR)  # it warns of what R12 cannot say
    try:
        doc = new(version)
        if version != "R12":  # which has no word for units: its readers ask
            doc.units = _MM
            doc.header["$MEASUREMENT"] = _METRIC
        space = doc.modelspace()
        for item in figure.items:
            _item(doc, space, item, version)
        box = extent(figure)
        doc.header["$EXTMIN"], doc.header["$EXTMAX"] = (box.left, box.low, 0.0), (box.right, box.high, 0.0)
        # the library fills this table from a set, in another order every time
        doc.classes.add_required_classes(doc.dxfversion)
        doc.classes.classes = dict(sorted(doc.classes.classes.items()))
        stream = io.StringIO(newline="")
        doc.write(stream)
        return stream.getvalue().encode(doc.output_encoding, errors="dxfreplace")
    finally:
        options.write_fixed_meta_data_for_testing = kept[0]
        log.setLevel(kept[1])


def _item(doc: Any, space: Any, item: Item, version: DxfVersion) -> None:  # noqa: ANN401 - ezdxf's own objects
    if isinstance(item, EdgeLine):
        if item.pen is not None:
            _outline(space, item, _look(doc, item.layer, item.pen, version), version)
    elif isinstance(item, Circle):
        if item.pen is not None:
            space.add_circle(item.centre, item.radius, dxfattribs=_look(doc, item.layer, item.pen, version))
    elif isinstance(item, Text):
        _text(doc, space, item)
    elif hasattr(item, "figure"):
        for inner in item.figure.items:
            _item(doc, space, inner, version)


def _outline(space: Any, item: EdgeLine, look: dict[str, Any], version: DxfVersion) -> None:  # noqa: ANN401
    drawn = edges(item)
    if not item.closed and len(drawn) == 1:
        edge = drawn[0]
        if isinstance(edge, ArcEdge):
            first, last = math.degrees(edge.first), math.degrees(edge.first + edge.sweep)
            if edge.sweep < 0:  # a DXF arc runs counter-clockwise
                first, last = last, first
            space.add_arc(edge.centre, edge.radius, first, last, dxfattribs=look)
        else:
            space.add_line(edge.start, edge.end, dxfattribs=look)
        return
    if version == "R12":
        space.add_polyline2d(item.vertices, format="xyb", close=item.closed, dxfattribs=look)
    else:
        space.add_lwpolyline(item.vertices, format="xyb", close=item.closed, dxfattribs=look)


def _text(doc: Any, space: Any, item: Text) -> None:  # noqa: ANN401
    from ezdxf.enums import TextEntityAlignment as Align

    line = _plain(item.text)
    if not line:
        return
    _layer(doc, item.layer)
    look = {"layer": item.layer or "0", "height": item.size, "rotation": item.angle}
    anchor = {"left": Align.LEFT, "middle": Align.CENTER, "right": Align.RIGHT}[item.anchor]
    space.add_text(line, dxfattribs=look).set_placement(item.at, align=anchor)


def _plain(text: str) -> str:
    """One line in which nothing is a DXF control code."""
    line = clean(text)[:LONGEST].replace("\\U+", "\\ U+").replace("\\M+", "\\ M+")
    while "%%" in line:
        line = line.replace("%%", "% %")
    return line.replace("^", "^ ").strip()


def _look(doc: Any, layer: str, pen: Pen, version: DxfVersion) -> dict[str, Any]:  # noqa: ANN401
    _layer(doc, layer)
    look: dict[str, Any] = {"layer": layer or "0"}
    if pen.dash:
        look["linetype"] = _linetype(doc, pen.dash)
    if version != "R12" and layer not in CUT_LAYERS:
        look["lineweight"] = _weight(pen.width)
    return look


def _layer(doc: Any, name: str) -> None:  # noqa: ANN401
    if name and name not in doc.layers:
        doc.layers.add(name, color=COLOURS.get(name, _PLAIN_COLOUR))


def _linetype(doc: Any, dash: tuple[float, ...]) -> str:  # noqa: ANN401
    name = "DASH_" + "_".join(f"{round(d * 100)}" for d in dash)
    if name not in doc.linetypes:
        signed = [d if k % 2 == 0 else -d for k, d in enumerate(dash)]
        doc.linetypes.add(name, pattern=[sum(dash), *signed])
    return name


def _weight(width: float) -> int:
    """The nearest line weight that the format knows, hundredths of a mm."""
    from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

    return min((w for w in VALID_DXF_LINEWEIGHTS if w >= 0), key=lambda w: abs(w - 100 * width))
