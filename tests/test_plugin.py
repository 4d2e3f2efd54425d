"""The CadQuery plugin: adds two methods, replaces none, may be registered again."""

from __future__ import annotations

import math
import subprocess
import sys

import cadquery as cq
import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Bend, Straight

pytestmark = pytest.mark.slow


def test_only_two_names_are_added() -> None:
    """Everything CadQuery had is the same object afterwards; registering again changes nothing."""
    own = {k: v for k, v in vars(cq.Workplane).items() if k not in {"tube_run", "merge_collector"}}
    from manifoldgen import plugin

    plugin.register()
    now = dict(vars(cq.Workplane))
    assert set(now) - set(own) == {"tube_run", "merge_collector"}
    assert all(now[name] is value for name, value in own.items())


def test_a_tube_on_every_point() -> None:
    """Two points, two tubes of Pappus' volume (closed form), the first along the workplane's normal."""
    import manifoldgen.plugin  # noqa: F401

    made = cq.Workplane("XZ").pushPoints([(0, 0), (200, 0)]).tube_run([Straight(40), Bend(90, 60)], 40.0, 2.0)
    solids = made.solids().vals()
    length = 40 + 60 * math.pi / 2
    assert [s.Volume() for s in solids] == pytest.approx([math.pi * (20**2 - 18**2) * length] * 2)
    assert solids[1].Center().x - solids[0].Center().x == pytest.approx(200)


def test_a_collector_and_its_refusal() -> None:
    """One solid on the workplane; nonsense is our own sentence."""
    import manifoldgen.plugin  # noqa: F401

    made = cq.Workplane("XY").merge_collector(3, 42.4, 2.0, 60.3)
    assert made.solids().size() == 1
    with pytest.raises(GeometryError, match="9 inlets"):
        cq.Workplane("XY").merge_collector(9, 42.4, 2.0, 60.3)


def test_a_taken_name_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another library's method of the same name is not overridden."""
    from manifoldgen import plugin

    monkeypatch.setattr(cq.Workplane, "tube_run", len, raising=False)
    with pytest.raises(GeometryError, match="already has a method tube_run"):
        plugin.register()
    assert cq.Workplane.tube_run is len


def test_the_same_method_loaded_anew_is_no_other_library() -> None:
    """An editor that drops modules between two renders loads the plugin again: its methods are taken for our own."""
    code = (
        "import sys, cadquery, manifoldgen.plugin\n"
        "for name in [n for n in sys.modules if n.startswith('manifoldgen')]: del sys.modules[name]\n"
        "import manifoldgen.plugin as again\n"
        "assert cadquery.Workplane.tube_run is again.tube_run"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


def test_solids_combine_as_cadquerys_own_do() -> None:
    """A tube through a block: added to it, cut out of it (Pappus and the block, closed forms), or left apart."""
    import manifoldgen.plugin  # noqa: F401

    block = (
        cq.Workplane("XY").box(40, 40, 20, centered=(True, True, False)).faces("<Z").workplane(invert=True)
    )
    tube = [Straight(20.0)]
    metal = math.pi * (10**2 - 8**2) * 20
    assert block.tube_run(tube, 20.0, 2.0).val().Volume() == pytest.approx(40 * 40 * 20)
    assert block.tube_run(tube, 20.0, 2.0, combine="cut").val().Volume() == pytest.approx(
        40 * 40 * 20 - metal
    )
    assert block.tube_run(tube, 20.0, 2.0, combine=False).val().Volume() == pytest.approx(metal)
