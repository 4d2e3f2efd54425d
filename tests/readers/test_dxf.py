"""Gasket drawings: other programs' habits are read, or refused with the reason and the place."""

from __future__ import annotations

import contextlib
import math
import os
import time
from itertools import pairwise

import pytest

from manifoldgen.errors import ManifoldgenError
from manifoldgen.geometry import contour
from manifoldgen.readers.dxf import TOL, middle, read_dxf
from tests.readers.gaskets import HOLE, HOLES, OVAL_AREA, PLATE_AREA, PORTS, draw, loose, new, saved


def is_the_gasket(drawn, shift=(0.0, 0.0), tol=1e-6):
    """Areas by closed form, places as drawn."""
    assert drawn.outline.area == pytest.approx(PLATE_AREA, rel=1e-6)
    assert [c.area for c in drawn.openings] == pytest.approx([OVAL_AREA] * 3, rel=1e-6)
    places = [(x + shift[0], y + shift[1]) for x, y in PORTS]
    assert [p for c in drawn.openings for p in middle(c)] == pytest.approx(
        [v for p in places for v in p], abs=tol
    )
    holes = sorted((x + shift[0], y + shift[1]) for x, y in HOLES)
    assert [v for p, _ in drawn.holes for v in p] == pytest.approx([v for p in holes for v in p], abs=tol)
    assert [d for _, d in drawn.holes] == pytest.approx([HOLE] * 6)


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010"])
def test_loose_lines_are_chained(version, tmp_path):
    """Lines and arcs in any order and sense, in every version, without a unit in R12."""
    drawn = read_dxf(
        saved(tmp_path, lambda doc: draw(doc.modelspace(), shift=(500.0, 20.0)), version=version)
    )
    is_the_gasket(drawn, (500.0, 20.0))
    assert ("mm assumed by its size" in drawn.told) == (version == "R12")
    assert "3 openings" in drawn.told
    assert "6 small circles for bolt holes (dia 8.5 mm)" in drawn.told


@pytest.mark.parametrize(
    ("unit", "k", "words"),
    [
        (1, 1 / 25.4, "in inches, as it says"),
        (5, 0.1, "in cm, as it says"),
        (4, 1.0, "in mm, as it says"),
        (None, 1.0, "names no unit: mm assumed"),
        (None, 1 / 25.4, "names no unit: inches assumed"),
    ],
)
def test_units_are_converted_and_told(unit, k, words, tmp_path):
    """Inches and centimetres become mm; what was assumed is said."""
    drawn = read_dxf(saved(tmp_path, lambda doc: draw(doc.modelspace(), k=k), unit))
    is_the_gasket(drawn, tol=1e-5)
    assert words in drawn.told


def test_a_unit_that_cannot_be_is_refused_and_a_scale_helps(tmp_path):
    """Mm numbers declared as inches make a plate of 7.6 m: the sentence offers the scale, and it works."""
    path = saved(tmp_path, lambda doc: draw(doc.modelspace()), 1)
    with pytest.raises(ManifoldgenError, match=r"7620 mm \(in inches, as it says\).*scale: 1 if it is in mm"):
        read_dxf(path)
    is_the_gasket(read_dxf(path, scale=1.0))


def test_blocks_are_taken_apart(tmp_path):
    """Holes as blocks, a port as a scaled and turned block, the whole in a block again, mirrored circles."""

    def fill(doc):
        hole = doc.blocks.new("HOLE")
        hole.add_circle((0, 0), HOLE / 2)
        port = doc.blocks.new("PORT")
        loose(port, (0.0, 0.0), (34.0 / 2, 42.0 / 2), 17.0 / 2)  # upright and half as large
        whole = doc.blocks.new("WHOLE")
        loose(whole, (100.0, 0.0), (300.0, 80.0), 15.0)
        for at in PORTS:
            whole.add_blockref("PORT", at, dxfattribs={"rotation": 90, "xscale": 2, "yscale": 2})
        for k, at in enumerate(HOLES):
            if k % 2:
                whole.add_circle((-at[0], at[1]), HOLE / 2, dxfattribs={"extrusion": (0, 0, -1)})
            else:
                whole.add_blockref("HOLE", at)
        doc.modelspace().add_blockref("WHOLE", (7, 8))

    is_the_gasket(read_dxf(saved(tmp_path, fill)), (7.0, 8.0))


