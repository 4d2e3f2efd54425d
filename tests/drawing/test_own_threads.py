"""From the hole to the tool: own clearances, own threads and inch threads in everything that is made of a job."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import ezdxf
import pytest

import manifoldgen as mg
from manifoldgen.access.fasteners import fastener
from manifoldgen.cli import main
from manifoldgen.designs import Design
from manifoldgen.drawing.figure import Figure, Text, Window
from manifoldgen.drawing.flanges import flange_pages, write_flanges
from manifoldgen.drawing.papers import write_papers
from manifoldgen.parameters import load_text
from tests.drawing.rendering import needs_poppler, said

JOB = Path(__file__).parents[2] / "cq_scripts" / "jobs" / "sand_rail_four.yaml"
HEAD, TURBO = "thread: M8, length", "thread: M10, positions"


def text(*changes: tuple[str, str], more: str = "") -> str:
    """The demo job's text, changed."""
    raw = JOB.read_text("utf-8")
    for old, new in changes:
        assert raw.count(old) == 1, old
        raw = raw.replace(old, new)
    return raw + more


def own(**tables: str) -> str:
    """Own rows of fasteners as the last lines of a job."""
    return "catalogue:\n  fasteners:\n" + "".join(f"    {name}: {rows}\n" for name, rows in tables.items())


@cache
def made(raw: str) -> Design:
    """A job worked out."""
    return mg.design(load_text(raw, JOB), search=False)


def texts(figure: Figure) -> Iterator[str]:
    """Everything written on a figure, what is seen through a window too."""
    for item in figure.items:
        if isinstance(item, Window):
            yield from texts(item.figure)
        elif isinstance(item, Text):
            yield item.text


def written(design: Design) -> set[str]:
    """Everything written on the full-size flanges."""
    return {t for page in flange_pages(design.shop) for t in texts(page.figure)}


def circles(folder: Path, name: str) -> set[float]:
    """Diameters of the holes of a flange drawing, mm."""
    return {round(2 * c.dxf.radius, 3) for c in ezdxf.readfile(folder / name).modelspace().query("CIRCLE")}


def test_an_own_clearance_goes_through_everything(tmp_path):
    """M8 with 9.7 instead of 9.0: model, drawing for the cutter, paper, drill guide; other threads stay."""
    from manifoldgen.prints.gauges import drill_guides

    design = made(text(more=own(clearance_hole="{M8: {medium: 9.7}}")))
    m = design.manifold
    write_flanges(tmp_path, design.shop)

    assert {s.hole for s in m.studs if s.thread == "M8"} == {9.7}
    assert {h.diameter for h in m.head.holes} == {9.7}
    assert {h.diameter for h in m.turbo.holes} == {11.0}  # ISO 273 medium, M10
    assert circles(tmp_path, "head-flange.dxf") == {9.7}
    assert circles(tmp_path, "turbo-flange.dxf") == {11.0}
    assert {h.diameter for p in design.shop.plates if p.name == "head flange" for h in p.holes} == {9.7}
    assert "ø9.7 mm" in written(design)
    assert "ø9 mm" not in written(design)
    guide = next(g for g in drill_guides(m) if "head-flange" in g.name)
    assert "open up to 9.7 mm without the guide" in guide.sits


M9 = {
    "all_metal_lock_nut": "{M9: {s: 14, m: 9}}",
    "hex_screw": "{M9: {s: 14, k: 5.8}}",
    "washer": "{M9: {d1: 9.5, d2: 18, h: 1.8}}",
    "clearance_hole": "{M9: {fine: 9.5, medium: 10, coarse: 11}}",
}
M14 = {
    "all_metal_lock_nut": "{M14: {s: 21, e: 23.36, m: 14}}",
    "hex_screw": "{M14: {s: 21, k: 8.8}}",
    "washer": "{M14: {d1: 15, d2: 28, h: 2.7}}",
    "clearance_hole": "{M14: {fine: 15, medium: 15.5, coarse: 16.5}}",
}


@pytest.mark.parametrize(
    ("thread", "rows", "hole", "spanner"), [("M9", M9, 10.0, 14), ("M14", M14, 15.5, 21)]
)
def test_an_own_thread_goes_through_everything(thread, rows, hole, spanner, tmp_path):
    """A thread that only the shop has: hole, nut, tools with their drive, sheets, lists, drawings, gauge."""
    from manifoldgen.prints.dummies import tool_dummies
    from manifoldgen.prints.gauges import stud_gauge

    changes = ((HEAD, HEAD.replace("M8", thread)), (TURBO, TURBO.replace("M10", thread)))
    design = made(text(*changes, more=own(**rows)))
    m = design.manifold
    assert design.hands is not None
    files = {f.name: f for f in write_papers(tmp_path, design)}

    assert {h.diameter for h in (*m.head.holes, *m.turbo.holes)} == {hole}
    assert circles(tmp_path, "head-flange.dxf") == circles(tmp_path, "turbo-flange.dxf") == {hole}
    f = fastener(m.studs[0], m.tables)
    assert (f.across_flats, f.radius) == (spanner, float(rows["washer"].split("d2: ")[1].split(",")[0]) / 2)
    taken = {a.tool for a in design.hands.studs if a.id[0] in "ST" and a.tool}
    assert taken
    assert all(f"{spanner} mm" in tool for tool in taken)
    assert f"S1 {thread}" in written(design)
    assert files["cut-list.csv"].stat().st_size > 0
    if thread == "M9":
        assert stud_gauge(m)
        assert any(f"tool-{spanner}-mm" in p.name for p in tool_dummies(m))


