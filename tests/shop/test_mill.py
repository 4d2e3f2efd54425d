"""The mill's numbers: cut by them alone, a blank becomes the model's inlet; the order of seams keeps what it must."""

from __future__ import annotations

import math
from pathlib import Path as File

import numpy as np
import pytest
import yaml

import manifoldgen as mg
from manifoldgen.manifold.collector import inlet_lead
from manifoldgen.pieces import split
from manifoldgen.shop.mill import roll, tilt
from manifoldgen.shop.plan import ShopPlan
from tests.factory import manifold
from tests.shop.seams import closed_over

JOBS = File(__file__).resolve().parents[2] / "cq_scripts" / "jobs"
MITRED = sorted(
    p.stem
    for p in JOBS.glob("*.yaml")
    if yaml.safe_load(p.read_text("utf-8"))["collector"]["kind"] == "merge"
)


def milled(sheet, before: float):
    """Cut a hollow blank by the sheet alone: inside line up, rolled, nose up by the tilt, milled level; then the flat.

    The tube lies along +x from x = -before (its ring plane at 0), the inside line at +z, the cutter comes
    from above.
    """
    import cadquery as cq

    from tests.shop import kernel_wraps as kernel

    r = sheet.section.radius
    long = sheet.apex + 4 * r
    tube = kernel.cylinder(r, before + long, (-before, 0, 0), (1, 0, 0))
    tube = tube.cut(kernel.cylinder(r - sheet.section.wall, before + long, (-before, 0, 0), (1, 0, 0)))
    size = 6000.0
    for side in (1, -1):
        on_vice = tube.rotate((0, 0, 0), (1, 0, 0), side * sheet.roll)
        on_vice = on_vice.rotate((sheet.apex, 0, 0), (sheet.apex, 1, 0), -sheet.tilt)
        cutter = cq.Solid.makeBox(size, size, size, cq.Vector(-size / 2, -size / 2, 0))
        done = on_vice.cut(cutter)
        done = done.rotate((sheet.apex, 0, 0), (sheet.apex, 1, 0), sheet.tilt)
        tube = done.rotate((0, 0, 0), (1, 0, 0), -side * sheet.roll)
    saw = cq.Solid.makeBox(size, size, size, cq.Vector(0, -size / 2, -size / 2))
    saw = saw.rotate((0, 0, 0), (0, 1, 0), sheet.flat_cut).translate(cq.Vector(sheet.flat, 0, 0))
    return kernel.largest(tube.cut(saw))


def same_volume(sheet, collector):
    """Both volumes, mm³: the blank cut by the sheet, and the model's inlet piece."""
    from manifoldgen.solids import _occ
    from manifoldgen.solids.collector import collector_pieces

    model = collector_pieces(collector)[f"inlet {collector.order[0]}"]
    return _occ.volume(milled(sheet, inlet_lead(collector))), _occ.volume(model)


@pytest.mark.slow
@pytest.mark.parametrize(("n", "g"), [(2, 12.0), (3, 10.0), (4, 10.0), (5, 12.5), (6, 15.0)])
def test_the_set_up_cuts_the_models_inlet(n, g):
    """Tilt, roll, apex and flat cut alone make the inlet of the model, by volume to 1e-6."""
    m = split(manifold(n, half_angle=g))
    (sheet,) = ShopPlan(m).mill
    made, model = same_volume(sheet, m.collectors[0])
    assert made == pytest.approx(model, rel=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("name", MITRED)
def test_the_set_up_cuts_every_demos_inlet(name):
    """The same for every demo job with a mitred collector."""
    m = split(mg.assemble(mg.load(JOBS / f"{name}.yaml")))
    (sheet,) = ShopPlan(m).mill
    made, model = same_volume(sheet, m.collectors[0])
    assert made == pytest.approx(model, rel=1e-6)


def test_tilt_and_roll():
    """The bisector plane seen from the tube: angle to its axis and roll of its normal (vector algebra)."""
    for n in (3, 4, 5, 6, 8):
        for g in (5.0, 10.0, 25.0):
            h, a = math.pi / n, math.radians(g)
            normal = np.array([math.sin(h), -math.cos(h), 0.0])
            axis = np.array([-math.sin(a), 0.0, math.cos(a)])
            back, side = np.array([math.cos(a), 0.0, math.sin(a)]), np.array([0.0, 1.0, 0.0])
            assert tilt(g, n) == pytest.approx(math.degrees(math.asin(abs(normal @ axis))), abs=1e-12)
            turned = abs(math.degrees(math.atan2(normal @ side, normal @ back)))
            assert roll(g, n) == pytest.approx(turned, abs=1e-12)
    assert roll(12.0, 2) == 0.0
    assert tilt(12.0, 2) == pytest.approx(12.0)


def test_blank_and_infeed():
    """The blank holds the cut tube and the grip, and the infeed brings the cutter down to the scallop."""
    m = split(mg.assemble(mg.load(JOBS / "snow_groomer_three.yaml")))
    (sheet,) = ShopPlan(m).mill
    assert len(sheet.inlets) == 3
    for i in sheet.inlets:
        assert i.extra + i.clamp >= sheet.grip
        assert i.blank - i.extra >= i.longest
        # the line on top rises with the tilt: from the scallop, where the cutter just touches, to the blank's end
        end = i.blank - i.extra - i.scallop
        assert i.infeed == pytest.approx(end * math.sin(math.radians(sheet.tilt)), abs=1e-9)
        # all planes meet the centreline at the apex, r / tan(tilt) behind the scallop
        assert i.apex - i.scallop == pytest.approx(19.0 / math.tan(math.radians(sheet.tilt)), abs=1e-6)


def test_order_of_seams():
    """Inner seams before lid and cone, the runners last, every collector joint once."""
    for n in (2, 3, 4, 5, 6):
        m = split(manifold(n))
        (sheet,) = ShopPlan(m).mill
        steps = [s.joints for s in sheet.steps]
        ids = [j.id for j in m.joints]
        welded = [j for s in steps[1:] for j in s]
        assert sorted(welded) == sorted(i for i in ids if closed_over(i, m))
        first = {j: k for k, s in enumerate(steps) for j in reversed(s)}
        if n > 2:
            assert first["JC.Ai"] < first["JC.L"] < first["JC.C"]
            assert first["JC.S"] == first["JC.Ai"]
        assert steps[-1] == tuple(f"J{k}.1" for k in m.collectors[0].order)
    (four,) = ShopPlan(split(manifold(4))).mill
    assert four.steps[0].joints == ("JC.A", "JC.D", "JC.B", "JC.E")


def test_inner_seams_with_what_the_torch_reaches():
    """An inner seam is as long as the curve between two tubes from touch to star (integrated apart from it)."""
    m = split(manifold(4))
    c = m.collectors[0]
    (sheet,) = ShopPlan(m).mill
    # laid flat, the seam is the bisector's curve from its deepest point in the collector to the star's line
    r, h, g = c.section.radius, math.pi / 4, math.radians(c.half_angle)
    phi = np.radians(np.linspace(90.0, 180.0, 200001))
    s = r * (math.cos(g) * np.cos(phi) - np.sin(phi) / math.tan(h)) / math.sin(g)
    start = int(np.argmin(s * math.cos(g) + r * np.cos(phi) * math.sin(g)))
    length = float(np.hypot(r * np.diff(phi), np.diff(s))[start:].sum())
    assert [i.joint for i in sheet.inner] == ["JC.Ai", "JC.Bi", "JC.Di", "JC.Ei"]
    for seam in sheet.inner:
        assert seam.length == pytest.approx(length, rel=1e-3)
        assert seam.reachable is None