def test_doubled_edges_are_dropped(tmp_path):
    """The same line drawn twice, once backwards, and the same closed outline twice: each counts once."""

    def fill(doc):
        draw(doc.modelspace())
        draw(doc.modelspace(), shift=(0.01, 0.0))
        doc.modelspace().add_line((235, -40), (-35, -40))

    drawn = read_dxf(saved(tmp_path, fill))
    assert len(drawn.openings) == 3
    assert len(drawn.holes) == 6
    assert "doubled edges dropped" in drawn.told


def test_ends_a_little_apart_are_closed_and_told(tmp_path):
    """Gaps of 0.03 mm are closed, 0.3 mm are refused with both places."""

    def gap(size):
        def fill(doc):
            space = doc.modelspace()
            space.add_lwpolyline([(0, 0), (100, 0), (100, 60)])
            space.add_lwpolyline([(100, 60 + size), (0, 60), (0, 0)])

        return fill

    drawn = read_dxf(saved(tmp_path, gap(0.03)))
    assert drawn.outline.area == pytest.approx(6000, abs=3)
    assert "gaps up to 0.030 mm closed" in drawn.told
    with pytest.raises(
        ManifoldgenError, match=r"ends alone at \(100\.00, 60\.00\), 0\.30 mm .*\(100\.00, 60\.30\)"
    ):
        read_dxf(saved(tmp_path, gap(0.3)))


def test_ellipses_and_splines_are_followed_within_the_tolerance(tmp_path):
    """An ellipse as port and a spline as outline: area by closed form, every point of the curve within 0.05 mm."""

    def fill(doc):
        space = doc.modelspace()
        space.add_ellipse((0, 0), (22, 0), 0.8)
        # a rational spline of degree 2 that is a circle of radius 60 (nine points, weights 1 and √½: textbook)
        r, w = 60.0, math.sqrt(0.5)
        ring = [(r, 0), (r, r), (0, r), (-r, r), (-r, 0), (-r, -r), (0, -r), (r, -r), (r, 0)]
        spline = space.add_rational_spline(ring, [1, w, 1, w, 1, w, 1, w, 1], degree=2)
        spline.knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]

    drawn = read_dxf(saved(tmp_path, fill))
    assert drawn.deviation <= TOL
    assert "curves followed by arcs within" in drawn.told
    assert drawn.outline.area == pytest.approx(math.pi * 60**2, abs=math.tau * 60 * TOL)
    assert drawn.openings[0].area == pytest.approx(math.pi * 22 * 17.6, rel=1e-3)
    for k in range(500):
        t = math.tau * k / 500
        assert abs(contour.distance(drawn.openings[0], (22 * math.cos(t), 17.6 * math.sin(t)))) <= TOL + 1e-9
        assert abs(contour.distance(drawn.outline, (60 * math.cos(t), 60 * math.sin(t)))) <= TOL + 1e-9


def test_a_spline_through_a_scan_trace_with_a_kink(tmp_path):
    """A fitted spline that ends where a line begins: the corner between them stays a corner."""

    def fill(doc):
        space = doc.modelspace()
        space.add_spline([(0, 0), (30, 12), (60, 10), (100, 0)], degree=3)
        space.add_lwpolyline([(100, 0), (100, -50), (0, -50), (0, 0)])

    drawn = read_dxf(saved(tmp_path, fill))
    assert drawn.deviation <= TOL
    assert drawn.outline.bounds == pytest.approx((0, -50, 100, 13.5), abs=1.5)


