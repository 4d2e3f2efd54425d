"""`manifoldgen route`: what it finds, says, writes and how it ends."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

import manifoldgen as mg
from manifoldgen.cli import job, main
from manifoldgen.cli.route_text import routed_report, routed_text
from manifoldgen.cli.written import copied, written
from manifoldgen.parameters import load, load_text
from manifoldgen.parameters.starter import Answers, starter
from manifoldgen.pieces import split
from manifoldgen.routing.diagnose import Cure, Diagnosis
from manifoldgen.routing.route import Routed
from manifoldgen.routing.verify import Margin
from tests import factory
from tests.worked import bare

JOBS = Path(__file__).parents[2] / "cq_scripts" / "jobs"
THREE = JOBS / "orchard_sprayer_three.yaml"
FREE = "  order: firing\n"


def errors(file: Path) -> list[str]:
    """Names of the error findings of a file whose paths are written out."""
    return [f.name for f in mg.check(file) if f.severity == "error"]


@pytest.fixture(scope="module")
def three():
    """The sprayer's three, laid out and found."""
    laid = job.laid(THREE)
    return laid, mg.design(laid).routed


def test_three_from_the_command_line(tmp_path, capsys):
    """It is found and written; progress stays off stdout; the report has its keys; the copy has no error."""
    out = tmp_path / "found.yaml"
    assert main(["route", str(THREE), "--write", str(out), "--format", "json"]) == 0
    told = capsys.readouterr()
    content = json.loads(told.out)
    assert content["ok"] is True
    assert not [f for f in content["findings"] if f["severity"] == "error"]
    assert content["route"] == {"seed": 1, "searched": [1, 2, 3], "verified": True, "stopped": False}
    assert content["length"]["lower_bound_mm"] <= content["length"]["shortest_mm"]
    assert "routing: " in told.err
    assert errors(out) == []

    again = mg.assemble(load(out))
    for run in again.runners:
        assert run.miss_mm < again.limits.end_tolerance
        assert run.path.length == pytest.approx(content["runners"][str(run.number)]["length_mm"], abs=0.01)


def test_written_copy_reads_back(three, tmp_path):
    """Every end lands within the fit-up, lengths within 0.01 mm, the ring as found; only those lines change."""
    laid, routed = three
    raw = THREE.read_bytes()
    copy = copied(THREE, raw, laid, routed.manifold, tmp_path / "copy.yaml")
    again = mg.assemble(load_text(copy, tmp_path / "copy.yaml"))
    for run, found in zip(again.runners, routed.manifold.runners, strict=True):
        assert run.miss_mm < 0.01
        assert run.miss_deg < 0.01
        assert math.dist(run.path.end.at, run.target.at) < 1e-9
        assert run.path.length == pytest.approx(found.path.length, abs=0.01)
    (ring,), (held,) = again.collectors, routed.manifold.collectors
    assert ring.clock == pytest.approx(held.clock, abs=1e-4)
    assert (ring.mirror, ring.order) == (held.mirror, held.order)
    kept = iter(copy.decode().splitlines())
    open_ = ("clock: auto", "mirror: auto", ": auto")
    assert all(line in kept for line in raw.decode().splitlines() if not line.endswith(open_))


def test_digits_lose_no_limit(tmp_path):
    """A straight that keeps its limit exactly keeps it in the copy too; `close` is written as what it became."""
    file, out = tmp_path / "two.yaml", tmp_path / "found.yaml"
    file.write_text(starter("two", Answers(2)))
    assert main(["route", str(file), "--write", str(out)]) == 0
    assert "[{straight: 40}, {bend: " in out.read_text()
    assert "close]" not in out.read_text()
    assert errors(out) == []


def test_free_order_that_does_not_fire_in_turn_stays_free(three):
    """Written as a list it would be an error; left free it is the warning that the user has asked for."""
    laid, routed = three
    loaded = load_text(THREE.read_text().replace(FREE, "  order: free\n").replace("[1, 2, 3]", "[1, 3, 2]"))
    assert written(loaded, laid, routed.manifold).ring["order"] == [
        1,
        2,
        3,
    ]  # of three every ring fires in turn
    (ring,) = routed.manifold.collectors
    four = replace(routed.manifold, collectors=(replace(ring, order=(1, 4, 2, 3)),))
    loaded = loaded.model_copy(
        update={"engine": loaded.engine.model_copy(update={"firing_order": (1, 2, 3, 4)})}
    )
    assert written(loaded, laid, four).ring == {}


