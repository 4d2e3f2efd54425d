"""Obstacles as scans, and obstacles that the engine moves against: jobs just inside and just outside."""

from __future__ import annotations

import pickle
import subprocess
import sys
from dataclasses import replace

import cadquery as cq
import numpy as np
import pytest
import trimesh

from manifoldgen import folders
from manifoldgen.checks import heat_gap, obstacle_gap, scan_mended
from manifoldgen.errors import ManifoldgenError
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.path import Straight
from manifoldgen.geometry.pose import BENCH, Frame
from manifoldgen.geometry.shapes import Box
from manifoldgen.manifold.assemble import assemble
from manifoldgen.manifold.model import Obstacle
from manifoldgen.parameters import load_text
from manifoldgen.readers import read
from tests.factory import FACE, TUBE, alone, manifold, runner
from tests.jobs import FOUR

NEAR = 0.02  # mm either side of a limit
EITHER = pytest.mark.parametrize("side", [-1, 1], ids=["outside", "inside"])
SIZE = (40.0, 400.0, 200.0)


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    """An empty cache."""
    monkeypatch.setenv(folders.CACHE, str(tmp_path / "cache"))


def as_kind(kind, at, tmp_path):
    """A box of `SIZE` with its centre at `at`: as a shape, as a scan, as a STEP body."""
    if kind == "box":
        return Box(Frame(at, BENCH.x, BENCH.y, BENCH.z), tuple(s / 2 for s in SIZE))
    if kind == "step":
        path = tmp_path / "rail.step"
        cq.exporters.export(cq.Workplane().box(*SIZE).translate(at), str(path))
        return read(path)
    path = tmp_path / "rail.stl"
    trimesh.creation.box(extents=SIZE, transform=trimesh.transformations.translation_matrix(at)).export(path)
    return read(path)


def beside(gap, kind, tmp_path, movement=None, **more):
    """A straight runner along z with a box `gap` mm beside its wall."""
    m = alone(manifold(), runner(1, [Straight(300)]))
    shape = as_kind(kind, (TUBE.radius + gap + SIZE[0] / 2, 0.0, FACE + 150.0), tmp_path)
    engine = replace(m.engine, movement=movement)
    return replace(m, engine=engine, obstacles=(Obstacle("rail", shape, 10.0, **more),))


@EITHER
@pytest.mark.parametrize("kind", ["box", "stl", pytest.param("step", marks=pytest.mark.slow)])
def test_every_kind_of_obstacle_counts(side, kind, tmp_path) -> None:
    """Closed form: 10 mm beside the wall; a STEP body asks for its facets' 0.1 mm more."""
    asked = 10.1 if kind == "step" else 10.0
    m = beside(asked + side * NEAR, kind, tmp_path)
    found = obstacle_gap.check(m)

    assert len(found) == (side < 0)
    for finding in found:
        assert finding.value == pytest.approx(asked - NEAR, abs=2e-3)
        assert finding.limit == pytest.approx(asked)
        assert finding.parts == ("runner 1", "rail")
    assert len(pickle.dumps(m)) < 100_000


@EITHER
@pytest.mark.parametrize("kind", ["box", "stl"])
@pytest.mark.parametrize(
    ("movement", "way"),
    [
        (Movement((4.0, 2.0, 3.0)), 4.0),
        # a runner along z, 200 mm below the axis: it swings out by the chord's share along x
        (Movement(roll_deg=3.0, at=(0.0, 200.0, 0.0), axis=(0.0, 0.0, 1.0)), 200 * np.sin(np.radians(3))),
    ],
    ids=["shift", "roll"],
)
def test_chassis_obstacles_keep_clear_over_the_movement(side, kind, movement, way, tmp_path) -> None:
    """Closed forms: the gap at rest is 10 mm and the way towards the box; engine-mounted it need not be."""
    m = beside(10.0 + way + side * NEAR, kind, tmp_path, movement, mounted="chassis")
    found = obstacle_gap.check(m)

    assert len(found) == (side < 0)
    for finding in found:
        assert finding.value == pytest.approx(10.0 - NEAR, abs=3e-3)
        assert (
            f"over the engine's movement ({10.0 + way - NEAR:.1f} mm at rest, worst at shift"
            in finding.message
        )
    with_engine = beside(10.0 + NEAR, kind, tmp_path, movement, mounted="engine")
    assert not obstacle_gap.check(with_engine)


@EITHER
def test_heat_is_kept_away_over_the_movement_too(side, tmp_path) -> None:
    """Closed form: 50 mm (limits.heat_gap) and 4 mm of shift."""
    m = beside(
        54.0 + side * NEAR, "stl", tmp_path, Movement((4.0, 0.0, 0.0)), mounted="chassis", heat_sensitive=True
    )
    found = heat_gap.check(m)

    assert [f.name for f in found] == ["heat-gap"] * (side < 0)
    assert all("over the engine's movement" in f.message for f in found)


