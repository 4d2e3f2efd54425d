"""A design is worked out once: each table one time, the same pieces whoever asks, progress and Ctrl-C on the way."""

from __future__ import annotations

import json
import re
from collections import Counter

import pytest

import manifoldgen as mg
from manifoldgen.checks import gaps
from manifoldgen.cli import main
from manifoldgen.drawing.papers import write_papers
from manifoldgen.mesh.parts import draw
from manifoldgen.prints.all import Options, printed_parts
from manifoldgen.routing.search import Budget
from manifoldgen.shop import (
    aids,
    cone,
    cut_plates,
    cuts,
    hole,
    jig,
    marks,
    mill,
    rounding,
    saw_guides,
    sawn,
    weldplan,
    worklist,
    wraps,
)
from manifoldgen.solids import build as build_solids
from tests.worked import JOBS, demo

JOB = JOBS / "snow_groomer_three.yaml"
OPEN = JOBS / "orchard_sprayer_three.yaml"
TABLES = {
    "cut_list": cuts, "shrink_left": cuts, "marks": marks, "sensitivity": marks, "end_errors": rounding,
    "joint_rows": jig, "mill_sheets": mill, "sawn": sawn, "wraps": wraps, "holes": hole, "cones": cone, "plates": cut_plates,
    "weld_plan": weldplan, "steps": worklist, "saw_guides": saw_guides, "aids": aids,
}  # fmt: skip


def test_every_table_is_worked_out_once(tmp_path, monkeypatch) -> None:
    """Report, page, all papers and printed parts of one design: no table of the shop plan is made twice."""
    calls: Counter[str] = Counter()

    def counted(name, made):
        def call(*args, **more):
            calls[name] += 1
            return made(*args, **more)

        return call

    for name, module in TABLES.items():
        monkeypatch.setattr(module, name, counted(name, getattr(module, name)))
    monkeypatch.setattr(gaps, "gap_table", counted("gap_table", gaps.gap_table))
    monkeypatch.setattr("manifoldgen.checks.gap_table", gaps.gap_table)
    design = mg.design(JOB, search=False)
    mg.report(design)
    mg.page(design)
    write_papers(tmp_path, design)
    printed_parts(design, Options(kinds=frozenset({"nest", "reach", "guide"})))

    assert calls == dict.fromkeys([*TABLES, "gap_table"], 1)


@pytest.mark.slow
def test_everyone_names_the_same_pieces(tmp_path, capsys) -> None:
    """`check`, `route --write` and then `build`, the solids of `picture`, Python, the page: one set of ids and joints."""
    found = mg.design(OPEN)
    ids = {p.id: p.joints for p in found.manifold.pieces}
    copy = tmp_path / "found.yaml"
    assert main(["route", str(OPEN), "--write", str(copy)]) == 0
    capsys.readouterr()
    assert main(["check", str(copy), "--format", "json"]) in (0, 1)
    checked = json.loads(capsys.readouterr().out)["pieces"]
    assert main(["build", str(copy), "--only", "report", "--out", str(tmp_path), "--format", "json"]) in (
        0,
        1,
    )
    built = json.loads(capsys.readouterr().out)["pieces"]
    tubes = {p.id: list(p.joints) for p in found.manifold.pieces if p.path is not None}

    assert {p["piece"]: p["joints"] for p in checked} == tubes
    assert {p["piece"]: p["joints"] for p in built} == tubes
    assert {p.id: p.joints for p in mg.split(copy).pieces} == ids
    assert {p.id: p.joints for p in mg.split(mg.route(mg.assemble(mg.load(OPEN)))).pieces} == ids
    assert set(build_solids(found.manifold).pieces) == set(ids)
    assert {d.piece for d in draw(found.manifold).drawn} >= set(ids)
    named = re.search(r'"piece":"(R1-P\d+)"', mg.page(copy).text)
    assert named
    assert named[1] in ids


def test_pieces_that_are_there_are_kept() -> None:
    """A manifold that is cut up already is judged as it is, not cut up anew."""
    m = demo("snow_groomer_three").manifold

    assert mg.design(m, search=False).manifold is m
    assert mg.split(m) is m


def test_progress_is_told_and_ctrl_c_keeps_the_best() -> None:
    """The search tells what it has; stopped in the middle, the best so far is worked out whole and marked."""
    told = []

    def stop(progress) -> None:
        told.append(progress)
        if progress.verified:
            raise KeyboardInterrupt

    made = mg.design(OPEN, progress=stop, budget=Budget(around=0, tidied=0))

    assert told
    assert made.stopped
    assert made.open_paths == ()
    assert made.manifold.pieces
