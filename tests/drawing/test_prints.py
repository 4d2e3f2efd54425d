"""Pages of the printed parts: what can be seen is drawn, what is hidden is not, every part has its card."""

from __future__ import annotations

from dataclasses import replace

import pytest

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import EdgeLine, Text
from manifoldgen.drawing.linework import picture
from manifoldgen.drawing.sheets.prints import print_pages
from manifoldgen.drawing.view import View
from manifoldgen.prints import bodies
from manifoldgen.prints.finish import finished
from manifoldgen.prints.worth import sums
from tests.factory import manifold

ISO = View.from_side(-55.0, 28.0)


def lines(figure):
    """The open lines of a drawing."""
    return [i for i in figure.items if isinstance(i, EdgeLine) and not i.closed]


def drawn(figure):
    """Straight stretches between corners of the open lines."""
    found = []
    for line in lines(figure):
        found += list(zip(line.vertices, line.vertices[1:], strict=False))
    return found


def test_a_cube_shows_nine_of_its_edges():
    """Three faces are seen: 9 edges; the 3 behind them are not drawn. Its outline is a hexagon."""
    cube = bodies.mesh_of(bodies.box((0, 0, 0), (20, 20, 20)), "cube")
    figure = picture(cube, ISO, 80.0, 80.0)
    filled = next(i for i in figure.items if isinstance(i, EdgeLine) and i.closed)

    assert len(drawn(figure)) == 9
    assert len(filled.vertices) == 6


def test_what_stands_in_front_hides():
    """A small cube behind a large plate is not drawn; in front of it, it is."""
    plate = bodies.box((-40, 0, -40), (40, 2, 40))
    front = View.from_side(-90.0, 0.001)  # from -y

    def count(y: float) -> int:
        cube = bodies.box((-5, y, -5), (5, y + 10, 5))
        both = bodies.mesh_of(bodies.union([plate, cube]), "both")
        return len(drawn(picture(both, front, 80.0, 80.0)))

    alone = len(drawn(picture(bodies.mesh_of(plate, "plate"), front, 80.0, 80.0)))
    assert count(20.0) == alone
    assert count(-20.0) >= alone + 4


def test_a_hole_is_seen_through():
    """A ring's outline has its hole, drawn white."""
    ring = bodies.minus(
        bodies.cylinder((0, 0, 0), (0, 0, 1), 20, 5), bodies.cylinder((0, 0, -1), (0, 0, 1), 10, 7)
    )
    figure = picture(bodies.mesh_of(ring, "ring"), View.from_side(-90.0, 89.9), 80.0, 80.0)
    fills = [i.fill for i in figure.items if isinstance(i, EdgeLine) and i.closed]

    assert fills == [0.9, 1.0]


def test_every_part_has_a_card_on_the_shops_paper():
    """Seven parts: a list and two sheets of cards; names and cautions stand there, nothing over the sheet's edge."""
    m = manifold()
    parts = [
        finished(
            m,
            bodies.box((0, 0, 0), (30 + k, 20, 10)),
            name=f"block-{k}",
            kind="gauge",
            mark=f"B{k}",
            purpose="a block to try",
            sits="on the bench",
            cautions=("Sharp edges.",),
        )
        for k in range(7)
    ]
    parts = [replace(part, group="print first" if k < 3 else "nice to have") for k, part in enumerate(parts)]
    pages = print_pages(parts, sums(parts), m)
    words = [[i.text for i in page.figure.items if isinstance(i, Text)] for page in pages]

    assert len(pages) == 3
    assert (pages[0].width, pages[0].height) == (210.0, 297.0)
    for k in range(7):
        assert any(f"block-{k}" in w for w in words[0])
        assert any(f"block-{k}" in w for w in words[1 + k // 6])
    assert any("Sharp edges." in w for w in words[1])
    for page in pages:
        box = extent(page.figure)
        assert box.left >= 0
        assert box.low >= 0
        assert box.right <= page.width
        assert box.high <= page.height
    assert print_pages((), (), m) == ()
    grams, hours = sum(p.grams for p in parts[:3]), sum(p.hours for p in parts[:3])
    assert any(w.startswith(f"Print first: 3 parts, {grams:.0f} g, {hours:.0f} h;") for w in words[0])
    assert any(w.startswith("Nice to have: 4 parts, ") for w in words[0])
    assert not any(w.startswith("Helps") for w in words[0])
    assert sum(w.startswith("Print first: ") for page in words[1:] for w in page) == 3
    assert pytest.approx(sum(p.grams for p in parts), abs=1.0) == float(
        next(w for w in reversed(words[0]) if w.isdigit())
    )
