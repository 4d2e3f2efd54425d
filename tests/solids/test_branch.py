"""Branches: saddle, hole and both together agree; what cannot be a sound saddle is refused with its mm."""

from __future__ import annotations

from dataclasses import replace

import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.branches import off_cone
from manifoldgen.manifold.model import Branch, Run, Section
from manifoldgen.manifold.mouth import parent_of
from manifoldgen.solids import _occ
from manifoldgen.solids.acceptance import accept, merged_mesh
from manifoldgen.solids.branch import off_cone as built_off_cone
from manifoldgen.solids.branch import off_run
from manifoldgen.solids.collector import build_collector
from tests.factory import GATE, manifold, with_branch

pytestmark = pytest.mark.slow


def built(aim: float, shift: float, tube: Section = GATE, *, before: float = 25.0):
    """A branch off the outlet's bend of the factory's manifold."""
    m = manifold(3)
    path = m.outlet.path
    assert path is not None
    longer = Path(path.start, (Straight(before), Bend(90.0, 76.2), Straight(40.0)))
    m = with_branch(replace(m, outlet=replace(m.outlet, path=longer)), aim=aim, shift=shift, tube=tube)
    parent = parent_of(m, m.branches[0])
    assert parent is not None
    return off_run(m, m.branches[0], parent, longer)


@pytest.mark.parametrize(("aim", "shift"), [(0.0, 0.0), (20.0, 4.0)])
def test_saddle_and_hole_make_the_whole(aim: float, shift: float) -> None:
    """Genus by the openings (parent 3, branch 2, gas none), volume as the sum, confirmed by the mesh."""
    made = built(aim, shift)
    apart = _occ.volume(made.parent) + _occ.volume(made.branch)
    accept("both", made.both, 2, apart, self_intersection=False)
    accept("parent", made.parent, 2, None, self_intersection=False)
    accept("branch", made.branch, 1, None, self_intersection=False)
    accept("lumen", made.lumen, 0, None, self_intersection=False)
    fine = merged_mesh(made.both, deflection=0.02, angle=2.0)
    assert fine.volume == pytest.approx(apart, rel=2e-3)


def test_a_saddle_trims_the_volume_truly() -> None:
    """A cylinder trimmed by a cylinder: the kernel's volume against a fine mesh (the default was off by 1e-3)."""
    cross = _occ.cut(
        _occ.cylinder((0, 0, -40), (0, 0, 1), 20, 80), [_occ.cylinder((0, 0, 0), (1, 0, 0.4), 12, 80)]
    )
    fine = merged_mesh(cross, deflection=0.005, angle=1.0)
    assert _occ.volume(cross) == pytest.approx(fine.volume, rel=1e-4)


def test_what_is_no_sound_saddle_is_refused() -> None:
    """As large as its parent, breaking out before the bend, too near the parent's start: each names its mm."""
    with pytest.raises(GeometryError, match=r"60\.3 mm is not clearly smaller .* at most 54\.3 mm"):
        built(0.0, 0.0, Section(60.3, 2.0, "304"))
    with pytest.raises(GeometryError, match=r"stands 2\.[89] mm beyond the side of the outlet"):
        built(0.0, 14.0)
    with pytest.raises(GeometryError, match=r"needs \d\.\d mm more of the outlet at its start"):
        built(0.0, 0.0, before=1.0)


def test_off_the_cone() -> None:
    """Collector and branch off its cone: N + 1 passages, volume as the sum."""
    m = manifold(4)
    c = m.collectors[0]
    way = off_cone(c, at=0.5, around=30.0, aim=80.0)
    start = Pose.heading(array(way.root) + way.wall_length * array(way.axis), way.axis)
    tube = Section(30.0, 1.5, "304")
    run = Run("wastegate branch", "wastegate", tube, start, Path(start, (Straight(60.0),)))
    branch = Branch("cone", None, run, way.root, way.axis, way.wall_length, 80.0, 0.0, 25.0)
    hub = build_collector(c)
    made = built_off_cone(replace(m, branches=(branch,)), branch, hub.metal, hub.gas)
    accept("both", made.both, 5, _occ.volume(made.parent) + _occ.volume(made.branch))
    accept("lumen", made.lumen, 0, None, self_intersection=False)