def test_what_is_no_edge_is_left_out_and_told(tmp_path):
    """Text, dimensions, centre lines, layers that are off or hold notes."""

    def fill(doc):
        space = doc.modelspace()
        draw(space)
        doc.linetypes.add("CENTER", pattern=[2.0, 1.25, -0.25, 0.25, -0.25])
        doc.layers.add("OFF").off()
        doc.layers.add("AXES", linetype="CENTER")
        space.add_line((-60, 0), (260, 0), dxfattribs={"linetype": "CENTER"})
        space.add_line((0, -60), (0, 60), dxfattribs={"layer": "AXES"})
        space.add_line((1, 1), (2, 2), dxfattribs={"layer": "OFF"})
        space.add_line((1, 1), (2, 5), dxfattribs={"layer": "Notes"})
        space.add_text("GASKET")
        space.add_mtext("1.5 mm")
        space.add_linear_dim(base=(0, 60), p1=(0, 0), p2=(100, 0)).render()

    drawn = read_dxf(saved(tmp_path, fill))
    is_the_gasket(drawn)
    for words in (
        "centre and hidden lines (2)",
        "layers that are off or not for cutting (2)",
        "text, dimensions",
    ):
        assert words in drawn.told


def _refusals():
    def lines(*ways):
        return lambda doc: [doc.modelspace().add_lwpolyline(w) for w in ways]

    box = [(0, 0), (100, 0), (100, 60), (0, 60), (0, 0)]
    other = [(x + 200, y) for x, y in box]
    return {
        "two parts": (lines(box, other), r"two parts, one at \(50\.0, 30\.0\) mm, one at \(250\.0, 30\.0\)"),
        "a spur": (lines(box[:4], [(0, 60), (0, 0)], [(0, 0), (-9, -9)]), r"3 lines meet at \(0\.00, 0\.00\)"),
        "open": (lines(box[:4]), r"ends alone at \(0\.00, 0\.00\)"),
        "crossing itself": (lines([(0, 0), (100, 60), (100, 0), (0, 60), (0, 0)]), "crosses itself|encloses nothing"),
        "across the edge": (
            lambda doc: [lines(box)(doc), doc.modelspace().add_circle((100, 30), 12)],
            r"the loop at \(100\.0, 30\.0\) mm runs across the outline",
        ),
        "a loop in a loop": (
            lambda doc: [lines(box)(doc), *(doc.modelspace().add_circle((50, 30), r) for r in (12, 15))],
            "lie in or across each other",
        ),
        "no lines": (lambda doc: doc.modelspace().add_text("GASKET"), "no lines, arcs or circles"),
        "out of the plane": (
            lambda doc: doc.modelspace().add_circle((0, 0), 30, dxfattribs={"extrusion": (0, 1, 0)}),
            "does not lie in the drawing's plane",
        ),
        "too small": (lambda doc: doc.modelspace().add_circle((0, 0), 0.001), "no flange is"),
    }  # fmt: skip


@pytest.mark.parametrize("case", _refusals())
def test_what_cannot_be_told_is_refused_with_its_place(case, tmp_path):
    """One sentence with the file's name, the reason, the place and what to do."""
    fill, words = _refusals()[case]
    with pytest.raises(ManifoldgenError, match=words) as refused:
        read_dxf(saved(tmp_path, fill))
    assert str(refused.value).startswith("gasket.dxf: ")
    assert "\n" not in str(refused.value)


def test_other_files_are_refused(tmp_path):
    """Folders, devices, empty and foreign files, DWG, and what is too large."""
    made = {
        "empty.dxf": (b"", "is empty"),
        "text.dxf": (b"key: value\n" * 50, "cannot be read as DXF|no lines"),
        "plan.dxf": (b"AC1024" + bytes(500), "is a DWG file"),
        "cut.dxf": (
            b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n 10\nnan",
            "gasket|no lines|cannot be read|closes",
        ),
    }
    for name, (raw, words) in made.items():
        (tmp_path / name).write_bytes(raw)
        with pytest.raises(ManifoldgenError, match=words):
            read_dxf(tmp_path / name)
    with pytest.raises(ManifoldgenError, match="is a folder"):
        read_dxf(tmp_path)
    with pytest.raises(ManifoldgenError, match="there is no file"):
        read_dxf(tmp_path / "none.dxf")
    with pytest.raises(ManifoldgenError, match="device or a pipe"):
        read_dxf(os.devnull)


