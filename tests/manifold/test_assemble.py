"""A job laid out in the bench frame: what the file fixes stands where its format says."""

from __future__ import annotations

import math
import pickle
from pathlib import Path

import numpy as np
import pytest

from manifoldgen.errors import GeometryError, PathError
from manifoldgen.geometry.vectors import array, unit
from manifoldgen.manifold.assemble import assemble
from manifoldgen.parameters import load
from tests.jobs import four, load_four

JOBS = Path(__file__).parents[2] / "cq_scripts" / "jobs"


def test_runner_starts_on_the_outer_face_of_its_port() -> None:
    """Port n stands at ((n-1)·pitch, 0); its runner starts at z = thickness along the port's direction."""
    ports = {"shape": {"round": 36}, "pitch": 96, "direction": [0, 0.6, 0.8]}
    m = assemble(load_four(head_flange__ports=ports, runners__paths=dict.fromkeys((1, 2, 3, 4), "auto")))

    assert [r.start.at for r in m.runners] == [(96.0 * k, 0.0, 12.0) for k in range(4)]
    assert np.allclose(m.runners[2].start.direction, (0.0, 0.6, 0.8))


def test_studs_are_named_port_by_port_and_shared_places_are_one() -> None:
    """Two offsets at each of four ports are S1 … S8; neighbours that share a place share the stud."""
    m = assemble(load_four())
    shared = {"thread": "M8", "length": 38, "per_port": [[-48, 0], [48, 0]]}
    fewer = assemble(load_four(head_flange__studs=shared))

    assert [s.id for s in m.studs if s.flange == "head flange"] == [f"S{k}" for k in range(1, 9)]
    assert m.studs[1].at == (41.0, -24.0, 12.0)
    assert m.studs[0].tip == pytest.approx(38 - 12)
    assert [s.at[0] for s in fewer.studs if s.flange == "head flange"] == [-48.0, 48.0, 144.0, 240.0, 336.0]


def test_turbo_flange_stands_upstream_of_the_measured_face() -> None:
    """Tube side = at - (thickness + gasket)·facing; y is `up` on the face, x = y × gas."""
    m = assemble(
        load_four(
            turbo__flange={
                "opening": {"round": 50},
                "thickness": 12,
                "gasket": 1.5,
                "bolts": {"kind": "bolt", "thread": "M10", "circle": 100, "count": 4},
            }
        )
    )
    facing = unit((0.0, 0.3, 0.95))
    up = unit(np.array([0.0, 1.0, 0.0]) - facing[1] * facing)

    assert np.allclose(m.turbo.frame.at, np.array([144, 373, 316]) - 13.5 * facing)
    assert np.allclose(m.turbo.frame.y, up)
    assert np.allclose(m.turbo.frame.x, np.cross(up, facing))
    assert m.outlet.path is not None
    assert np.allclose(m.outlet.path.end.at, m.turbo.frame.at, atol=1e-9)
    assert np.allclose(m.outlet.path.end.direction, facing, atol=1e-12)


def test_bolts_on_a_circle_start_at_up_and_turn_right_handed_about_the_gas() -> None:
    """The first bolt stands towards +y of the flange, the second 90 degrees on towards -x."""
    m = assemble(
        load_four(
            turbo__flange={
                "opening": {"round": 50},
                "thickness": 12,
                "bolts": {"kind": "bolt", "thread": "M10", "circle": 100, "count": 4},
            }
        )
    )
    bolts = [s for s in m.studs if s.flange == "turbo flange"]
    y, x, gas = (array(v) for v in (m.turbo.frame.y, m.turbo.frame.x, m.turbo.frame.z))

    assert [b.id for b in bolts] == ["T1", "T2", "T3", "T4"]
    assert np.allclose(array(bolts[0].at) - array(m.turbo.frame.at), 50 * y)
    assert np.allclose(array(bolts[1].at) - array(m.turbo.frame.at), -50 * x)
    assert np.allclose(bolts[0].axis, -gas)  # the tool works on the tube side


