"""STL, 3MF, GLB and the lumen, read back with other readers; each written twice for the same bytes."""

from __future__ import annotations

import re
import struct
import zipfile
from xml.etree import ElementTree

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.export.glb import write_glb
from manifoldgen.export.lumen import Disc, patches, write_lumen
from manifoldgen.export.stl import write_stl
from manifoldgen.export.threemf import write_3mf
from manifoldgen.mesh.triangles import Mesh
from tests.export.strict import read_strictly

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def prism(sides: int = 24, radius: float = 20.0, height: float = 50.0, name: str = "bore") -> Mesh:
    """A closed straight prism on z = 0 with one fan of triangles on each end."""
    turn = 2 * np.pi * np.arange(sides) / sides
    ring = radius * np.column_stack([np.cos(turn), np.sin(turn)])
    low, high = np.column_stack([ring, np.zeros(sides)]), np.column_stack([ring, np.full(sides, height)])
    points = np.concatenate([low, high, [[0, 0, 0], [0, 0, height]]])
    a = np.arange(sides)
    b = (a + 1) % sides
    faces = np.concatenate(
        [
            np.column_stack([a, b, b + sides]),
            np.column_stack([a, b + sides, a + sides]),
            np.column_stack([b, a, np.full(sides, 2 * sides)]),
            np.column_stack([a + sides, b + sides, np.full(sides, 2 * sides + 1)]),
        ]
    )
    return Mesh(name, points, faces)


# area of a regular 24-gon times the height (closed form)
VOLUME = 24 / 2 * 20.0**2 * np.sin(2 * np.pi / 24) * 50.0


def test_the_test_body_is_what_it_should_be():
    """The other tests lean on this body: closed, and the volume of its closed form."""
    assert prism().closed
    assert prism().volume == pytest.approx(VOLUME, rel=1e-12)


def test_stl_reads_back(tmp_path):
    """A binary STL of the right length, whose mesh another reader finds closed and of the same volume."""
    import trimesh

    path = tmp_path / "model.stl"
    write_stl(path, prism())
    back = trimesh.load(path)

    assert path.stat().st_size == 84 + 50 * len(prism().triangles)
    assert struct.unpack("<I", path.read_bytes()[80:84])[0] == len(prism().triangles)
    assert not path.read_bytes().startswith(b"solid")
    assert back.is_watertight
    assert back.volume == pytest.approx(VOLUME, rel=1e-6)


def test_3mf_reads_back(tmp_path):
    """Millimetres, the part's name, shared vertices, ids from 1: what slicers refuse is missing one of these."""
    import trimesh

    path = tmp_path / "model.3mf"
    whole = prism(name='flange "A" & <B>')
    soup = Mesh("second", whole.corners.reshape(-1, 3), np.arange(3 * len(whole.triangles)).reshape(-1, 3))
    write_3mf(path, (whole, soup))
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert archive.namelist()[0] == "[Content_Types].xml"
        model = ElementTree.fromstring(archive.read("3D/3dmodel.model"))  # noqa: S314  our own file
    objects = model.findall(f"{CORE}resources/{CORE}object")

    assert model.get("unit") == "millimeter"
    assert [o.get("id") for o in objects] == ["1", "2"]
    assert [i.get("objectid") for i in model.findall(f"{CORE}build/{CORE}item")] == ["1", "2"]
    assert objects[0].get("name") == 'flange "A" & <B>'
    for found in objects:
        vertices = numbers(found.findall(f"{CORE}mesh/{CORE}vertices/{CORE}vertex"), "x", "y", "z")
        triangles = numbers(found.findall(f"{CORE}mesh/{CORE}triangles/{CORE}triangle"), "v1", "v2", "v3")
        body = trimesh.Trimesh(vertices, triangles.astype(int), process=False)
        assert len(vertices) == 50
        assert body.is_watertight
        assert body.volume == pytest.approx(VOLUME, rel=1e-6)


