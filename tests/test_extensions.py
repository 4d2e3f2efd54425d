"""Other packages: what they add is seen, in a fixed order; what they do wrong is a warning, never the end."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from dataclasses import replace

import pytest

from manifoldgen.catalogue import STANDARD
from manifoldgen.checks import examine
from manifoldgen.checks.registry import KINDS
from manifoldgen.cli import job, main
from manifoldgen.export import manifest
from manifoldgen.export.prints import write_prints
from manifoldgen.extensions import extensions
from manifoldgen.manifold.assemble import assemble
from manifoldgen.manifold.model import Stud
from manifoldgen.pieces import split
from manifoldgen.prints import foreign as foreign_prints
from manifoldgen.prints.all import Options, printed_parts
from manifoldgen.prints.estimate import formula
from tests import extended, factory
from tests.jobs import load_four
from tests.worked import bare

JOB = "cq_scripts/jobs/orchard_sprayer_three.yaml"  # three ports with two studs and nuts each, the turbo on a clamp
NUTS = 6
HEAD = """
from manifoldgen.checks import Check, FindingKind
KIND = FindingKind(name="bad-news", severities=("note",), means="Bad.", why="So.", do="Do.")
OTHER = FindingKind(name="other-news", severities=("note",), means="Bad.", why="So.", do="Do.")
OURS = FindingKind(name="runner-gap", severities=("note",), means="Bad.", why="So.", do="Do.")
def said(**more):
    return KIND.finding(**{"message": "News.", "do": "Read.", **more})
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder whose packages are installed, for as long as a test runs."""
    place = tmp_path / "installed"
    place.mkdir()
    monkeypatch.syspath_prepend(str(place))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "state"))
    before = set(sys.modules)
    yield place
    for name in set(sys.modules) - before:
        if str(place) in str(getattr(sys.modules[name], "__file__", None)):
            del sys.modules[name]


def run(folder, *words: str) -> subprocess.CompletedProcess:
    """The command line with the folder's packages, in a process of its own."""
    command = [sys.executable, "-m", "manifoldgen", *words]
    env = extended.environment(folder, folder.parent / "state")
    return subprocess.run(
        command, cwd=extended.ROOT, env=env, capture_output=True, text=True, encoding="utf-8", check=False
    )


def test_the_example_is_seen_by_check_and_explain(folder):
    """Installed, and nothing else done: its finding stands among ours, its kind is explained like ours."""
    extended.example(folder)
    checked = run(folder, "check", JOB, "--format", "json")
    told = run(folder, "explain", "nut-count").stdout
    found = [f for f in json.loads(checked.stdout)["findings"] if f["name"] == "nut-count"]

    assert checked.returncode == 0
    assert [(f["severity"], f["value"], f["message"]) for f in found] == [
        ("note", NUTS, "The job takes 6 × M8.")
    ]
    assert told.startswith("nut-count (note): How many nuts the job takes")
    assert "\n\nWhy: They are ordered with the gasket" in told
    assert "\n\nDo: Order them" in told


def test_a_check_that_raises_is_a_warning_and_a_log(folder):
    """The command ends as it would; the warning names package, entry point and exception, the log where."""
    code = (
        HEAD
        + "def ask(m):\n    print('counting')\n    raise RuntimeError('no nuts on\\nthe bench')\nCHECK = Check(kinds=(KIND,), ask=ask)\n"
    )
    extended.package(folder, "bad-bench", code, {"manifoldgen.checks": {"bad-count": "bad_bench:CHECK"}})
    done = run(folder, "check", JOB, "--format", "json")
    (found,) = [f for f in json.loads(done.stdout)["findings"] if f["severity"] != "note"]
    (log,) = (folder.parent / "state" / "manifoldgen").iterdir()

    assert done.returncode == 0
    assert (found["name"], found["severity"]) == ("check-failed", "warning")
    assert found["message"] == "The check bad-count of bad-bench 2.0: RuntimeError: no nuts on."
    assert "bad-bench" in found["do"]
    assert "Traceback" not in done.stderr
    assert "counting" in done.stderr
    assert str(log) in done.stderr
    written = log.read_text(encoding="utf-8")
    assert "extension: bad-count of bad-bench 2.0\n" in written
    assert "bad-bench 2.0\n" in written
    assert "bad_bench.py" in written
    assert "RuntimeError: no nuts on\nthe bench" in written


