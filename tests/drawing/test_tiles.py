"""Tiles: full size over several sheets that join, with bars both ways."""

from __future__ import annotations

import numpy as np
import pytest

from manifoldgen.drawing.figure import BOLD, PLAIN, Circle, Figure, PaperDocument, Text, line, outline
from manifoldgen.drawing.paper import A4, LETTER
from manifoldgen.drawing.pdf import write_pdf
from manifoldgen.drawing.tiles import FOOT, OVERLAP, UPRIGHT, tiled
from manifoldgen.geometry import contour
from tests.drawing.rendering import longest_run, needs_poppler, pixels

PAPERS = pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])


def _large() -> Figure:
    slanted = [line((-170 + 20 * k, -160), (-160 + 20 * k, 160), BOLD) for k in range(17)]
    return Figure((outline(contour.rectangle(350, 330, 30)), Circle((0, 0), 100, PLAIN), *slanted))


@needs_poppler
@PAPERS
def test_bars_both_ways_and_margins(paper, tmp_path):
    """100 mm across and 20 mm up on every sheet, within half a millimetre; nothing dark outside the margins."""
    path = tmp_path / "tiles.pdf"
    pages = tiled(_large(), paper, "T " * 100)
    write_pdf(path, PaperDocument("tiles", pages))
    for number, page in enumerate(pages, start=1):
        levels = pixels(path, number)
        height, width = levels.shape
        assert (width, height) == pytest.approx((page.width * 10, page.height * 10), abs=1)
        inside = np.zeros_like(levels, bool)
        inside[99 : height - 99, 99 : width - 99] = True
        assert (levels[~inside] > 250).all()
        foot = levels[height - 100 - int(FOOT * 10) + 8 : height - 100]
        assert abs(longest_run(foot) - 1000) <= 5
        assert abs(longest_run(foot[:, :200].T) - UPRIGHT * 10) <= 5


@needs_poppler
@PAPERS
def test_sheets_join(paper, tmp_path):
    """The strips that neighbours share show the same: laid on each other every line goes on."""
    path = tmp_path / "tiles.pdf"
    pages = tiled(_large(), paper, "tiles")
    write_pdf(path, PaperDocument("tiles", pages))
    assert len(pages) == 4
    sheets = [pixels(path, n)[100 : -100 - int(FOOT * 10), 100:-100] for n in range(1, 5)]  # what is shown
    strip = int(OVERLAP * 10)
    frame = 6  # pixels along the edge that the dashed border takes
    beside = [(sheets[a][:, -strip:], sheets[b][:, :strip]) for a, b in ((0, 1), (2, 3))]
    above = [(sheets[a][-strip:], sheets[b][:strip]) for a, b in ((0, 2), (1, 3))]
    for one, two in beside + above:
        a, b = (s[frame:-frame, frame:-frame] < 128 for s in (one, two))
        assert a.sum() > 500  # there are lines and crosses to compare
        # a pixel that is dark on one is dark on the other, or next to it
        for dark, other in ((a, b), (b, a)):
            near = other.copy()
            for dy in (-1, 0, 1):
                for dx in (-1, 0, 1):
                    near |= np.roll(np.roll(other, dy, 0), dx, 1)
            assert (dark & ~near).mean() < 2e-4


@PAPERS
def test_as_few_sheets_as_possible(paper):
    """What fits one sheet takes one; a long strip is laid along the turned paper."""
    assert len(tiled(Figure((Circle((0, 0), 50),)), paper, "small")) == 1
    long = tiled(Figure((outline(contour.rectangle(400, 90)),)), paper, "long")
    assert len(long) == 2
    assert long[0].width > long[0].height


def test_a_sheet_holds_only_what_it_shows():
    """Text far from a sheet is not hidden in it."""
    figure = Figure((outline(contour.rectangle(400, 90)), Text((-190, 0), "here", 3.0)))
    texts = [str(page.figure) for page in tiled(figure, A4, "long")]
    assert ["'here'" in t for t in texts] == [True, False]


def test_sheets_say_how_they_join():
    """Number, count and neighbours stand on every sheet."""
    pages = tiled(_large(), A4, "tiles")
    words = [[i.text for i in p.figure.items if isinstance(i, Text)] for p in pages]
    assert "part 1 of 4: lay cross on cross" in words[0]
    assert "part 4 of 4, right of part 3, below part 2: lay cross on cross" in words[3]
