"""PDF: true to size, inside the margins, letters embedded, the same bytes twice, any text."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys

import numpy as np
import pdfplumber
import pytest
from pdfminer.pdftypes import resolve1

from manifoldgen.drawing.figure import (
    BOLD,
    HIDDEN,
    THIN,
    Circle,
    EdgeLine,
    Figure,
    PaperDocument,
    Pen,
    Picture,
    SheetPage,
    Text,
    Window,
    line,
    outline,
)
from manifoldgen.drawing.lettering import drawable, face, fitting, text_width, wrapped
from manifoldgen.drawing.paper import A4, LETTER, Draft, Stamp, framed
from manifoldgen.drawing.pdf import pdf_bytes, write_pdf
from manifoldgen.drawing.table import TICK, Column, tables
from manifoldgen.errors import OutputError
from manifoldgen.geometry import contour
from tests.drawing.rendering import longest_run, needs_poppler, pixels, said

NASTY = (
    "<script>alert(1)</script>",
    "\u202eabc\u202c שלום مرحبا",
    "x" * 10_000,
    "a\nb\tc\x00d",
    "%PDF (un)closed \\",
)
SIGNS = "°ø×²³≤≥–±·…"


def _sheets(paper):
    rows = [("R1-P1", "el90", "45.0", text, TICK) for text in NASTY] * 3
    columns = ("piece", "from", Column("deg", "right"), "note", Column("done", "middle"))
    room = paper.room
    parts = tables(columns, rows, width=room.width, size=2.5, height=room.height)
    drafts = [Draft(NASTY[0] * 9, part.moved(room.x, room.top), paper) for part in parts]
    return framed(
        [*drafts, Draft("Empty", Figure(), paper)],
        Stamp("job " + NASTY[1] + "y" * 99, "0123456789abcdef" * 4),
    )


@needs_poppler
@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_the_check_bar_is_100_mm_and_nothing_leaves_the_margins(paper, tmp_path):
    """1000 ± 5 pixels of a tenth of a millimetre; margins of 10 mm hold no dark pixel, whatever the texts are."""
    path = tmp_path / "sheets.pdf"
    pages = _sheets(paper)
    write_pdf(path, PaperDocument("sheets", pages))
    for number in range(1, len(pages) + 1):
        levels = pixels(path, number)
        height, width = levels.shape
        assert abs(width - paper.width * 10) <= 1
        assert abs(height - paper.height * 10) <= 1
        inside = np.zeros_like(levels, bool)
        inside[99 : height - 99, 99 : width - 99] = True
        assert (levels[~inside] > 250).all()
        assert (levels < 128).any()
    assert (
        abs(longest_run(levels[-int(height * 0.1) :]) - 1000) <= 5
    )  # the empty sheet: only the bar is there


@needs_poppler
def test_shapes_have_their_size_and_place(tmp_path):
    """A circle, a bulged arc, a turned line and a window come out where they were drawn, to 0.2 mm."""
    items = (
        Circle((60, 60), 20.0, Pen(THIN)),
        EdgeLine(((100, 60, 1.0), (140, 60, 0.0)), closed=False),  # bulge 1: a half round below its chord
        Window((100, 100), 20, 20, Figure((line((90, 110), (130, 110), BOLD),))),
    )
    path = tmp_path / "shapes.pdf"
    write_pdf(path, PaperDocument("shapes", (SheetPage(200, 200, Figure(items)),)))
    levels = pixels(path, 1)

    def reach(x0, x1, y0, y1):
        rows, columns = np.nonzero(levels[2000 - y1 * 10 : 2000 - y0 * 10, x0 * 10 : x1 * 10] < 128)
        return (columns.min() / 10 + x0, columns.max() / 10 + x0, y1 - rows.max() / 10, y1 - rows.min() / 10)

    assert reach(30, 90, 30, 90) == pytest.approx((40, 80, 40, 80), abs=0.2)
    assert reach(95, 150, 30, 90) == pytest.approx((100, 140, 40, 60), abs=0.3)
    assert reach(90, 135, 95, 125)[:2] == pytest.approx((100, 120), abs=0.2)


@needs_poppler
def test_letters_are_embedded_and_can_be_searched(tmp_path):
    """Every face in the file is embedded, and the text is text: ids can be found in it."""
    path = tmp_path / "text.pdf"
    items = (Text((20, 100), f"J2.1 {SIGNS}", 3.0), Text((20, 80), "R1-P1", 3.0, bold=True))
    write_pdf(path, PaperDocument("text", (SheetPage(100, 150, Figure(items)),)))
    faces = said(path, "pdffonts").splitlines()[2:]
    assert len(faces) == 2
    assert all(row.split()[-5] == "yes" for row in faces)  # emb sub uni object ID
    words = said(path, "pdftotext")
    assert "J2.1" in words
    assert "R1-P1" in words
    assert SIGNS in words


def test_the_signs_that_the_shop_needs_are_in_both_faces():
    """Degree, diameter, times, powers, at most, dash: really drawn, not replaced."""
    for bold in (False, True):
        assert {ord(c) for c in SIGNS} <= face(bold=bold).signs
    assert drawable(SIGNS) == SIGNS
    assert drawable("a → b ✓ é ő") == "a -> b x é o"
    assert drawable("\u202e\x00\x07ab\ncd") == "ab cd"


def test_the_same_document_is_the_same_bytes_in_another_process():
    """A hash seed of another process, a picture from another folder: the same file."""
    script = (
        "import hashlib; from tests.drawing.test_pdf import _sheets, PaperDocument, A4, pdf_bytes;"
        "print(hashlib.sha256(pdf_bytes(PaperDocument('t', _sheets(A4)))).hexdigest())"
    )
    environment = {**os.environ, "PYTHONHASHSEED": "7"}
    other = subprocess.run(
        [sys.executable, "-c", script], env=environment, capture_output=True, text=True, check=True
    )
    mine = hashlib.sha256(pdf_bytes(PaperDocument("t", _sheets(A4)))).hexdigest()
    assert other.stdout.strip() == mine


def test_a_picture_is_named_by_its_content_and_a_missing_one_by_a_sentence(tmp_path):
    """Where a picture lies plays no part in the bytes; one that is not there ends in one sentence."""
    from PIL import Image

    made = []
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        Image.new("L", (20, 10), 80).save(tmp_path / name / "p.png")
        figure = Figure((Picture((10, 10), 40, 20, tmp_path / name / "p.png"),))
        made.append(pdf_bytes(PaperDocument("p", (SheetPage(100, 100, figure),))))
    assert made[0] == made[1]
    with pytest.raises(OutputError, match=r"nothing\.png"):
        pdf_bytes(
            PaperDocument("p", (SheetPage(9, 9, Figure((Picture((0, 0), 1, 1, tmp_path / "nothing.png"),))),))
        )
    with pytest.raises(OutputError, match="cannot be written"):
        write_pdf(tmp_path / "no folder" / "x.pdf", PaperDocument("p", ()))


@pytest.mark.parametrize("text", NASTY)
def test_any_text_is_broken_to_what_fits(text):
    """Wrapped text is never wider than asked, and all of its letters are there, of a very long one too."""
    for told in (text, text * 40):
        lines = wrapped(told, 2.5, 60.0)
        assert all(text_width(part, 2.5) <= 60.0 for part in lines)
        shown = "".join("".join(lines).split())
        assert len(shown) == sum(len(drawable(sign).strip()) for sign in told)


def test_a_line_gets_smaller_before_it_is_broken():
    """Down to 7 pt one line, below that several; never larger than asked, never a letter less."""
    seven = 7 * 25.4 / 72 * 1493 / 2048
    for words in ("short", "a title that is somewhat long", "a title of many words that no line holds " * 3):
        size, lines = fitting(words, 4.5, 60.0, bold=True)
        assert seven <= size <= 4.5
        assert all(text_width(part, size, bold=True) <= 60.0 for part in lines)
        assert " ".join(lines) == " ".join(words.split())
        assert len(lines) == 1 or size < 1.9


def test_capitals_are_as_high_as_asked(tmp_path):
    """`size` is the height of the capitals: width and height of an H drawn as its own outline agree to 2 %."""
    # the face's own design: H is 1493 units high and 1540 wide (advance) of 2048 (read from the font's tables)
    assert text_width("H", 10.0) == pytest.approx(10.0 * 1540 / 1493, rel=0.02)


def test_dashes_and_fills_are_drawn(tmp_path):
    """A dashed pen and a filled shape change the page (nothing is silently left out)."""
    plain = Figure((outline(contour.rectangle(40, 20)),))
    dashed = Figure((outline(contour.rectangle(40, 20), HIDDEN),))
    filled = Figure((EdgeLine(contour.rectangle(40, 20).vertices, fill=0.5),))
    assert (
        len(
            {
                pdf_bytes(PaperDocument("d", (SheetPage(99, 99, f.moved(50, 50)),)))
                for f in (plain, dashed, filled)
            }
        )
        == 3
    )


def test_a_viewer_is_told_not_to_scale(tmp_path):
    """ISO 32000-1 table 150: PrintScaling None, or a template comes out at 97 %; read by a library that is not ours."""
    write_pdf(tmp_path / "a.pdf", PaperDocument("a", (SheetPage(210.0, 297.0, Figure()),)))
    with pdfplumber.open(tmp_path / "a.pdf") as opened:
        wishes = resolve1(opened.doc.catalog["ViewerPreferences"])
        assert str(wishes["PrintScaling"]).strip("/'") == "None"