@pytest.mark.parametrize(
    ("code", "told"),
    [
        ("def ask(m):\n    yield said()\n    raise ValueError('half way')\n", "ValueError: half way"),
        ("def ask(m): raise SystemExit(3)\n", "SystemExit: 3"),
        ("def ask(m): return None\n", "TypeError: 'NoneType' object is not iterable"),
        ("def ask(m): return [said(), 'nuts']\n", "TypeError: a check answers with findings, not with 'nuts'"),
        ("def ask(m): return [OTHER.finding(message='a', do='b')]\n", "other-news is not listed among its kinds"),
        ("def ask(m): return [KIND.finding(severity='error', message='a', do='b')]\n", "bad-news is of severity note"),
        ("def ask(m): return [said(message=None)]\n", "message, do and parts have to be words"),
        ("def ask(m): return [said(parts='S1')]\n", "message, do and parts have to be words"),
        ("def ask(m): return [said(value='six')]\n", "value, limit and points have to be numbers"),
        ("def ask(m): return [said(value=float('nan'))]\n", "ValueError: Out of range float"),
        ("def ask(m): return [said(points=((0.0, 1.0),))]\n", r"points are (x, y, z)"),
        ("def ask(m): return [said(where=(3, 5))]\n", "a place in the file is a Where"),
        ("KIND = OURS\ndef ask(m): return []\n", "ValueError: there is a finding called runner-gap already"),
        ("def ask(m): return m.runers\n", "AttributeError: 'Manifold' object has no attribute 'runers'"),
        ("import no_such_module\n", "ModuleNotFoundError: No module named 'no_such_module'"),
        ("def ask(m) return []\n", "SyntaxError: expected ':'"),
        ("def ask(m): return []\nCheck = lambda **_: ask\n", "has to name a Check(kinds=…, ask=…), not <function ask"),
        ("ask = None\nCheck = lambda **_: None\n", "has to name a Check(kinds=…, ask=…), not None"),
    ],
)  # fmt: skip
def test_every_fault_of_a_check_is_one_warning(folder, code, told):
    """Whatever goes wrong over there: one line that names it, and what the other checks found is all there."""
    m = factory.manifold(2)
    tight = replace(m, limits=replace(m.limits, gap=80.0, gap_at_merge=60.0, gap_at_flange=80.0))
    before = examine(tight).findings
    code = HEAD + code + "CHECK = Check(kinds=(KIND,), ask=ask)\n"
    extended.package(folder, "bad-bench", code, {"manifoldgen.checks": {"bad-count": "bad_bench:CHECK"}})
    after = examine(tight)
    (failed,) = (f for f in after.findings if f.kind is KINDS["check-failed"])

    assert before
    assert tuple(f for f in after.findings if f is not failed) == before
    assert failed.message.startswith("The check bad-count of bad-bench 2.0: ")
    assert told in failed.message
    assert "\n" not in failed.message
    assert len(after.faults) == 1