def test_check_does_not_search(monkeypatch, capsys):
    """A path that is `auto` stays a note in `check`; it says which command finds it."""
    monkeypatch.setattr("manifoldgen.routing.route.find", lambda *_, **__: pytest.fail("searched"))
    assert main(["check", str(THREE)]) == 0
    assert "path-auto" in capsys.readouterr().out


def test_stopped_keeps_the_best(monkeypatch, capsys):
    """Ctrl-C ends the search, not the command: the first answer is shown and said to be what it is."""

    def stop_at_once():
        def told(progress):
            if progress.verified:
                raise KeyboardInterrupt

        return told

    monkeypatch.setattr(job, "routing_progress", stop_at_once)
    assert main(["route", str(THREE)]) == 0
    told = capsys.readouterr()
    assert "stopped: the best so far is kept" in told.err
    assert told.out.splitlines()[-1] == "orchard-sprayer-three: found, every limit is kept, stopped early"


@pytest.mark.parametrize("verb", ["build", "picture"])
def test_stopped_build_ends(verb, monkeypatch, tmp_path):
    """A build is not made of whatever the search had when it was stopped."""
    stopped = Routed(factory.manifold(3), verified=False, stopped=True)
    monkeypatch.setattr(job, "worked_out", lambda m, **_: replace(bare(m), routed=stopped))
    call = {"build": ["--out", str(tmp_path)], "picture": ["-o", str(tmp_path / "x.png")]}[verb]
    assert main([verb, str(THREE), *call]) == 130
    assert list(tmp_path.iterdir()) == []


def test_nothing_fits(monkeypatch, tmp_path, capsys):
    """It ends with 1, names the limit, how short it is and what works; the attempt is written as an attempt."""
    m = factory.manifold(3)
    short = (
        Margin("runner gap", "runner 1 to runner 2", -3.24),
        Margin("obstacle", "runner 2 to rail", -1.0),
    )
    cures = (Cure(move=(0.0, 12.5, 0.0)), Cure(limit="limits.gap", value=8.5))
    routed = Routed(m, verified=False, bound=200.0, diagnosis=Diagnosis("runner gap", 3.24, short, cures))
    found = replace(bare(split(m)), routed=routed)
    monkeypatch.setattr(job, "worked_out", lambda _m, **_: found)
    assert main(["route", str(THREE), "--write", str(tmp_path / "try.yaml")]) == 1
    told = capsys.readouterr()
    assert "runner 1 to runner 2" in told.out
    assert "3.2" in told.out
    assert "move the turbo +12.5 mm in y, or set limits.gap to 8.5 mm" in " ".join(told.out.split())
    assert told.out.splitlines()[-2] == "next: move the turbo +12.5 mm in y"
    assert "an attempt, not clear of everything" in told.err

    diagnosis = routed_report(found, routed, [1, 2, 3])["route"]["diagnosis"]
    assert diagnosis["cures"] == [{"turbo_move": [0.0, 12.5, 0.0]}, {"limit": "limits.gap", "value": 8.5}]
    assert (diagnosis["binding"], diagnosis["short_mm"]) == ("runner gap", 3.24)


def test_no_way_at_all_is_still_json():
    """A shortfall that has no number is null, so that the report stays JSON."""
    m = factory.manifold(3)
    routed = Routed(
        m, verified=False, bound=200.0, diagnosis=Diagnosis("bends", math.inf, blocked=("runner 2",))
    )
    content = routed_report(bare(split(m)), routed, [2])
    assert json.loads(json.dumps(content, allow_nan=False))["route"]["diagnosis"]["short_mm"] is None
    assert "runner 2" in routed_text(content, routed, THREE, None)


def test_nothing_is_overwritten(tmp_path, capsys):
    """Said before a search begins: an existing file, the job itself, a folder that is not there, no job."""
    mine = tmp_path / "mine.yaml"
    mine.write_bytes(THREE.read_bytes())
    for out, told in ((mine, "is the file itself"), (THREE, "exists and is not overwritten")):
        assert main(["route", str(mine), "--write", str(out)]) == 2
        assert told in capsys.readouterr().err
    assert main(["route", str(mine), "--write", str(tmp_path / "none" / "x.yaml")]) == 2
    assert "there is no folder" in capsys.readouterr().err
    assert main(["route", str(tmp_path / "none.yaml")]) == 2
    assert mine.read_bytes() == THREE.read_bytes()
