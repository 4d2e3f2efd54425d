"""SVG of a drawing or a page, in mm; whatever a text holds stays text."""

from __future__ import annotations

import base64
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from manifoldgen.drawing.extent import edges, extent
from manifoldgen.drawing.figure import Circle, EdgeLine, Figure, Item, Pen, Picture, SheetPage, Text
from manifoldgen.drawing.lettering import CAPITAL, clean
from manifoldgen.errors import OutputError
from manifoldgen.geometry.edges import ArcEdge

_FACES = "Bitstream Vera Sans, DejaVu Sans, Verdana, sans-serif"
_ANCHORS = {"left": "start", "middle": "middle", "right": "end"}
_HALF_TURN = 3.14159


def write_svg(path: Path | str, drawing: Figure | SheetPage) -> None:
    """Write a figure (the picture ends where its items end) or a page (the paper's size)."""
    try:
        Path(path).write_bytes(svg_text(drawing).encode("utf-8"))
    except OSError as error:
        raise OutputError(f"'{path}' cannot be written: {error.strerror or error}") from None


def svg_text(drawing: Figure | SheetPage, title: str = "") -> str:
    """The drawing as one <svg> element, to be written or put into a page of HTML."""
    if isinstance(drawing, SheetPage):
        figure, left, high = drawing.figure, 0.0, drawing.height
        width, height, title = drawing.width, drawing.height, title or drawing.title
    else:
        figure, box = drawing, extent(drawing)
        left, high, width, height = box.left, box.high, box.width, box.height
    # y turns over here: the drawing's is up, SVG's is down
    body = _group(figure.moved(-left, -high), "w")
    name = f"<title>{escape(clean(title))}</title>" if title else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="0 0 {_n(width)} {_n(height)}" font-family="{_FACES}" stroke-linejoin="round">'
        f"{name}\n{body}</svg>\n"
    )


def _group(figure: Figure, prefix: str) -> str:
    return "".join(_item(item, f"{prefix}{k}") for k, item in enumerate(figure.items))


def _item(item: Item, name: str) -> str:
    if isinstance(item, EdgeLine):
        return f'<path d="{_path(item)}"{_look(item.pen, item.fill)}/>\n'
    if isinstance(item, Circle):
        x, y = item.centre
        return f'<circle cx="{_n(x)}" cy="{_n(-y)}" r="{_n(item.radius)}"{_look(item.pen, item.fill)}/>\n'
    if isinstance(item, Text):
        return _text(item)
    if isinstance(item, Picture):
        return _picture(item)
    (x, y), box = item.at, f'width="{_n(item.width)}" height="{_n(item.height)}"'
    clip = f'<clipPath id="{name}"><rect x="{_n(x)}" y="{_n(-y - item.height)}" {box}/></clipPath>'
    return f'{clip}<g clip-path="url(#{name})">\n{_group(item.figure, name + "-")}</g>\n'


def _path(item: EdgeLine) -> str:
    x, y, _ = item.vertices[0]
    steps = [f"M{_n(x)} {_n(-y)}"]
    for edge in edges(item):
        u, v = edge.end
        if isinstance(edge, ArcEdge):
            large, sense = int(abs(edge.sweep) > _HALF_TURN), int(edge.sweep < 0)
            r = _n(edge.radius)
            steps.append(f"A{r} {r} 0 {large} {sense} {_n(u)} {_n(-v)}")
        else:
            steps.append(f"L{_n(u)} {_n(-v)}")
    return "".join(steps) + ("Z" if item.closed else "")


def _look(pen: Pen | None, fill: float | None) -> str:
    look = f' fill="{_grey(fill)}"' if fill is not None else ' fill="none"'
    if pen is not None:
        look += f' stroke="{_grey(pen.grey)}" stroke-width="{_n(pen.width)}"'
        if pen.dash:
            look += f' stroke-dasharray="{" ".join(_n(d) for d in pen.dash)}"'
    return look


def _text(item: Text) -> str:
    x, y = item.at
    turn = f' transform="rotate({_n(-item.angle)} {_n(x)} {_n(-y)})"' if item.angle else ""
    bold = ' font-weight="bold"' if item.bold else ""
    return (
        f'<text x="{_n(x)}" y="{_n(-y)}" font-size="{_n(item.size / CAPITAL)}" '
        f'text-anchor="{_ANCHORS[item.anchor]}" fill="{_grey(item.grey)}"{bold}{turn}>'
        f"{escape(clean(item.text))}</text>\n"
    )


def _picture(item: Picture) -> str:
    try:
        content = base64.b64encode(item.path.read_bytes()).decode("ascii")
    except OSError as error:
        raise OutputError(f"the picture '{item.path}' cannot be read: {error.strerror or error}") from None
    x, y = item.at
    link = quoteattr(f"data:image/png;base64,{content}")
    size = f'width="{_n(item.width)}" height="{_n(item.height)}"'
    return f'<image x="{_n(x)}" y="{_n(-y - item.height)}" {size} preserveAspectRatio="none" href={link}/>\n'


def _grey(value: float) -> str:
    level = round(255 * min(max(value, 0.0), 1.0))
    return f"#{level:02x}{level:02x}{level:02x}"


def _n(value: float) -> str:
    """A number to a tenth of a micrometre, without needless zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text