def test_ring_stands_where_the_format_says() -> None:
    """Inlet circle (od / cos γ + gap) / (2 sin(π/N)), tilted in by γ, ring angle 0 at the projection of up."""
    m = assemble(load_four(collector__clock=30, collector__mirror=True))
    c = m.collectors[0]
    axis, centre = array(c.frame.z), array(c.frame.at)
    rho = (42.4 / math.cos(math.radians(12)) + 2) / (2 * math.sin(math.pi / 4))
    zero = unit(np.array([0.0, 1.0, 0.0]) - axis[1] * axis)

    assert c.order == (1, 3, 4, 2)
    for k, cylinder in enumerate((1, 3, 4, 2)):
        turn = math.radians(30 - 90 * k)
        radial = math.cos(turn) * zero + math.sin(turn) * np.cross(axis, zero)
        inlet = c.inlet(cylinder)
        assert np.allclose(inlet.at, centre + rho * radial, atol=1e-9)
        gamma = math.radians(12)
        assert np.allclose(inlet.direction, math.cos(gamma) * axis - math.sin(gamma) * radial, atol=1e-12)
    assert m.outlet.path is not None
    assert np.allclose(array(m.outlet.path.start.at), centre + c.length * axis, atol=1e-9)


def test_hand_written_paths_fit_their_own_ring_and_are_snapped() -> None:
    """Without a clock the ring is turned to meet paths written for 57.5 degrees; the rest is snapped away."""
    text = (JOBS / "snow_groomer_three.yaml").read_text(encoding="utf-8")
    text = text.replace("  clock: 57.5\n  mirror: false\n", "")
    from manifoldgen.parameters import load_text

    m = assemble(load_text(text))

    assert m.collectors[0].clock == pytest.approx(57.5, abs=1e-3)
    for run in m.runners:
        assert run.path is not None
        assert run.target is not None
        assert 0 < run.snapped_mm < 1e-3
        assert math.dist(run.path.end.at, run.target.at) < 1e-9


def test_a_measured_runner_is_never_snapped() -> None:
    """It stays as it was written, and its miss is told."""
    raw = dict(load(JOBS / "snow_groomer_three.yaml").model_dump(by_alias=True, exclude_unset=True))
    path = raw["runners"]["paths"][1]["path"]
    raw["runners"]["paths"][1] = {"path": path, "measured": True}
    m = assemble(load(raw))

    assert m.runners[0].snapped_mm == 0
    assert 0 < m.runners[0].miss_mm < 1e-3


def test_close_waits_for_the_router_with_its_inlet_known() -> None:
    """A path that ends in close keeps its written part and its target."""
    run = assemble(load_four()).runners[1]

    assert (run.todo, run.path, len(run.written)) == ("close", None, 4)
    assert run.target is not None


def test_branch_and_valve_follow_the_bend() -> None:
    """Aim 0: straight on from the outlet bend's first tangent point; the valve lies behind its flange."""
    m = assemble(load_four())
    branch = m.branches[0]
    bend = m.outlet.path.segments[1] if m.outlet.path else None
    valve = next(o for o in m.obstacles if o.name == "wastegate valve")

    assert bend is not None
    assert np.allclose(branch.root, bend.point(0.0))
    assert np.allclose(branch.axis, bend.tangent(0.0))
    assert branch.run.path is not None
    flange = array(branch.run.path.end.at)
    assert np.allclose(valve.shape.start, flange + 10 * array(branch.axis))  # type: ignore[union-attr]


def test_what_is_not_read_yet_is_named() -> None:
    """Blocks that nothing uses, and shapes on points that the survey does not fix, are told and not dropped in silence."""
    unused = assemble(load_four()).unused

    assert "obstacle brake hose" in unused


def test_errors_name_the_place_and_the_values() -> None:
    """A collector that is too short says the least length; a branch off a bend that is not there says how many."""
    with pytest.raises(GeometryError, match=r"length"):
        assemble(load_four(collector__length=62))
    with pytest.raises(GeometryError, match=r"no bend 2 to leave: the outlet has 1"):
        assemble(load_four(wastegate__takeoff={"run": "outlet", "bend": 2}))
    along = [{"straight": 30}, {"bend": 30, "clr": 63.6, "toward": "+z"}]
    job = load_four(runners__paths={**four()["runners"]["paths"], 1: along})
    with pytest.raises(PathError, match=r"runner 1.*picks no bend plane"):
        assemble(job)


def test_a_bend_without_a_plane_is_named_while_the_clock_is_fitted() -> None:
    """With every path by hand and clock auto the paths are walked before the ring is known: the runner is named."""
    along = [{"straight": 30}, {"bend": 30, "clr": 63.6, "toward": "+z"}]
    job = load_four(runners__paths=dict.fromkeys((1, 2, 3, 4), along), collector__clock="auto")
    with pytest.raises(PathError, match=r"runner 1: .*take a vector across it"):
        assemble(job)


def test_a_manifold_travels_light() -> None:
    """It pickles to far less than 100 kB, so that thousands can be spread over a cluster."""
    assert len(pickle.dumps(assemble(load_four()))) < 100_000
