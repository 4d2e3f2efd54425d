"""The CadQuery plugin: adds two methods, replaces none, may be registered again."""

from __future__ import annotations

import math

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