def test_an_entry_point_that_names_nothing_is_a_warning(folder, capsys):
    """A slip in the other package's project file; `explain` says it and goes on."""
    extended.package(folder, "bad-bench", HEAD, {"manifoldgen.checks": {"bad-count": "bad_bench:CHEK"}})
    (failed,) = examine(factory.manifold(2)).findings

    assert "AttributeError: module 'bad_bench' has no attribute 'CHEK'" in failed.message
    assert main(["explain", "check-failed"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("check-failed (warning): ")
    assert "bad-count of bad-bench 2.0: AttributeError" in err


def test_their_order_is_that_of_the_names(folder):
    """Not that of the packages, nor of the folder: the same answer on every machine; a shared name goes to the first."""
    code = HEAD + "def ask(m): yield said(message=__name__)\nCHECK = Check(kinds=(KIND,), ask=ask)\n"
    mine = code.replace("bad-news", "more-news")
    extended.package(
        folder, "a-bench", code, {"manifoldgen.checks": {"zinc": "a_bench:CHECK", "mill": "a_bench:CHECK"}}
    )
    extended.package(folder, "z-bench", mine, {"manifoldgen.checks": {"anvil": "z_bench:CHECK"}})
    clash = HEAD + "def ask(m): return []\nKIND = FindingKind(name='more-news', means='x', why='y', do='z')\n"
    clash += "CHECK = Check(kinds=(KIND,), ask=ask)\n"
    extended.package(folder, "b-bench", clash, {"manifoldgen.checks": {"brake": "b_bench:CHECK"}})
    found = examine(factory.manifold(2)).findings

    assert [e.name for e in extensions("manifoldgen.checks")] == ["anvil", "brake", "mill", "zinc"]
    assert [(f.name, f.message) for f in found] == [
        ("check-failed", "The check brake of b-bench 2.0: ValueError: there is a finding called more-news already."),
        ("bad-news", "a_bench"), ("bad-news", "a_bench"), ("more-news", "z_bench"),
    ]  # fmt: skip


def test_a_check_of_hands_is_asked_once_every_path_is_there(folder):
    """It is handed what hands reach, measured once for all; without that there is nothing to ask about."""
    code = HEAD + "from manifoldgen.checks import HandCheck\n"
    code += "def ask(m, hands): yield said(value=hands.removal.travel_mm)\nCHECK = HandCheck(kinds=(KIND,), ask=ask)\n"
    extended.package(folder, "own-hands", code, {"manifoldgen.checks": {"travel": "own_hands:CHECK"}})
    m = factory.manifold(2)
    whole = examine(m)
    still_open = examine(replace(m, runners=(replace(m.runners[0], path=None, todo="auto"), m.runners[1])))

    assert [(f.name, f.value) for f in whole.findings] == [("bad-news", whole.hands.removal.travel_mm)]
    assert [f.name for f in still_open.findings] == ["path-auto"]
    assert still_open.faults == ()


def test_a_check_of_theirs_may_find_what_ours_find(folder):
    """Another way to measure a gap needs no name of its own: it takes our kind, and is held to its severity."""
    code = "from manifoldgen.checks import Check\nfrom manifoldgen.checks.runner_gap import RUNNER_GAP\n"
    code += "def ask(m): yield RUNNER_GAP.finding(message='Near.', do='Move.')\n"
    code += "CHECK = Check(kinds=(RUNNER_GAP,), ask=ask)\n"
    extended.package(folder, "own-gap", code, {"manifoldgen.checks": {"own-gap": "own_gap:CHECK"}})
    (found,) = examine(factory.manifold(2)).findings

    assert (found.name, found.severity) == ("runner-gap", "error")


def test_check_stays_light_with_the_example(folder):
    """The example's module is loaded by `check`: it imports what is heavy where it is used."""
    extended.example(folder)
    code = (
        f"from manifoldgen.cli import main; assert main(['check', {JOB!r}]) == 0; import sys; "
        "print('loaded:', *sorted({name.partition('.')[0] for name in sys.modules}))"
    )
    env = extended.environment(folder, folder.parent / "state")
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=extended.ROOT, env=env, capture_output=True, check=True
    )
    names = set(done.stdout.decode().rpartition("loaded:")[2].split())

    assert "bench_nuts" in names
    assert not names & {"cadquery", "OCP", "manifold3d", "reportlab", "vtkmodules"}


def test_the_tray_is_printed_with_ours(folder, tmp_path):
    """The example's part comes with those of our own: one closed body on the bed, with its files and its row."""
    extended.example(folder)
    made = printed_parts(bare(assemble(load_four())), Options(kinds=frozenset(["other"])))
    (part,) = made.parts
    write_prints(tmp_path, made.parts, formula(STANDARD))

    assert (part.name, part.kind, made.faults) == ("nut-tray", "other", ())
    assert part.mesh.closed
    assert {p.name for p in tmp_path.iterdir() if p.is_file()} == {
        "nut-tray.stl",
        "nut-tray.3mf",
        "printed-parts.csv",
    }


BOX = """
import numpy as np
from dataclasses import replace
from manifoldgen.geometry.pose import BENCH
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.prints.part import PrintedPart
CORNERS = np.array([(x, y, z) for x in (0.0, 9.0) for y in (0.0, 9.0) for z in (0.0, 9.0)])
FACES = np.array([(0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1),
                  (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3)])
MESH = Mesh("block", CORNERS, FACES)
PART = PrintedPart("block", "other", "", MESH, BENCH, "To try.", "Lies there.")
"""


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ("None", "'NoneType' object is not iterable"),
        ("[MESH]", "a maker of printed parts gives PrintedParts, not Mesh"),
        ("[PART, PART]", "two printed parts are both called block"),
        ("replace(PART, name='stud-gauge')", "two printed parts are both called stud-gauge"),
        ("replace(PART, name='../block')", "as its file is, not '../block'"),
        ("replace(PART, kind='nut')", "not 'nut'"),
        ("replace(PART, group='must')", "group is one of print first, helps, nice to have, not 'must'"),
        ("replace(PART, purpose=None)", "have to be words"),
        ("replace(PART, grams=float('inf'))", "no estimate"),
        ("replace(PART, mesh=replace(MESH, triangles=FACES[:-1]))", "the mesh is not closed"),
        ("replace(PART, mesh=replace(MESH, triangles=FACES[:, ::-1]))", "inside out"),
        ("replace(PART, mesh=replace(MESH, triangles=FACES + 1))", "a corner that there is not"),
        ("replace(PART, mesh=replace(MESH, triangles=FACES * 1.0))", "whole numbers"),
        ("replace(PART, mesh=replace(MESH, vertices=CORNERS * np.nan))", "numbers in mm"),
        ("replace(PART, mesh=replace(MESH, vertices=CORNERS - 5.0))", "the corner of the bed"),
        (
            "replace(PART, mesh=replace(MESH, vertices=CORNERS * 60.0))",
            "it takes 540 × 540 × 540 mm, the bed has",
        ),
        ("1 / 0", "ZeroDivisionError: division by zero"),
    ],
)
def test_a_part_that_cannot_be_printed_is_refused(folder, answer, told):
    """Files, cards and printer need a whole mesh, a name that is a file's and words; all else is told and left out."""
    code = BOX + f"def part(design): return {answer}\n"
    extended.package(folder, "bad-print", code, {"manifoldgen.prints": {"bad-part": "bad_print:part"}})
    found = foreign_prints.parts(bare(factory.manifold(2)), ["stud-gauge"])

    assert found.made == ()
    (fault,) = found.faults
    assert fault.told.startswith("bad-part of bad-print 2.0: ")
    assert told in fault.told


