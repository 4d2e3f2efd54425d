"""Flange solids: volumes in closed form, exact openings at both faces, sockets that hold a leaning tube."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry import contour
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import BENCH, Frame, Pose
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import array, unit, vec
from manifoldgen.manifold.model import Flange, Hole, Opening, VBand
from manifoldgen.solids import _occ
from manifoldgen.solids.acceptance import accept
from manifoldgen.solids.flange import flange_genus, flange_solid, flange_volume, passages, seat_depth
from manifoldgen.solids.tube import tube_solid
from tests.factory import TUBE, round_opening

pytestmark = pytest.mark.slow
LEAN = vec(unit((0.1, 0.2, 1.0)))
OVAL = Opening("oval", 44.0, 36.0, 18.0, (0.0, 0.0), contour.oval(44.0, 36.0))
SQUARE = Opening("rectangle", 40.0, 34.0, 0.0, (0.0, 0.0), contour.rectangle(40.0, 34.0))
ROUNDED = Opening("rectangle", 40.0, 34.0, 8.0, (0.0, 0.0), contour.rectangle(40.0, 34.0, 8.0))


def plate(opening: Opening, **more: object) -> Flange:
    """A round plate of 120 mm with one opening and two holes."""
    holes = (Hole("S1", (48.0, 0.0), 9.0), Hole("S2", (-48.0, 0.0), 9.0))
    rim = contour.circle(120.0)
    plain = Flange("head flange", BENCH, 12.0, "304", rim, (opening,), holes, TUBE, "end")
    return replace(plain, **more)  # type: ignore[arg-type]


def test_a_round_passage_is_a_frustum() -> None:
    """Plate less holes less the frustum from port to bore, in closed form."""
    port, bore = 19.0, TUBE.bore_radius
    frustum = math.pi * 12.0 / 3 * (port**2 + port * bore + bore**2)
    expected = math.pi * 12.0 * (60.0**2 - 2 * 4.5**2) - frustum
    solid = flange_solid(plate(round_opening(38.0)))
    assert _occ.volume(solid) == pytest.approx(expected, rel=1e-9)
    assert flange_volume(plate(round_opening(38.0))) == pytest.approx(expected, rel=1e-12)
    assert {face.geomType() for face in solid.Faces()} == {"PLANE", "CYLINDER", "CONE"}


CASES = [
    (round_opening(38.0), LEAN, "butt"),
    (round_opening(38.4), (0.0, 0.0, 1.0), "socket"),
    (OVAL, LEAN, "socket"),
    (SQUARE, (0.0, 0.0, 1.0), "butt"),
    (ROUNDED, LEAN, "butt"),
]


@pytest.mark.parametrize(("opening", "axis", "fit"), CASES)
def test_every_opening_is_accepted_and_exact_at_both_faces(opening: Opening, axis: tuple, fit: str) -> None:
    """The port's outline on one face; on the other the ellipse that the tube's bore leaves there."""
    flange = plate(opening, fit=fit)
    solid = flange_solid(flange, [axis])
    accept("head flange", solid, 3, flange_volume(flange, [axis]), self_intersection=False)
    assert flange_genus(flange) == 3  # one passage, two holes
    low = next(f for f in solid.Faces() if f.geomType() == "PLANE" and abs(f.Center().z) < 1e-9)
    assert low.Area() == pytest.approx(math.pi * (60**2 - 2 * 4.5**2) - opening.contour.area, rel=1e-9)
    ring = TUBE.radius if fit == "socket" else TUBE.bore_radius
    ellipse = math.pi * ring**2 / axis[2]  # a circle seen obliquely: area over the cosine
    high = [f.Area() for f in solid.Faces() if f.geomType() == "PLANE" and abs(f.Center().z - 12.0) < 1e-9]
    assert sum(high) == pytest.approx(math.pi * (60**2 - 2 * 4.5**2) - ellipse, rel=1e-9)
    # a butt tube's foot is scribed into the face: the tube's own wall, seen obliquely
    foot = math.pi * (TUBE.radius**2 - TUBE.bore_radius**2) / axis[2]
    assert len(high) == (2 if fit == "butt" else 1)
    assert fit == "socket" or min(high) == pytest.approx(foot, rel=1e-9)


@pytest.mark.parametrize("fit", ["butt", "socket"])
def test_a_leaning_tube_joins_without_a_gap(fit: str) -> None:
    """Tube and flange glued are one solid, as large as both, with one lumen (genus 3: passage and two holes)."""
    flange = plate(ROUNDED, fit=fit)
    sunk = seat_depth(flange) / LEAN[2]
    start = Pose.heading(array((0.0, 0.0, 12.0)) - sunk * array(LEAN), LEAN)
    tube = tube_solid(Path(start, (Straight(60.0),)), TUBE, start=[HalfSpace(start.at, (0.0, 0.0, -1.0))])
    both = [flange_solid(flange, [LEAN]), tube]
    joined = _occ.fuse(both, glue="shift")
    accept("joined", joined, 3, sum(map(_occ.volume, both)))
    gas = tube_solid(
        Path(start, (Straight(60.0),)), TUBE, start=[HalfSpace(start.at, (0.0, 0.0, -1.0))], fill="bore"
    )
    lumen = [passages(flange, [LEAN])[0].lumen, gas]
    accept("lumen", _occ.fuse(lumen, glue="shift"), 0, sum(map(_occ.volume, lumen)))


def test_a_v_band_is_hub_flank_and_rim() -> None:
    """Volume of the three turned sections in closed form; flank 20° (assumed, said in the module)."""
    frame = Frame.facing((10.0, 0.0, 5.0), (0.0, 0.6, 0.8), (0.0, 1.0, 0.0))
    band = Flange(
        "turbo flange", frame, 14.0, "304", None, (round_opening(38.4),), (), TUBE, "start", vband=VBand(84.0, 104.0, 20.0)
    )  # fmt: skip
    hub, rim = 21.2 + 3.0, 42.0
    flank = (rim - hub) * math.tan(math.radians(20.0))
    body = math.pi * ((14 - 2 - flank) * hub**2 + flank / 3 * (hub**2 + hub * rim + rim**2) + 2 * rim**2)
    solid = flange_solid(band)
    accept("turbo flange", solid, 1, body - math.pi * 19.2**2 * 14)


def test_what_runs_into_each_other_is_refused() -> None:
    """Hole into opening, hole out of the outline, a formed tube in a socket: one sentence each."""
    with pytest.raises(GeometryError, match="opening 1 and S1 run into each other"):
        flange_solid(plate(round_opening(38.0), holes=(Hole("S1", (20.0, 0.0), 9.0),)))
    with pytest.raises(GeometryError, match="S1 breaks through the outline"):
        flange_solid(plate(round_opening(38.0), holes=(Hole("S1", (58.0, 0.0), 9.0),)))
    with pytest.raises(GeometryError, match="cannot stand in a socket"):
        flange_solid(plate(round_opening(38.0), fit="socket", transition="tube"))


def test_a_passage_wider_than_its_hub_is_refused() -> None:
    """A port larger than the hub, on its way to the bore, would come out of the flank: caught, with the metal left."""
    opening = Opening("rectangle", 56.0, 50.0, 0.0, (0.0, 0.0), contour.rectangle(56.0, 50.0))
    frame = Frame.facing((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
    band = Flange(
        "turbo flange", frame, 14.0, "304", None, (opening,), (), TUBE, "start", vband=VBand(84.0, 104.0, 20.0)
    )  # fmt: skip
    with pytest.raises(GeometryError, match="mm of metal under the V-band's flank"):
        flange_solid(band)