def test_blocks_within_blocks_without_end_are_refused(tmp_path):
    """Ten blocks that hold each the next ten times would be ten thousand million circles."""

    def fill(doc):
        doc.blocks.new("B0").add_circle((0, 0), 30)
        for k in range(1, 8):
            block = doc.blocks.new(f"B{k}")
            for n in range(10):
                block.add_blockref(f"B{k - 1}", (n, 0))
        doc.modelspace().add_blockref("B7", (0, 0))

    with pytest.raises(ManifoldgenError, match="more than 20000 entities"):
        read_dxf(saved(tmp_path, fill))


def test_a_large_drawing_is_answered_soon(tmp_path):
    """Thousands of circles, and a ring of thousands of loose lines, are refused with their number, not computed on."""

    def circles(doc):
        for k in range(3000):
            doc.modelspace().add_circle((k % 60, k // 60), 0.4)

    def lines(doc):
        turn = [math.tau * k / 6000 for k in range(6001)]
        places = [(400 * math.cos(t), 400 * math.sin(t)) for t in turn]
        for a, b in pairwise(places):
            doc.modelspace().add_line(a, b)

    for fill, words in (
        (circles, "3000 closed loops, at most 500"),
        (lines, "has 6000 corners, at most 4000"),
    ):
        begun = time.process_time()
        with pytest.raises(ManifoldgenError, match=words):
            read_dxf(saved(tmp_path, fill))
        assert time.process_time() - begun < 10


def test_broken_files_never_end_in_a_traceback(tmp_path):
    """Single bytes changed all over a file: read or refused, nothing else."""
    path = saved(tmp_path, lambda doc: draw(doc.modelspace()), version="R12")
    raw = path.read_bytes()
    start = raw.index(b"ENTITIES")
    for k in range(30):
        at = start + (len(raw) - start) * k // 30
        path.write_bytes(raw[:at] + (b"9", b"x", b"\n", b"\xff")[k % 4] + raw[at + 1 :])
        with contextlib.suppress(ManifoldgenError):
            read_dxf(path)


def test_a_file_of_entities_alone_is_read(tmp_path):
    """No header, no tables, comments, line ends of another system: what small programs write."""
    corners = [(0, 0), (120, 0), (120, 70), (0, 70)]
    rows = ["999", "made by hand", "0", "SECTION", "2", "ENTITIES"]
    for (x, y), (u, v) in zip(corners, corners[1:] + corners[:1], strict=True):
        rows += ["0", "LINE", "8", "0", "10", str(x), "20", str(y), "11", str(u), "21", str(v)]
    rows += ["0", "CIRCLE", "8", "0", "10", "60.0", "20", "35.0", "40", "21.0", "0", "ENDSEC", "0", "EOF"]
    path = tmp_path / "gasket.dxf"
    path.write_bytes("\r\n".join(rows).encode() + b"\r\n")
    drawn = read_dxf(path)
    assert drawn.outline.area == pytest.approx(120 * 70)
    assert middle(drawn.openings[0]) == pytest.approx((60, 35))


def test_mirror_turns_the_drawing_over(tmp_path):
    """Drawn from the other side: x is counted the other way, areas and the sense of the outline stay."""
    plain = read_dxf(saved(tmp_path, lambda doc: draw(doc.modelspace())))
    turned = read_dxf(tmp_path / "gasket.dxf", mirror=True)
    assert turned.outline.area == pytest.approx(plain.outline.area)
    assert [p[0] for p, _ in turned.holes] == pytest.approx(sorted(-p[0] for p, _ in plain.holes))
    assert new().dxfversion  # the helper's default is a version that ezdxf writes


def test_a_trace_of_many_small_lines_is_read(tmp_path):
    """A scan trace of 900 short lines a loop: circles are known as circles, the area is kept."""

    def fill(doc):
        space = doc.modelspace()
        for (x, y), r, n in (((0, 0), 60, 900), ((0, 0), 20, 300), ((45, 0), 4, 90)):
            turn = [math.tau * k / n for k in range(n)]
            space.add_lwpolyline([(x + r * math.cos(t), y + r * math.sin(t)) for t in turn], close=True)

    drawn = read_dxf(saved(tmp_path, fill))
    assert drawn.outline.area == pytest.approx(math.pi * 3600, rel=1e-4)
    assert [d for _, d in drawn.holes] == pytest.approx([8.0], abs=0.05)
    assert len(drawn.openings) == 1