def test_a_sound_part_is_taken(folder):
    """The block of the test before, as it is."""
    extended.package(
        folder,
        "good-print",
        BOX + "def part(design): return PART\n",
        {"manifoldgen.prints": {"block": "good_print:part"}},
    )
    ((part,),) = foreign_prints.parts(bare(factory.manifold(2)), ["stud-gauge"]).made

    assert part.name == "block"
    assert part.group == "helps"


@pytest.mark.parametrize(("only", "made"), [("first", 0), ("helps", 1), ("all", 1)])
def test_a_part_counts_to_what_helps(folder, only, made):
    """Where its maker says nothing else, it is left out in a shop that prints only what is first."""
    code = BOX + "def part(design): return PART\n"
    extended.package(folder, "good-print", code, {"manifoldgen.prints": {"block": "good_print:part"}})
    m = assemble(load_four(print={"only": only}))
    found = printed_parts(bare(m), Options(kinds=frozenset(["other"])))

    assert len(found.parts) == made
    assert found.faults == ()


PAGE = """
from manifoldgen.drawing.figure import Circle, Figure, SheetPage, Text
def page(item): return SheetPage(210.0, 297.0, Figure((item,)), "News")
"""


@pytest.fixture
def built(tmp_path, monkeypatch):
    """Build the papers of a bundle of two runners whose head flange has two studs; the folder they are in."""
    m = split(factory.manifold(2))
    studs = tuple(
        Stud(f"S{k}", "head flange", "stud", (x, 0.0, factory.FACE), (0.0, 0.0, 1.0), "M8", 26.0, "all-metal-lock", True, 9.0)
        for k, x in enumerate((-120.0, 120.0), start=1)
    )  # fmt: skip
    monkeypatch.setattr(job, "laid", lambda file, **_: replace(m, studs=studs))

    def build(name):
        assert main(["build", "job.yaml", "--out", str(tmp_path / name), "--only", "shop"]) == 0
        return tmp_path / name / "bundle"

    return build


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ("None", "'NoneType' object is not iterable"),
        ("['News']", "a maker of sheets gives SheetPages, not 'News'"),
        ("page(Text((9, 9), None))", "Error: "),
        ("page(Circle((9, 9), 'wide'))", "Error: "),
        ("design.sheets", "'Design' object has no attribute 'sheets'"),
    ],
)
def test_a_sheet_that_cannot_be_drawn_is_left_out(folder, built, capsys, answer, told):
    """The sheets of the job are all there without it; the warning says whose is missing, the build ends clean."""
    code = PAGE + f"def make(design): return {answer}\n"
    extended.package(folder, "bad-sheet", code, {"manifoldgen.sheets": {"news": "bad_sheet:make"}})
    result = built("bad")
    findings = json.loads((result / "report.json").read_text())["findings"]
    (found,) = [f for f in findings if f["name"] == "not-made"]

    assert found["severity"] == "warning"
    assert found["message"].startswith("sheet not made: news of bad-sheet 2.0: ")
    assert told in found["message"]
    assert "the log is " in capsys.readouterr().err
    assert pages(result) > 3


def test_the_list_is_a_sheet_among_ours(folder, built):
    """The example's page is one more in the build sheets; the manifest tells which package helped to make them."""
    without = built("without")
    extended.example(folder)
    result = built("with")

    assert pages(result) == pages(without) + 1
    assert json.loads((result / "manifest.json").read_text())["versions"]["bench-nuts"] == "0.1"
    assert "bench-nuts" not in json.loads((without / "manifest.json").read_text())["versions"]
    assert manifest.problems(result) == ()


def pages(result) -> int:
    """How many pages the build sheets of a result have."""
    return len(re.findall(rb"/Type /Page\b", (result / "shop" / "build-sheets.pdf").read_bytes()))


def test_the_document_shows_the_example():
    """Every block of code in docs/extending.md stands in the example's files, letter by letter."""
    files = [extended.EXAMPLE / "pyproject.toml", extended.EXAMPLE / "bench_nuts" / "__init__.py"]
    whole = "\n".join(file.read_text(encoding="utf-8") for file in files)
    text = (extended.ROOT / "docs" / "extending.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```(?:toml|python)\n(.*?)```", text, re.DOTALL)

    assert len(blocks) == 5
    assert [block for block in blocks if block not in whole] == []
