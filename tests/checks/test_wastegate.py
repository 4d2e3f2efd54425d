"""The wastegate branch: aim, areas, mouth."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from manifoldgen.checks import wastegate_aim, wastegate_area
from manifoldgen.engineering import areas
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.branches import off_cone
from manifoldgen.manifold.model import Branch, Section
from tests.factory import manifold, round_opening, with_branch


@pytest.mark.parametrize(
    ("aim", "severity"),
    [
        (0, None),
        (29.9, None),
        (30.1, "warning"),
        (59.9, "warning"),
        (60.1, "error"),
        (-45, "warning"),
        (90, "error"),
    ],
)
def test_aim_is_the_angle_between_incoming_flow_and_branch(aim, severity) -> None:
    """Up to 30° good, to 60° fair, above poor (common practice, no source)."""
    m = with_branch(manifold(), aim=abs(aim))
    if aim < 0:  # the other side: turned about the flow, the angle stays
        b = m.branches[0]
        m = replace(m, branches=(replace(b, axis=vec((-b.axis[0], -b.axis[1], b.axis[2])), aim=aim),))
    found = wastegate_aim.check(m)

    assert [f.severity for f in found] == ([severity] if severity else [])
    for finding in found:
        assert finding.value == pytest.approx(abs(aim), abs=1e-6)
        assert finding.limit == (60 if severity == "error" else 30)


@pytest.mark.parametrize(("bore", "named"), [(34.0, False), (33.98, True)])
def test_the_branch_bore_against_the_seat(bore, named) -> None:
    """Seat 34: a bore of 34 is as large, 33.98 is smaller; 38 mm tube, the wall makes the bore."""
    found = wastegate_area.check(
        with_branch(manifold(), tube=Section(38.0, (38.0 - bore) / 2, "304"), seat=34.0)
    )

    assert [f.name for f in found] == ["wastegate-area"] * named
    for finding in found:
        assert finding.limit == pytest.approx(math.pi * 17**2)
        assert finding.value == pytest.approx(math.pi * (bore / 2) ** 2)


@pytest.mark.parametrize(("opening", "named"), [(35.0, False), (34.9, True)])
def test_the_flange_opening_against_the_seat(opening, named) -> None:
    """Seat 35 = bore 35: an opening of 34.9 is the narrowest place."""
    m = with_branch(manifold(), seat=35.0)
    m = replace(m, wastegate_flange=replace(m.wastegate_flange, openings=(round_opening(opening),)))
    found = wastegate_area.check(m)

    assert len(found) == named
    assert all("wastegate flange opening" in f.message and "0.1 mm in diameter" in f.do for f in found)


@pytest.mark.parametrize(("od", "named"), [(54.2, False), (54.3, True)])
def test_a_branch_must_be_clearly_smaller_than_its_tube(od, named) -> None:
    """Outlet 60.3: at most 0.9 of it, 54.27 mm (common practice, no source)."""
    found = wastegate_area.check(with_branch(manifold(), tube=Section(od, 2.0, "304")))

    assert any("clearly smaller" in f.message for f in found) == named


@pytest.mark.parametrize("off", [-0.1, 0.1])
def test_a_mouth_that_runs_off_its_bend(off) -> None:
    """Outlet CLR 76.2, r 30.15; branch r 19: the mouth ends at acos(57.2 / 106.35) = 57.46°."""
    end = math.degrees(math.acos((76.2 - 19.0) / (76.2 + 30.15)))
    m = with_branch(manifold())
    path = Path(m.outlet.path.start, (Straight(25.0), Bend(end + off, 76.2), Straight(40.0)))
    found = wastegate_area.check(replace(m, outlet=replace(m.outlet, path=path)))

    assert len(found) == (off < 0)
    for finding in found:
        assert finding.unit == "deg"
        assert finding.value - finding.limit == pytest.approx(0.1, abs=1e-6)
        assert "0.1° missing" in finding.message


def test_a_branch_shifted_beyond_the_side_of_its_tube() -> None:
    """R 19 + shift 12 stands 0.85 mm outside a tube of r 30.15; 0.3 mm inside is asked (common practice, no source)."""
    (finding,) = wastegate_area.check(with_branch(manifold(), shift=12.0))

    assert (finding.value, finding.limit) == pytest.approx((0.85, -0.3), abs=1e-6)
    assert "stands 0.8 mm beyond" in finding.message or "stands 0.9 mm beyond" in finding.message
    assert "1.1 mm" in finding.do or "1.2 mm" in finding.do


@pytest.mark.parametrize(("shift", "named"), [(10.84, False), (10.86, True), (-10.84, False), (-10.86, True)])
def test_a_branch_begins_inside_its_tube(shift, named) -> None:
    """0.3 mm inside r 30.15 a branch of r 19 may be shifted by 10.85 mm, outwards or inwards."""
    found = wastegate_area.check(with_branch(manifold(), shift=shift))

    assert any("where it begins" in f.message for f in found) == named


@pytest.mark.parametrize(("before", "named"), [(3.01, False), (2.99, True)])
def test_the_tube_before_the_mouth(before, named) -> None:
    """A branch straight on begins where the bend does: 3 mm of tube before it (common practice, no source)."""
    m = manifold()
    path = Path(m.outlet.path.start, (Straight(before), Bend(90.0, 76.2), Straight(40.0)))
    found = wastegate_area.check(with_branch(replace(m, outlet=replace(m.outlet, path=path))))

    assert [f.limit for f in found] == [pytest.approx(3.0)] * named
    assert all("more of the outlet at its start" in f.message for f in found)


@pytest.mark.parametrize(("more", "named"), [(0.01, False), (-0.01, True)])
def test_the_first_straight_leaves_the_wall(more, named) -> None:
    """Straight on, off CLR 76.2: the last line leaves at √(106.35² - 57.2²), 3 mm of straight more is asked."""
    reach = math.sqrt((76.2 + 30.15) ** 2 - (76.2 - 19.0) ** 2)
    m = with_branch(manifold())
    b = m.branches[0]
    bent = Path(b.run.start, (Straight(reach + 3.0 + more - b.wall_length), Bend(30.0, 57.0), Straight(30.0)))
    found = wastegate_area.check(replace(m, branches=(replace(b, run=replace(b.run, path=bent)),)))

    assert len(found) == named
    assert all("first straight ends inside the wall" in f.message and "0.0 mm" in f.do for f in found)


@pytest.mark.parametrize(("at", "named"), [(0.5, False), (0.1, True), (0.9, True)])
def test_a_mouth_on_the_cone(at, named) -> None:
    """A small square branch half way up the cone stays on it; near the rim or the outlet it does not."""
    m = with_branch(manifold(4), tube=Section(25.4, 1.5, "304"), seat=20.0)
    c = m.collectors[0]
    way = off_cone(c, at=at, around=0.0, aim=90.0)
    run = m.branches[0].run
    m = replace(
        m, branches=(Branch("cone", None, run, way.root, way.axis, way.wall_length, 90.0, 0.0, 20.0),)
    )

    assert bool(wastegate_area.check(m)) == named


def test_areas_by_hand() -> None:
    """Round 38: π 19²; tube 42.4 × 2: π 19.2²; a passage's bore gives its area back."""
    assert areas.round_area(38.0) == pytest.approx(math.pi * 361)
    assert areas.bore_area(Section(42.4, 2.0, "304")) == pytest.approx(math.pi * 19.2**2)
    assert areas.opening_area(round_opening(38.0)) == pytest.approx(math.pi * 361)
    assert areas.Passage("x", math.pi * 361).bore == pytest.approx(38.0)
