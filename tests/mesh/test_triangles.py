"""Meshes: welding, closedness and volume against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from manifoldgen.mesh.triangles import Mesh, merged, welded

# a tetrahedron with legs 3, 4, 5 mm along the axes: volume 3 · 4 · 5 / 6 = 10 mm³ (closed form)
CORNERS = np.array([[0.0, 0, 0], [3, 0, 0], [0, 4, 0], [0, 0, 5]])
FACES = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])


def soup() -> Mesh:
    """The same tetrahedron with no vertex shared between its faces."""
    return Mesh("tetrahedron", CORNERS[FACES].reshape(-1, 3), np.arange(12).reshape(-1, 3))


def test_volume_is_the_closed_form():
    """A sign or a factor wrong here would be wrong in every mass."""
    assert Mesh("t", CORNERS, FACES).volume == pytest.approx(10.0, rel=1e-12)


def test_welding_closes_a_triangle_soup():
    """The kernel gives every face its own vertices; slicers ask for shared ones."""
    mesh = welded(soup())

    assert not soup().closed
    assert len(mesh.vertices) == 4
    assert mesh.closed
    assert mesh.volume == pytest.approx(10.0, rel=1e-12)


def test_welding_drops_triangles_that_vanish():
    """A sliver whose corners weld into one another is no triangle any more."""
    thin = Mesh("thin", np.array([[0.0, 0, 0], [1e-4, 0, 0], [0, 4, 0]]), np.array([[0, 1, 2]]))

    assert len(welded(thin).triangles) == 0


def test_a_missing_or_turned_face_is_not_closed():
    """An open or inside-out face must be seen before a file leaves."""
    turned = FACES.copy()
    turned[0] = turned[0][::-1]

    assert not Mesh("open", CORNERS, FACES[1:]).closed
    assert not Mesh("turned", CORNERS, turned).closed


def test_merging_keeps_every_triangle():
    """Two meshes in one keep their own corners."""
    both = merged("both", (Mesh("a", CORNERS, FACES), Mesh("b", CORNERS + 10.0, FACES)))

    assert both.volume == pytest.approx(20.0, rel=1e-12)
    assert both.vertices.max() == 15.0