def test_what_is_only_not_ruled_out_is_said_so(tmp_path) -> None:
    """A runner that turns on itself before a wall 5 mm off its end never touches it; one that shifts 6 mm does."""
    turn = Movement(roll_deg=20.0, axis=(0.0, 0.0, 1.0))
    for movement, words in ((turn, "may overlap"), (Movement((0.0, 0.0, 6.0)), "overlaps")):
        m = beside(0.0, "box", tmp_path, movement, mounted="chassis")
        wall = Box(Frame((0.0, 0.0, FACE + 300 + 5 + 50), BENCH.x, BENCH.y, BENCH.z), (200.0, 200.0, 50.0))
        (found,) = obstacle_gap.check(replace(m, obstacles=(replace(m.obstacles[0], shape=wall),)))
        assert found.message.startswith(f"runner 1 {words} rail by")
        assert ("with 5.0 mm)" in found.message) == (movement is turn)


SCAN = "  - {name: bay scan, mesh: bay.stl, clearance: 8, mounted: chassis}\n"


def with_scan(tmp_path, line=SCAN, factor=1.0, gone=()):
    """The bench four with a ball of 200 mm as its bay scan, `gone` faces missing."""
    ball = trimesh.creation.icosphere(subdivisions=3, radius=100 * factor)
    ball.update_faces(np.delete(np.arange(len(ball.faces)), gone))
    ball.apply_translation((0, -300 * factor, 0))
    ball.export(tmp_path / "bay.stl")
    return load_text(FOUR.replace("obstacles:\n", "obstacles:\n" + line), tmp_path / "job.yaml")


def test_a_job_reads_its_scan_and_its_movement(tmp_path) -> None:
    """From the file: the scan is an obstacle in place, nothing is unread, an open scan is said."""
    m = assemble(with_scan(tmp_path, gone=[7, 400]))
    scan = next(o for o in m.obstacles if o.name == "bay scan")

    assert m.engine.movement == Movement((4.0, 4.0, 4.0), 3.0, (0.0, 0.0, -200.0), (1.0, 0.0, 0.0))
    assert (scan.mounted, scan.shape.count, scan.shape.closed) == ("chassis", 1278, False)
    assert scan.shape.low == pytest.approx((-100, -400, -100), abs=0.1)
    assert not {"engine.movement", "obstacle bay scan"} & set(m.unused)
    assert [f.message for f in scan_mended.check(m)] == [
        "bay scan is not closed (2 holes): used as a surface."
    ]
    assert scan_mended.check(m)[0].severity == "note"
    assert len(pickle.dumps(m)) < 100_000


def test_a_scan_in_metres_is_a_question(tmp_path) -> None:
    """With its place in the file; `scale` answers it, and belongs to a mesh only."""
    with pytest.raises(
        ManifoldgenError, match=r"job\.yaml:\d+:\d+: bay scan: bay\.stl is 0\.2 mm long.*scale: 1000"
    ):
        assemble(with_scan(tmp_path, factor=1e-3))
    scaled = assemble(with_scan(tmp_path, SCAN.replace("bay.stl,", "bay.stl, scale: 1000,"), 1e-3))
    assert next(o for o in scaled.obstacles if o.name == "bay scan").shape.size == pytest.approx(200, abs=0.1)
    with pytest.raises(ManifoldgenError, match="scale belongs to a mesh"):
        load_text(
            FOUR.replace("clearance: 10}\n  - {name: brake", "clearance: 10, scale: 2}\n  - {name: brake")
        )


@pytest.mark.slow
def test_checks_load_what_they_need(tmp_path) -> None:
    """The mesh library only where a scan is new, the CAD kernel never: not even for a STEP body."""
    with_scan(tmp_path)
    cq.exporters.export(cq.Workplane().box(*SIZE).translate((0, 0, -400)), str(tmp_path / "bay.step"))
    for name, line in (("none", ""), ("scan", SCAN), ("step", SCAN.replace(".stl", ".step"))):
        (tmp_path / name).write_text(FOUR.replace("obstacles:\n", "obstacles:\n" + line), "utf-8")
    code = (
        "import sys; from pathlib import Path; import manifoldgen as mg\n"
        "for job in sys.argv[1:]:\n"
        "    mg.check(mg.assemble(mg.load(Path(job))))\n"
        "    print(*sorted({'trimesh', 'OCP', 'cadquery'} & set(sys.modules)))"
    )
    for jobs, loaded in ((("none", "step", "scan"), ["", "", "trimesh"]), (("step", "scan"), ["", ""])):
        files = [str(tmp_path / job) for job in jobs]
        done = subprocess.run(
            [sys.executable, "-c", code, *files], capture_output=True, text=True, check=True
        )
        assert done.stdout.splitlines() == loaded