def test_an_own_tool_is_taken_for_an_own_thread():
    """M24 has no socket in our tables (the largest is 32 across flats): the shop's 3/4 drive is taken for it."""
    rows = {
        "hex_nut": "{M24: {s: 36, m: 21.5}}",
        "washer": "{M24: {d1: 25, d2: 44, h: 4.3}}",
        "clearance_hole": "{M24: {medium: 26}}",
    }
    tool = (
        "tools:\n"
        "  hand_socket: {20: {per_s: 1.25, plus: 4, d2: 44, regular: 60, deep: 90, most: 50}}\n"
        "  ratchet: {20: {head_d: 70, head_h: 50, length: 500, neck_r: 14, grip_r: 18}}\n"
        "  extension: {20: {lengths: [200], d_max: 40}}\n"
    )
    change = (HEAD, "thread: M24, length"), ("nut: all-metal-lock", "nut: hex")
    from manifoldgen.access.tools import tools

    without, with_own = (
        mg.assemble(load_text(text(*change, more=own(**rows) + more), JOB)) for more in ("", tool)
    )
    names = [[t.name for t in tools(fastener(m.studs[0], m.tables), m.tables)] for m in (without, with_own)]

    assert not any("ratchet, " in n for n in names[0])
    assert names[0][0] == "36 mm ratcheting ring spanner"
    assert names[1][0] == "3/4 ratchet, 36 mm socket"


INCH = text((HEAD, "thread: 3/8-16, length"), (TURBO, "thread: 5/16-18, positions"))


def test_inch_threads_on_the_full_size_flanges(tmp_path):
    """3/8-16 studs and 5/16-18 bolts: full names, holes of ASME B18.2.8, the caliper's measure over both studs."""
    design = made(INCH)
    m = design.manifold
    write_flanges(tmp_path, design.shop)
    told = written(design)

    # normal fit, Machinery's Handbook, 31st edition, page 1741: 13/32 and 11/32 in
    assert circles(tmp_path, "head-flange.dxf") == {round(13 / 32 * 25.4, 3)}
    assert circles(tmp_path, "turbo-flange.dxf") == {round(11 / 32 * 25.4, 3)}
    assert {"S1 3/8-16 UNC", "T1 5/16-18 UNC", "ø10.32 mm", "ø8.73 mm"} <= told
    (a, b) = m.head.holes[:2]
    assert f"{math.dist(a.at, b.at) + 3 / 8 * 25.4:.1f}" in told  # from outside to outside: one diameter more


def test_inch_tools_reach():
    """Sockets and spanners are called by their inch size: 9/16 for 3/8 nuts, 1/2 for 5/16 heads."""
    hands = made(INCH).hands
    assert hands is not None
    answers = {a.id: a for a in hands.studs}

    assert all(a.reachable for a in answers.values())
    assert all("9/16 in" in (answers[i].tool or "") for i in answers if i[0] == "S")
    assert all("1/2 in" in (answers[i].tool or "") for i in answers if i[0] == "T")


@needs_poppler
def test_an_inch_job_through_check_and_papers(tmp_path, capsys):
    """`check` is clean of faults; the sheets print thread and spanner; every list is there."""
    file = tmp_path / "inch.yaml"
    file.write_text(INCH, "utf-8")
    assert main(["check", str(file)]) in {0, 1}
    shown = capsys.readouterr()
    assert "fault of the program" not in shown.err
    assert "9/16 in" in shown.out

    assert main(["build", str(file), "--only", "shop", "--out", str(tmp_path)]) in {0, 1}
    shop = tmp_path / "sand-rail-four" / "shop"
    sheets = said(shop / "build-sheets.pdf", "pdftotext", "-layout")
    assert "3/8-16 UNC" in sheets
    assert "5/16-18 UNC" in sheets
    assert "9/16 in" in sheets
    assert {p.name for p in shop.glob("*.csv")} == {
        "cut-list.csv",
        "joints.csv",
        "bend-table.csv",
        "work-list.csv",
    }


def test_a_gauge_for_inch_threads():
    """Pins of the stud gauge have ASME B1.1's minor diameter less the fit: 3/8-16 has 0.307 in (from memory)."""
    from manifoldgen.prints import bodies
    from manifoldgen.prints.gauges import stud_gauge

    m = made(INCH).manifold
    (x, y), fit = m.head.holes[0].at, m.workshop.fit
    whole = bodies.union([bodies.solid_of(p.in_place) for p in stud_gauge(m, pins=True)])

    def share(radius: float) -> float:
        rod = bodies.cylinder((x, y, -4.0), (0.0, 0.0, 1.0), radius, 2.0)
        return float(bodies.common(whole, rod).volume()) / float(rod.volume())

    assert share(0.307 * 25.4 / 2 - fit - 0.03) == pytest.approx(1.0, abs=2e-3)
    assert share(0.307 * 25.4 / 2 - fit + 0.05) < 0.99


def test_a_missing_row_is_no_fault(tmp_path, capsys):
    """A thread whose nut is not tabled ends with 2 and one sentence with file, line, column and what to add."""
    rows = {k: v for k, v in M9.items() if k != "all_metal_lock_nut"}
    file = tmp_path / "job.yaml"
    file.write_text(text((HEAD, "thread: M9, length"), more=own(**rows)), "utf-8")

    assert main(["check", str(file)]) == 2
    told = capsys.readouterr().err
    assert f"{file}:19:" in told
    assert "there is no all-metal-lock nut of M9 in the catalogue: add it to the shop file" in told
    assert "fault of the program" not in told
