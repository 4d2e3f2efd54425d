"""Pages of the printed parts: what can be seen is drawn, what is hidden is not, every part has its card."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import EdgeLine, Text
from manifoldgen.drawing.linework import picture
from manifoldgen.drawing.paper import A4
from manifoldgen.drawing.sheets import build_sheets
from manifoldgen.drawing.sheets.prints import print_sheets
from manifoldgen.drawing.view import View
from manifoldgen.prints import bodies
from manifoldgen.prints.finish import finished
from manifoldgen.prints.worth import sums
from tests.factory import manifold
from tests.worked import demo

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


def blocks(m, count, **more):
    """So many blocks to try."""
    told = {"purpose": "a block to try", "sits": "on the bench", "cautions": ("Sharp edges.",), **more}
    made = [
        finished(
            m, bodies.box((0, 0, 0), (30 + k, 20, 10)), name=f"block-{k}", kind="gauge", mark=f"B{k}", **told
        )
        for k in range(count)
    ]
    return [replace(part, group="print first" if k < 3 else "nice to have") for k, part in enumerate(made)]


def sheets(parts):
    """Their drafts on A4."""
    return print_sheets(parts, sums(parts), A4)


def words(draft):
    """Every text of a sheet."""
    return [i.text for i in draft.figure.items if isinstance(i, Text)]


def test_every_part_has_a_card_on_the_shops_paper():
    """Thirteen parts: a list and two sheets of cards; names and cautions stand there, nothing over the sheet's edge."""
    parts = blocks(manifold(), 13)
    pages = sheets(parts)

    assert [p.title for p in pages] == [
        "Printed parts: what to print", "Printed parts (1 of 2)", "Printed parts (2 of 2)",
    ]  # fmt: skip
    cards = [w for page in pages[1:] for w in words(page)]
    for k in range(13):
        assert any(f"block-{k}" == w for w in words(pages[0]))
        assert sum(w.startswith(f"block-{k} ") for w in cards) == 1
    assert any("Sharp edges." in w for w in words(pages[1]))
    for page in pages:
        box, room = extent(page.figure), A4.room
        assert room.x <= box.left + 0.5
        assert room.y <= box.low + 0.5
        assert box.right <= room.x + room.width + 0.5
        assert box.high <= room.top + 0.5
    assert sheets(()) == ()
    grams, hours = sum(p.grams for p in parts[:3]), sum(p.hours for p in parts[:3])
    heads = words(pages[0])
    assert any(w.startswith(f"Print first: 3 parts, {grams:.0f} g, {hours:.0f} h;") for w in heads)
    assert any(w.startswith("Nice to have: 10 parts, ") for w in heads)
    assert not any(w.startswith("Helps") for w in heads)
    assert sum(w.startswith("Print first: ") for w in cards) == 3
    assert pytest.approx(sum(p.grams for p in parts), abs=1.0) == float(
        next(w for w in reversed(words(pages[0])) if w.isdigit())
    )


@pytest.mark.parametrize("times", [1, 30, 400])
def test_a_card_grows_with_its_words(times):
    """However long the words are, all of them are printed, on a further card where a sheet does not hold them."""
    told = [f"word{k}" for k in range(8 * times)]
    pages = sheets(blocks(manifold(), 2, purpose=" ".join(told)))
    cards = [page for page in pages if "what to print" not in page.title]
    printed = " ".join(w for page in cards for w in words(page)).split()

    assert all(printed.count(word) == 2 for word in told)
    assert all(extent(p.figure).low >= A4.room.y - 0.5 for p in pages)


def test_their_sheets_are_numbered_with_the_others():
    """`21/27`: one count through all sheets, the job and the mark of its state on each."""
    design = demo("snow_groomer_tight")
    parts = blocks(design.manifold, 13)
    alone, whole = build_sheets(design), build_sheets(design, parts, sums(parts))
    counts = [next(w for w in words(p) if re.fullmatch(r"\d+/\d+", w)) for p in whole.pages]
    marks = {next(w for w in words(p) if "file " in w) for p in whole.pages}

    assert len(whole.pages) == len(alone.pages) + 3
    assert counts == [f"{n}/{len(counts)}" for n in range(1, len(counts) + 1)]
    assert marks == {next(w for w in words(alone.pages[0]) if "file " in w)}
    assert all("snow-groomer-tight" in words(p) for p in whole.pages)
