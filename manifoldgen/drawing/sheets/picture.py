"""Pictures on the sheets: a bare tube with its joints and pieces named, and the whole manifold."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.drawing.extent import Extent
from manifoldgen.drawing.figure import FINE, PLAIN, Circle, EdgeLine, Figure, Item, Pen, Point, Text, line
from manifoldgen.drawing.labels import Label, placed
from manifoldgen.drawing.tubeview import Strip, drawn, plate, ring_line, tube, turned
from manifoldgen.drawing.view import View, along, clearest, shrunk
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.collector_profile import outer_profile
from manifoldgen.manifold.model import Flange, Joint, Manifold, Run

_SIDE, _ABOVE = 19.0, 10.0  # mm left and right of the drawing, above and below it, for the labels
_TRIAD = 8.0  # mm, an axis
_ON_END = 0.2  # of its length: an axis that is seen shorter counts as seen on its end
_WIDE = Pen(0.5)
_RINGS = frozenset({"butt", "flange", "saddle", "plate"})


def bare_run(m: Manifold, run: Run, width: float, height: float) -> Figure:
    """One run alone from its clearest side, its joints in balloons, its pieces in boxes; hangs from (0, 0)."""
    assert run.path is not None  # noqa: S101 - only runs with pieces are drawn
    path = _with_leg(m, run)
    radius, bore = run.section.radius, run.section.bore_radius
    view = clearest(path, radius, (width - 2 * _SIDE, height - 2 * _ABOVE))
    pieces = [p for p in m.pieces if p.part == run.name]
    joints = joints_of(m, run)
    spine = view.flat(along(path, 4.0))
    fit = _Fit(spine, radius, width, height)
    strips = tube(view, path, radius, bore, inset=fit.inset)
    strips += [
        ring_line(view, array(j.at), array(j.direction), radius, FINE) for j in joints if j.kind == "butt"
    ]
    figure = fit.figure(drawn(strips))
    labels = [Label(j.id, fit.at(view, j.at), "balloon", radius / fit.scale) for j in joints]
    for p in pieces:
        if p.path is not None:
            middle = p.path.point(p.path.length / 2)
            labels.append(Label(p.id, fit.at(view, middle), "box", radius / fit.scale))
    ends = ((run.path.start.at, _begins(m, run)), (path.end.at, _ends(run)))
    labels += [Label(words, fit.at(view, at), "words", radius / fit.scale) for at, words in ends if words]
    axes = _corner(fit.points(spine), radius / fit.scale, width, height)
    figure += placed(labels, fit.points(spine), radius / fit.scale, *_room(width, height, axes))
    return figure + _triad(view, axes) + _note(fit.scale, width, height)


def whole(m: Manifold, width: float, height: float) -> Figure:
    """All of it from a side above the bench, parts named; hangs from (0, 0)."""
    view = View.from_side(*_whole_side(m))
    radius = m.head.tube.radius
    paths = {r.name: _with_leg(m, r) for r in m.runs if r.path is not None}
    flat = view.flat(
        np.vstack([*(along(p, 6.0) for p in paths.values()), *(np.vstack(_faces(f)) for f in m.flanges)])
    )
    fit = _Fit(flat, radius, width, height)
    strips: list[Strip] = []
    for run in m.runs:
        if run.name in paths:
            strips += tube(view, paths[run.name], run.section.radius, 0.0, inset=fit.inset)
    if all(r.path is not None for r in m.runners):
        for c in m.collectors:
            strips += turned(view, c.frame, outer_profile(c), inset=fit.inset)
    for flange in m.flanges:
        strips += _flange(view, flange)
    figure = fit.figure(drawn(strips))
    labels = [
        Label(r.name, fit.at(view, r.path.point(r.path.length * 0.45)), "box", r.section.radius / fit.scale)
        for r in m.runs
        if r.path is not None
    ]
    labels += [
        Label(f.name, fit.at(view, array(f.frame.at)), "box", 6.0) for f in m.flanges if f is not m.head
    ]
    labels += [Label(f"port {p.number}", fit.at(view, p.at), "words", radius / fit.scale) for p in m.ports]
    axes = _corner(fit.points(flat), radius / fit.scale, width, height)
    figure += placed(labels, fit.points(flat), radius / fit.scale, *_room(width, height, axes))
    return figure + _triad(view, axes) + _note(fit.scale, width, height)


def joints_of(m: Manifold, run: Run) -> list[Joint]:
    """The joints on a run: rings, feet on flanges and plates, saddles; the collector's own seams are not."""
    ids = {p.id for p in m.pieces if p.part == run.name}
    return [j for j in m.joints if set(j.between) & ids and j.kind in _RINGS]


