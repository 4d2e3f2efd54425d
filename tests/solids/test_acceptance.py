"""Acceptance refuses what the kernel passes; each refusal names the part and both values."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.solids import _occ
from manifoldgen.solids.acceptance import accept

RING = math.pi * (10**2 - 8**2) * 30


def ring():
    """Make a spacer ring of OD 20, ID 16, length 30."""
    return _occ.prism(_occ.annulus((0, 0, 0), (0, 0, 1), 10, 8), (0, 0, 30))


def test_a_good_solid_is_accepted_with_its_mesh():
    """The mesh comes back merged and closed; it holds what chords leave of the solid (closed form, ≤ 5°)."""
    found = accept("spacer", ring(), 1, RING)
    assert (found.valid, found.solids, found.watertight, found.genus) == (True, 1, True, 1)
    assert found.mesh.is_watertight
    assert RING * (1 - math.radians(5) ** 2 / 6) <= found.mesh.volume <= RING


def test_self_intersection_can_be_left_out():
    """The slow test is a choice; what was not looked for is not claimed."""
    assert accept("spacer", ring(), 1, RING, self_intersection=False).self_intersecting is None


@pytest.mark.parametrize(
    ("shape", "genus", "volume", "reason"),
    [
        (ring, 0, RING, "spacer: 1 passages .* ask for 0"),
        (ring, 1, RING * 1.0001, r"spacer: volume 3392\.92 mm³ where 3393\.26 mm³"),
        (
            lambda: cq.Compound.makeCompound([ring(), ring().moved(cq.Location(cq.Vector(50, 0, 0)))]),
            None,
            None,
            "2 solids",
        ),
        (lambda: cq.Compound.makeCompound([]), None, None, "0 solids"),
        (lambda: cq.Shape.cast(ring().wrapped.Reversed()), 1, None, "not closed|invalid"),
    ],
)
def test_a_wrong_solid_is_refused(shape, genus, volume, reason):
    """Blocked passage, wrong volume, loose bodies, nothing at all, inside out."""
    with pytest.raises(SolidError, match=reason):
        accept("spacer", shape(), genus, volume)


def test_an_open_surface_is_refused():
    """A solid that lacks a face has a mesh with open edges, whatever the kernel says."""
    shell = cq.Shell.makeShell(ring().Faces()[:-1])
    solid = cq.Solid.makeSolid(shell)
    with pytest.raises(SolidError, match=r"spacer: .*(not closed|invalid)"):
        accept("spacer", solid, None, None)