def test_3mf_joins_equal_points_alone(tmp_path):
    """Two corners 0.0007 mm apart stay two: joined, the skin is pinched and the edge from pole to pinch is used twice.

    The waist of the double pyramid is open by that much; edges by the 3MF Core Specification 1.3, chapter 4 (from memory).
    """
    waist = [[0.00035, 0, 0], [0, 3.0, 0], [-0.00035, 0, 0], [0, -3.0, 0]]
    k = np.arange(4)
    up = np.column_stack([k, (k + 1) % 4, np.full(4, 4)])
    down = np.column_stack([(k + 1) % 4, k, np.full(4, 5)])
    thin = Mesh("thin", np.array([*waist, [0, 0, 5.0], [0, 0, -5.0]]), np.concatenate([up, down]))
    write_3mf(tmp_path / "thin.3mf", (thin,))
    (read,) = read_strictly(tmp_path / "thin.3mf")

    assert thin.closed
    assert len(read.points) == 6
    assert read.sound


def numbers(elements, *keys: str) -> np.ndarray:
    """Attributes of XML elements as an array."""
    return np.array([[float(e.get(key)) for key in keys] for e in elements])


def test_glb_is_in_metres_and_y_up(tmp_path):
    """A glTF file is in metres and y up; a manifold 50 m long and lying on its side is the usual mistake."""
    import trimesh

    path = tmp_path / "model.glb"
    write_glb(path, (prism(name="runner 1"), prism(height=10.0, name="head flange")))
    scene = trimesh.load(path)

    assert set(scene.graph.nodes_geometry) == {"runner 1", "head flange"}
    assert scene.bounds[1][1] == pytest.approx(0.050)
    assert scene.bounds[0][1] == pytest.approx(0.0)
    assert sum(g.volume for g in scene.geometry.values()) == pytest.approx(1.2 * VOLUME * 1e-9, rel=1e-5)


ENDS = (
    Disc("inlet_1", (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 20.0),
    Disc("outlet", (0.0, 0.0, 50.0), (0.0, 0.0, 1.0), 20.0),
)


def test_lumen_names_its_patches_in_metres(tmp_path):
    """A solver takes inlets and outlets by name; together the patches are the whole closed surface."""
    path = tmp_path / "lumen.stl"
    write_lumen(path, prism(), ENDS)
    text = path.read_text()
    vertices = np.array([line.split()[1:] for line in text.splitlines() if "vertex" in line], dtype=float)
    a, b, c = np.moveaxis(vertices.reshape(-1, 3, 3), 1, 0)

    assert re.findall(r"^solid (\S+)$", text, re.MULTILINE) == ["inlet_1", "outlet", "wall"]
    assert re.findall(r"^endsolid (\S+)$", text, re.MULTILINE) == ["inlet_1", "outlet", "wall"]
    assert np.einsum("ij,ij->", a, np.cross(b, c)) / 6 == pytest.approx(VOLUME * 1e-9, rel=1e-6)


def test_lumen_patch_areas():
    """Each end is exactly the fan of its 24 triangles, the wall all the rest."""
    found = patches(prism(), ENDS)

    assert {name: int(on.sum()) for name, on in found.items()} == {"inlet_1": 24, "outlet": 24, "wall": 48}


def test_a_closed_opening_is_refused():
    """A lumen that does not reach an opening is a blocked passage: no file rather than a wrong one."""
    elsewhere = Disc("wastegate", (0.0, 0.0, 51.0), (0.0, 0.0, 1.0), 20.0)
    with pytest.raises(SolidError, match="no facet lies on the opening wastegate"):
        patches(prism(), (*ENDS, elsewhere))


def test_same_mesh_same_bytes(tmp_path):
    """Two builds of one file can be compared byte for byte."""
    for name in ("one", "two"):
        folder = tmp_path / name
        folder.mkdir()
        write_stl(folder / "model.stl", prism())
        write_3mf(folder / "model.3mf", (prism(),))
        write_lumen(folder / "lumen.stl", prism(), ENDS)
        write_glb(folder / "model.glb", (prism(),))

    for path in sorted((tmp_path / "one").iterdir()):
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes(), path.name