def _corner(drawn: Array, radius: float, width: float, height: float) -> Extent:
    """The corner of a frame for the axes: the lower left, or the freest where the drawing reaches into that.

    drawn : points of it on the paper (n, 2), mm.  radius : how far it reaches round them, mm.
    """
    side = 3.1 * _TRIAD
    corners = [Extent(x, y, x + side, y + side) for y in (-height, -side) for x in (0.0, width - side)]
    corners.pop(1)  # the note stands in the lower right

    def free(c: Extent) -> float:
        outside = np.maximum(np.maximum((c.left, c.low) - drawn, drawn - (c.right, c.high)), 0.0)
        return min(float(np.hypot(*outside.T).min()) - radius, 0.0)

    return max(corners, key=free)  # the first of those that are clear


def _room(width: float, height: float, axes: Extent) -> tuple[Extent, list[Extent]]:
    """Where labels may stand, and what the axes and the note take of it."""
    note = Extent(width - 46.0, -height, width, -height + 4.0)
    return Extent(1.0, -height + 1.0, width - 1.0, -1.0), [axes, note]


class _Fit:
    """Scale and shift that put a drawing into a frame whose upper left corner is (0, 0)."""

    def __init__(self, flat: Array, radius: float, width: float, height: float) -> None:
        low, high = flat.min(axis=0) - radius, flat.max(axis=0) + radius
        self.scale = shrunk(flat, radius, (width - 2 * _SIDE, height - 2 * _ABOVE))
        self.inset = PLAIN.width / 2 * self.scale
        middle = (low + high) / 2 / self.scale
        self.shift = (width / 2 - float(middle[0]), -height / 2 - float(middle[1]))

    def points(self, flat: Array) -> Array:
        """Places on the paper."""
        return array(flat / self.scale + array(self.shift))

    def at(self, view: View, point: ArrayLike) -> tuple[float, float]:
        """A point of the bench frame on the paper."""
        x, y = self.points(view.flat(array(point)))[0]
        return float(x), float(y)

    def figure(self, figure: Figure) -> Figure:
        """A drawing at full size put into the frame; pens stay as they are."""
        return Figure(tuple(self._item(i) for i in figure.items))

    def _item(self, item: Item) -> Item:
        if not isinstance(item, EdgeLine):
            raise TypeError(item)
        s, (dx, dy) = self.scale, self.shift
        return EdgeLine(
            tuple((x / s + dx, y / s + dy, b) for x, y, b in item.vertices), item.closed, item.pen, item.fill
        )


def _with_leg(m: Manifold, run: Run) -> Path:
    """A runner's path with its inlet down to the flat cut."""
    assert run.path is not None  # noqa: S101
    leg = next((p.leg for p in m.pieces if p.part == run.name and p.leg > 0), 0.0)
    return Path(run.path.start, (*run.path.elements, Straight(leg))) if leg else run.path


def _begins(m: Manifold, run: Run) -> str:
    return f"port {run.number}" if run.kind == "runner" else "from collector" if run is m.outlet else ""


def _ends(run: Run) -> str:
    return {"runner": "into collector", "outlet": "to turbo"}.get(run.kind, "to wastegate")


def _whole_side(m: Manifold) -> tuple[float, float]:
    """Azimuth and elevation: from where the runners cover each other least."""
    best = (-60.0, 35.0)
    most = -1.0
    paths = [along(r.path, 8.0) for r in m.runs if r.path is not None]
    if not paths:
        return best
    points = np.vstack(paths)
    from manifoldgen.drawing.view import silhouette

    for azimuth in range(-150, 210, 30):
        for elevation in (25.0, 45.0):
            area = silhouette(View.from_side(azimuth, elevation), points, m.head.tube.radius)
            if area > most * 1.01:
                most, best = area, (float(azimuth), elevation)
    return best


def _faces(flange: Flange) -> tuple[Array, Array]:
    """Both outlines of a flange, in the bench frame."""
    if flange.outline is None:
        r = flange.vband.od / 2 if flange.vband else flange.tube.radius + 10.0
        turn = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
        rim = np.column_stack([r * np.cos(turn), r * np.sin(turn)])
    else:
        rim = _dense(flange.outline.edges())
    low = np.column_stack([rim, np.zeros(len(rim))])
    high = np.column_stack([rim, np.full(len(rim), flange.thickness)])
    return flange.frame.out(low), flange.frame.out(high)


