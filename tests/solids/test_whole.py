"""The whole: one accepted solid, its parts by name, the gas inside; failures named and nothing joined then."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.manifold.model import Hole
from manifoldgen.pieces.split import split
from manifoldgen.solids import Solids, _occ, build
from manifoldgen.solids.clearance import overlaps
from tests.benchmarks.sweep_manifolds import verdict
from tests.factory import TUBE, manifold, runner, with_branch
from tests.layouts import random_manifold

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def four() -> Solids:
    """A four-cylinder manifold with a branch and four holes in the turbo flange, split into pieces."""
    return build(split(with_branch(manifold(4))))


def test_genus_by_the_openings(four: Solids) -> None:
    """(N + 1 with a branch) + (N - 1) + holes = 5 + 3 + 4 (closed form: handles of tubes joined by a plate)."""
    assert four.errors == ()
    assert four.acceptance.genus == 12
    assert four.acceptance.solids == 1
    assert four.acceptance.watertight
    assert four.acceptance.self_intersecting is False


def test_volume_is_the_sum_of_the_parts(four: Solids) -> None:
    """Nothing overlaps and nothing is lost in joining; the mesh holds as much (chords take some)."""
    apart = sum(map(_occ.volume, four.parts.values()))
    assert _occ.volume(four.solid) == pytest.approx(apart, rel=1e-6)
    assert four.mesh.volume == pytest.approx(apart, rel=4e-3)


def test_parts_and_pieces_by_name(four: Solids) -> None:
    """Names in the order of the gas; every piece of the cut list stands under its part."""
    runners = [f"runner {k}" for k in range(1, 5)]
    ends = ["collector", "outlet", "turbo flange", "wastegate branch", "wastegate flange"]
    assert list(four.parts) == ["head flange", *runners, *ends]
    tree = {child.name: [piece.name for piece in child.children] for child in four.assembly.children}
    assert list(tree) == list(four.parts)
    assert tree["runner 2"] == ["R2-P1"]
    assert tree["outlet"] == ["O-P1", "O-P2", "O-P3"]
    assert tree["head flange"] == []


def test_pieces_fill_their_part(four: Solids) -> None:
    """Outlet and branch: pieces add up to the part (the runners' pieces hold their inlets too)."""
    for part in ("outlet", "wastegate branch"):
        pieces = [four.pieces[piece] for piece, whole in four.part_of.items() if whole == part]
        assert sum(map(_occ.volume, pieces)) == pytest.approx(_occ.volume(four.parts[part]), rel=1e-6)
    hub = [piece for piece in four.pieces if piece.startswith(("R", "C"))]
    tubes = ["collector", *(f"runner {k}" for k in range(1, 5))]
    together = sum(_occ.volume(four.parts[name]) for name in tubes)
    assert sum(_occ.volume(four.pieces[piece]) for piece in hub) == pytest.approx(together, rel=1e-5)


def test_the_gas_has_its_openings(four: Solids) -> None:
    """One solid without handles; a face of it lies on every opening."""
    assert four.accepted["lumen"].genus == 0
    assert set(four.openings) == {"inlet_1", "inlet_2", "inlet_3", "inlet_4", "outlet", "wastegate"}
    flats = [f for f in four.lumen.Faces() if f.geomType() == "PLANE"]
    for gate in four.openings.values():
        centre = np.array(gate.at)
        assert min(np.linalg.norm(np.array(f.Center().toTuple()) - centre) for f in flats) < 1e-6


def test_an_overlap_is_found_before_glue() -> None:
    """Runner 2 bent into runner 1: both named, parts still there, nothing joined."""
    m = manifold(3)
    first = m.runners[0]
    across = runner(
        2, [Straight(30), Bend(60, 63.6, 90.0), Straight(120)], np.add(first.start.at, (60.0, 0.0, 0.0))
    )
    through = replace(m, runners=(first, across, m.runners[2]))
    found = overlaps(through)
    assert {"runner 1", "runner 2"} in [{o.a, o.b} for o in found]
    made = build(through)
    assert {"runner 1", "runner 2", "collector", "turbo flange"} <= set(made.parts)
    assert made.joined is None
    with pytest.raises(SolidError, match="runs into the runner 2 by"):
        _ = made.solid


def test_a_part_that_fails_is_named_and_the_others_made() -> None:
    """A hole across the turbo's opening: the flange is named, everything else stands."""
    m = manifold(3)
    broken = replace(m, turbo=replace(m.turbo, holes=(Hole("T1", (25.0, 0.0), 9.0),)))
    made = build(broken)
    assert [error.part for error in made.errors] == ["turbo flange"]
    assert "turbo flange" not in made.parts
    assert len(made.parts) == 6
    assert made.joined is None


def test_a_run_without_a_path_is_left_out() -> None:
    """It is named with the reason; the whole is not joined and says so."""
    m = manifold(3)
    open_run = replace(m.runners[1], path=None, todo="auto")
    made = build(replace(m, runners=(m.runners[0], open_run, m.runners[2])))
    assert made.left_out == {"runner 2": "its path is still auto"}
    with pytest.raises(SolidError, match="runner 2"):
        _ = made.solid


@pytest.mark.parametrize("seed", [102, 11, 105])
def test_random_manifolds(seed: int) -> None:
    """Accepted, or refused for a confirmed reason; 60 of them in benchmarks/sweep_manifolds."""
    m = random_manifold(np.random.default_rng(seed), 2 + seed % 2)
    found = verdict(build(m))
    assert found in {"accepted", "refused"}, f"seed {seed}: {found}"


def test_a_flange_is_no_obstacle_to_its_own_tube() -> None:
    """A runner that bends right off the flange does not clash with it, one that dives back does."""
    m = manifold(2)
    off = runner(1, [Bend(80, 63.6), Straight(60)], (300.0, 0.0, 12.0))
    assert not [o for o in overlaps(replace(m, runners=(off, m.runners[1]))) if o.b == "head flange"]
    back = Path(m.runners[1].start, (Straight(30), Bend(180, 63.6), Straight(60)))
    dives = replace(m.runners[1], path=back)
    assert [o.b for o in overlaps(replace(m, runners=(off, dives))) if o.a == "runner 2"][:1] == [
        "head flange"
    ]
    assert TUBE.od == 42.4
