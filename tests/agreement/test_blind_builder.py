"""Someone who has only the papers builds the manifold: every run, mill cut and branch hole comes where it belongs."""

from __future__ import annotations

import math
import re
from collections import defaultdict

import numpy as np
import pytest

from tests.agreement.blind import blanks, hole_points, listed, mill_cuts, put_together, run_sheets
from tests.agreement.paper import sheets
from tests.worked import NAMES, printed, routed

MM, DEG = 1.0, 0.5
BLANK = re.compile(
    r"(?P<piece>\S+) is a blank: its line (?P<line>\S+) lies (?P<ahead>[\d.]+) mm from the sawn end"
    r"(; saw off the (?P<hold>\d+) mm grip allowance after the inlet end is cut)?"
)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_the_papers_alone_build_it(name) -> None:
    """Every run ends within 1 mm and 0.5° of its place; both cuts of a seam lie in one plane; the hole is the branch's bore."""
    design, folder = routed(name), printed(name)
    m, cuts = design.manifold, listed(folder)
    built = {run: put_together(sheet, cuts) for run, sheet in run_sheets(folder).items()}

    assert set(built) == {r.name for r in m.runs if r.path is not None}
    legs = {p.part: p.leg for p in m.pieces if p.leg}
    for run in m.runs:
        place, way = np.array(run.path.end.at), np.array(run.path.end.direction)
        if run.target is not None:
            place, way = np.array(run.target.at), np.array(run.target.direction)
        at, travel = built[run.name].end
        assert np.linalg.norm(at - place - legs.get(run.name, 0.0) * way) <= MM, run.name
        assert math.degrees(math.acos(min(1.0, float(travel @ way)))) <= DEG, run.name
    for sheet in sheets(folder / "build-sheets.pdf"):
        if sheet.title.endswith("inlets on the mill"):
            seams = defaultdict(list)
            for cut in mill_cuts(sheet, built):
                seams[cut.seam].append(cut)
            axis, foot = np.array(m.collectors[0].frame.z), np.array(m.collectors[0].frame.at)
            assert all(len(pair) == 2 for pair in seams.values())
            for a, b in seams.values():
                assert math.degrees(math.acos(min(1.0, abs(float(a.normal @ b.normal))))) <= DEG, a.seam
                assert abs(float((a.at - b.at) @ a.normal)) <= MM, a.seam
                assert abs(math.degrees(math.asin(float(a.normal @ axis)))) <= DEG, (
                    a.seam
                )  # it holds the collector's axis
                assert abs(float((foot - a.at) @ a.normal)) <= MM, a.seam
    holes = [
        s for s in sheets(folder / "templates.pdf") if any(t.heads[0].startswith("branch") for t in s.tables)
    ]
    assert len(holes) == sum(b.element is not None for b in m.branches)
    for branch in m.branches:
        for sheet in holes:
            off = hole_points(sheet, built[branch.takeoff]) - np.array(branch.root)
            along = off @ np.array(branch.axis)
            radius = np.linalg.norm(off - along[:, None] * np.array(branch.axis), axis=1)
            assert np.abs(radius - branch.run.section.bore_radius).max() <= MM


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_a_blank_that_is_sawn_by_the_lists_serves_the_mill(name) -> None:
    """Cut list, runner sheet and mill sheet ask for one length, one line, one grip allowance; the cut ends inside the blank."""
    folder = printed(name)
    cuts, found = listed(folder), blanks(folder)
    said = {}
    for sheet in run_sheets(folder).values():
        for row in (r for t in sheet.tables for r in t.rows if len(r) == 1):
            if told := BLANK.fullmatch(row[0]):
                said[told["piece"]] = told

    assert set(found) <= set(said)
    assert bool(found) == any(s.title.endswith("on the mill") for s in sheets(folder / "build-sheets.pdf"))
    for piece, blank in found.items():
        told = said[piece]
        assert told["line"] == blank.line
        assert float(told["ahead"]) == blank.ahead
        assert abs(float(told["hold"] or 0.0) - (blank.ahead - blank.left_on)) <= 0.5
        assert abs(float(cuts[piece]["saw_before_mm"]) - blank.length) <= 0.05
        assert blank.ahead + blank.straight >= blank.grip  # enough to clamp on
        assert blank.ahead + blank.flat <= blank.length  # the middle of the flat cut is still tube
        assert (
            abs(float(cuts[piece]["net_mm"]) - blank.flat) <= 0.11
        )  # what stays is what the runner is built of


def test_a_roll_that_is_turned_over_is_seen_at_the_end(tmp_path) -> None:
    """The same builder with one sentence changed from clockwise to anticlockwise ends centimetres off."""
    from dataclasses import replace

    design, folder = routed("snow_groomer_tight"), printed("snow_groomer_tight")
    run = design.manifold.runners[0]
    sheet, cuts = run_sheets(folder)[run.name], listed(folder)
    swapped = []
    for table in sheet.tables:
        rows = tuple(
            (row[0].replace(" clockwise", " anti-clockwise").replace(" anticlockwise", " clockwise"),)
            if len(row) == 1
            else row
            for row in table.rows
        )
        rows = tuple(
            (row[0].replace("anti-clockwise", "anticlockwise"),) if len(row) == 1 else row for row in rows
        )
        swapped.append(replace(table, rows=rows))
    at, _ = put_together(replace(sheet, tables=tuple(swapped)), cuts).end
    true, _ = put_together(sheet, cuts).end

    assert np.linalg.norm(at - true) > 10.0