def _dense(edges: object) -> Array:
    points = [e.point(float(t)) for e in edges for t in np.linspace(0.0, 1.0, 9)[:-1]]  # type: ignore[attr-defined]
    return array(points)


def _flange(view: View, flange: Flange) -> list[Strip]:
    low, high = _faces(flange)
    holes = []
    for opening in flange.openings:
        rim = _dense(opening.contour.edges()) + array(opening.at)
        holes.append(flange.frame.out(np.column_stack([rim, np.full(len(rim), flange.thickness)])))
    for hole in flange.holes:
        turn = np.linspace(0.0, 2 * np.pi, 16, endpoint=False)
        rim = np.column_stack([np.cos(turn), np.sin(turn)]) * hole.diameter / 2 + array(hole.at)
        holes.append(flange.frame.out(np.column_stack([rim, np.full(len(rim), flange.thickness)])))
    return plate(view, high, low, holes)


def _triad(view: View, corner: Extent) -> Figure:
    """The bench axes as they are seen; one that points at the eye is a dot in a ring, one away a cross in it."""
    ox, oy = corner.left + 4.0 + _TRIAD, corner.low + 6.0 + _TRIAD * 0.6
    items: list[Item] = []
    names: list[tuple[str, Point]] = []  # with the way from the middle to where the name may stand
    lines: list[tuple[Point, Point]] = []
    for name, axis in (("x", (1.0, 0.0, 0.0)), ("y", (0.0, 1.0, 0.0)), ("z", (0.0, 0.0, 1.0))):
        u, v = (float(w) for w in view.flat(array(axis))[0])
        if math.hypot(u, v) < _ON_END:
            items += _on_end((ox, oy), towards=float(view.depth(array(axis))[0]) > 0)
            names.append((name, (0.0, 0.0)))
        else:
            tip = (ox + _TRIAD * u, oy + _TRIAD * v)
            items.append(line((ox, oy), tip, _WIDE))
            lines.append(((ox, oy), tip))
            names.append((name, (_TRIAD * u, _TRIAD * v)))
    taken: list[Extent] = []
    for name, (u, v) in sorted(names, key=lambda n: -math.hypot(*n[1])):
        at = _clear_of_lines((ox + u, oy + v), (u, v), lines, taken)
        taken.append(_letter(at))
        items.append(Text((at[0], at[1] - 1.0), name, 2.0, "middle", bold=True))
    return Figure(tuple(items))


def _on_end(at: Point, *, towards: bool) -> list[Item]:
    """An axis seen on its end."""
    (x, y), d = at, 0.85
    ring: Item = Circle(at, 1.2, FINE, fill=1.0)
    if towards:
        return [ring, Circle(at, 0.4, None, fill=0.0)]
    return [ring, line((x - d, y - d), (x + d, y + d), FINE), line((x - d, y + d), (x + d, y - d), FINE)]


def _clear_of_lines(
    tip: Point, way: Point, lines: Sequence[tuple[Point, Point]], taken: Sequence[Extent]
) -> Point:
    """Where an axis' name stands: beyond its tip, or the first place beside it that is on no line and no other name."""
    ahead = math.atan2(way[1], way[0]) if way != (0.0, 0.0) else math.radians(225.0)
    far = 2.2 if way != (0.0, 0.0) else 4.0
    places = [
        (tip[0] + f * math.cos(ahead + math.radians(turn)), tip[1] + f * math.sin(ahead + math.radians(turn)))
        for f in (far, far + 1.5)
        for turn in (0, 45, -45, 90, -90, 135, -135, 180)
    ]
    clear = (
        p
        for p in places
        if not any(_letter(p).meets(t) for t in taken) and not any(_near(p, *ends) for ends in lines)
    )
    return next(clear, places[0])


def _letter(at: Point) -> Extent:
    return Extent(at[0] - 1.0, at[1] - 1.9, at[0] + 1.0, at[1] + 1.3)


def _near(p: Point, a: Point, b: Point) -> bool:
    """Whether a line runs through a letter."""
    box = _letter(p)
    return any(
        box.left <= a[0] + t * (b[0] - a[0]) <= box.right and box.low <= a[1] + t * (b[1] - a[1]) <= box.high
        for t in np.linspace(0.0, 1.0, 30)
    )


def _note(scale: float, width: float, height: float) -> Figure:
    return Figure(
        (Text((width - 1.0, -height + 1.2), f"about 1:{scale:.1f}, not to be measured", 1.9, "right"),)
    )
