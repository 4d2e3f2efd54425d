"""DXF: what comes out is what was drawn, without audit errors, the same bytes twice, whatever a text holds."""

from __future__ import annotations

import hashlib
import io
import math
import os
import subprocess
import sys

import ezdxf
import pytest
from ezdxf import recover

from manifoldgen.drawing.dxf import dxf_bytes, write_dxf
from manifoldgen.drawing.figure import HIDDEN, PLAIN, Circle, EdgeLine, Figure, Text, line, outline
from manifoldgen.drawing.strokes import strokes
from manifoldgen.errors import OutputError
from manifoldgen.geometry import contour

NASTY = "%%d <script> \\U+0041 ^J\r\n  0\nLINE\n \u202eשלום" + "z" * 10_000
FIGURE = Figure(
    (
        outline(contour.rectangle(80, 40, 10), PLAIN, "CUT_OUTER"),
        Circle((0, 0), 9.0, PLAIN, layer="CUT_HOLES"),
        EdgeLine(((0, 0, 0.5), (10, 0, 0.0)), closed=False, layer="ETCH"),
        EdgeLine(((0, 0, -0.5), (10, 0, 0.0)), closed=False, layer="ETCH"),
        line((-30, 0), (30, 0), HIDDEN),
        Text((0, -50), NASTY, 3.0, "middle", angle=30.0, layer="NOTES"),
    )
)
BOTH = pytest.mark.parametrize("version", ["R2010", "R12"])


def read(raw: bytes):
    """The drawing as another program reads it, and its audit."""
    doc, auditor = recover.read(io.BytesIO(raw))
    return doc, [*auditor.errors, *auditor.fixes, *doc.audit().errors]


@BOTH
def test_nothing_to_mend_and_no_curves_that_cutters_refuse(version):
    """Audit without errors or fixes; closed polylines, circles, lines, arcs, text: no splines, no ellipses."""
    doc, faults = read(dxf_bytes(FIGURE, version))
    assert faults == []
    assert doc.dxfversion == {"R2010": "AC1024", "R12": "AC1009"}[version]
    kinds = [e.dxftype() for e in doc.modelspace()]
    poly = "POLYLINE" if version == "R12" else "LWPOLYLINE"
    assert kinds == [poly, "CIRCLE", "ARC", "ARC", "LINE", "TEXT"]
    closed = doc.modelspace()[0]
    assert closed.is_closed if version == "R12" else closed.closed
    if version == "R2010":
        assert doc.header["$INSUNITS"] == 4  # mm (DXF reference: $INSUNITS)
        assert doc.header["$MEASUREMENT"] == 1
    assert {e.dxf.layer for e in doc.modelspace()} == {"CUT_OUTER", "CUT_HOLES", "ETCH", "NOTES", "0"}


@BOTH
def test_the_area_of_the_bulges_is_the_outlines(version):
    """Area of 80 × 40 with corners of 10, read back from the bulges: 80·40 − (4 − π)·10² (closed form)."""
    doc, _ = read(dxf_bytes(FIGURE, version))
    ring = doc.modelspace()[0]
    if version == "R12":
        places = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in ring.vertices]
    else:
        places = list(ring.get_points("xyb"))
    assert contour.Contour(tuple(places)).area == pytest.approx(80 * 40 - (4 - math.pi) * 100, abs=1e-6)


def test_arcs_turn_the_way_they_were_drawn():
    """A positive bulge lies right of its chord, a negative one left of it (DXF convention)."""
    doc, _ = read(dxf_bytes(FIGURE))
    right, left = (e for e in doc.modelspace() if e.dxftype() == "ARC")
    for arc, side in ((right, -1), (left, 1)):
        turn = math.radians(arc.dxf.start_angle + ((arc.dxf.end_angle - arc.dxf.start_angle) % 360) / 2)
        middle = arc.dxf.center.y + arc.dxf.radius * math.sin(turn)
        assert middle == pytest.approx(side * 2.5)  # bulge 0.5: a height of 0.5 · 10 / 2


@BOTH
def test_a_text_stays_one_text(version):
    """Line breaks, control codes and group codes in a text make no entity and no sign of their own."""
    doc, _ = read(dxf_bytes(FIGURE, version))
    text = doc.modelspace()[-1]
    assert "%%" not in text.dxf.text
    assert "\n" not in text.dxf.text
    assert "<script>" in text.dxf.text
    assert len(text.dxf.text) < 2_100


@BOTH
def test_bytes_repeat_in_another_process(version):
    """No dates, no random ids, no order by chance; nothing is said on the way."""
    script = (
        "import hashlib; from tests.drawing.test_dxf import dxf_bytes, FIGURE;"
        f"print(hashlib.sha256(dxf_bytes(FIGURE, {version!r})).hexdigest())"
    )
    mine = hashlib.sha256(dxf_bytes(FIGURE, version)).hexdigest()
    for seed in ("1", "2", "3", "4"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        other = subprocess.run(
            [sys.executable, "-c", script], env=environment, capture_output=True, text=True, check=True
        )
        assert (other.stdout.strip(), other.stderr) == (mine, "")
    assert ezdxf.options.write_fixed_meta_data_for_testing is False  # the library is left as it was


def test_a_place_that_cannot_be_written_is_one_sentence(tmp_path):
    """A missing folder is named."""
    with pytest.raises(OutputError, match="cannot be written"):
        write_dxf(tmp_path / "nowhere" / "x.dxf", FIGURE)


def test_stroke_letters_are_single_lines_and_arcs():
    """Every digit and letter is drawn, stands on its baseline and is as high as asked."""
    from manifoldgen.drawing.extent import extent

    for sign in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ":
        drawn = strokes(sign, (0.0, 0.0), 6.0)
        assert drawn.items, sign
        box = extent(drawn)
        assert (box.low, box.high) == pytest.approx((0.0, 6.0), abs=0.2), sign
        kinds = {e.dxftype() for e in read(dxf_bytes(drawn))[0].modelspace()}
        assert kinds <= {"LINE", "ARC"}, sign
