"""Foreign files: what is read, what is mended, and the one sentence for each that cannot be used."""

from __future__ import annotations

import hashlib
import os
import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import trimesh

from manifoldgen import folders, readers
from manifoldgen.errors import ManifoldgenError
from manifoldgen.readers import scan

BOX = (60.0, 40.0, 20.0)


def box():
    """A closed box of 12 faces."""
    return trimesh.creation.box(extents=BOX)


def kept(mesh, path, faces=None, vertices=None):
    """The mesh as a file; other faces or vertices if given, as they are."""
    vertices = mesh.vertices if vertices is None else vertices
    changed = trimesh.Trimesh(vertices, mesh.faces if faces is None else faces, process=False, validate=False)
    changed.export(path)
    return path


def refused(path, **more):
    """The sentence with which a file is refused; one line."""
    with pytest.raises(ManifoldgenError) as caught:
        readers.read(path, **more)
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj", "ply"])
def test_every_format_gives_the_same_box(tmp_path, kind) -> None:
    """ASCII and binary STL, OBJ and PLY: closed, 12 faces, 8 corners, bounds and volume (closed form)."""
    path = tmp_path / f"box.{kind[:3]}"
    path.write_bytes(_bytes(box().export(file_type=kind)))
    found = readers.read(path)
    vertices, faces = readers.triangles(found)

    assert (found.file, found.count, found.closed, found.holes, found.notes) == (path.name, 12, True, 0, ())
    assert found.hash == hashlib.sha256(path.read_bytes()).hexdigest()
    assert (found.low, found.high) == ((-30, -20, -10), (30, 20, 10))
    assert len(vertices) == 8
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    assert np.einsum("ij,ij", a, np.cross(b, c)) / 6 == pytest.approx(np.prod(BOX))


def _bytes(text):
    return text if isinstance(text, bytes) else text.encode()


@pytest.mark.parametrize("holes", [1, 3])
def test_holes_are_counted_and_said(tmp_path, holes) -> None:
    """A sphere without some faces far apart has that many holes, and is used as a surface."""
    sphere = trimesh.creation.icosphere(subdivisions=3, radius=50)
    gone = [int(np.argmax(sphere.triangles_center[:, k])) for k in range(holes)]
    found = readers.read(kept(sphere, tmp_path / "bay.stl", np.delete(sphere.faces, gone, axis=0)))

    assert (found.closed, found.holes) == (False, holes)
    assert found.notes == (f"is not closed ({holes} hole{'s' if holes > 1 else ''}): used as a surface",)
    assert readers.tree(found).point_distance((0, 0, 0)) > 45


def test_flipped_faces_are_noticed_and_do_no_harm(tmp_path) -> None:
    """Two faces of a box turned over: said, still closed, and its inside is still inside."""
    faces = box().faces.copy()
    faces[:2] = faces[:2, ::-1]
    found = readers.read(kept(box(), tmp_path / "bay.ply", faces))

    assert found.closed
    assert len(found.notes) == 1
    assert "turned against their neighbours" in found.notes[0]
    assert readers.tree(found).point_distance((5, 3, 1)) == 0


def test_double_and_flat_faces_are_dropped(tmp_path) -> None:
    """A face twice (once turned over) and a face without area: dropped, told, the box is closed again."""
    faces = np.vstack([box().faces, box().faces[3, ::-1], [[0, 1, 1]]])
    found = readers.read(kept(box(), tmp_path / "bay.ply", faces))

    assert (found.count, found.closed) == (12, True)
    assert found.notes == ("had 1 face without area: dropped", "had 1 double face: dropped")


@pytest.mark.parametrize(
    ("factor", "words"),
    [(1e-3, "0.06 mm long"), (1e3, "60.0 m long"), (1 / 25.4, "2.4 mm long")],
)
def test_another_unit_is_noticed(tmp_path, factor, words) -> None:
    """A thousand times too large or small is a question with the factor to give; inches are a note."""
    mesh = box().apply_scale(factor)
    path = kept(mesh, tmp_path / "bay.stl")
    right = {1e-3: "metres? Say scale: 1000", 1e3: "micrometres? Say scale: 0.001"}
    if factor in right:
        sentence = refused(path, job_size=100)
        assert f"bay.stl is {words}, the job 100.0 mm" in sentence
        assert right[factor] in sentence
    else:
        assert words in (note := readers.read(path, job_size=100).notes[0])
        assert "scale: 25.4" in note
    assert readers.read(path, 1.0, 100).notes == ()
    assert readers.read(path, 1 / factor, 100).size == pytest.approx(60)
    assert readers.read(kept(box(), tmp_path / "own.stl"), job_size=100).notes == ()


def test_bad_files_are_one_sentence(tmp_path) -> None:
    """Missing, folder, device, unknown kind, empty, not what its name says, no faces, not numbers."""
    for name in ("void.stl", "void.ply"):
        (tmp_path / name).write_bytes(b"")
        assert f"{name} is empty" in refused(tmp_path / name)
    for name in ("text.stl", "text.obj", "text.ply", "text.step"):
        (tmp_path / name).write_bytes(b"not a mesh at all\n" * 40)
        assert name in refused(tmp_path / name)
    assert "there is no file" in refused(tmp_path / "none.stl")
    assert "is a folder" in refused(tmp_path)
    assert "a scan is an STL, OBJ, PLY or STEP file" in refused(kept(box(), tmp_path / "bay.off"))
    if Path(os.devnull).exists():
        assert "a device or a pipe" in refused(os.devnull)
    (tmp_path / "points.ply").write_bytes(_bytes(trimesh.PointCloud(box().vertices).export(file_type="ply")))
    assert "points.ply holds no triangle" in refused(tmp_path / "points.ply")
    for bad in (np.nan, np.inf):
        vertices = np.array(box().vertices)
        vertices[2, 1] = bad
        assert "1 corner without a number" in refused(kept(box(), tmp_path / "bad.ply", vertices=vertices))
    (tmp_path / "refers.obj").write_text("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n")
    assert "refers.obj" in refused(tmp_path / "refers.obj")


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "ply"])
def test_a_file_cut_short_is_one_sentence(tmp_path, kind) -> None:
    """The same sentence at any length: a copy that broke off must not pass as a smaller scan."""
    whole = _bytes(trimesh.creation.icosphere(subdivisions=1).export(file_type=kind))
    path = tmp_path / f"bay.{kind[:3]}"
    for share in (0.02, 0.3, 0.6, 0.99):
        path.write_bytes(whole[: int(share * len(whole))])
        sentence = refused(path)
        assert "bay" in sentence
        assert "export it again" in sentence


def test_a_large_scan_is_kept_whole(tmp_path) -> None:
    """More than 500 000 triangles: none dropped, sound, and a point's distance as for the sphere."""
    u, v = np.meshgrid(np.arange(720), np.linspace(0, np.pi, 362)[1:-1])
    rings = np.stack(
        [np.cos(u * np.pi / 360) * np.sin(v), np.sin(u * np.pi / 360) * np.sin(v), np.cos(v)], -1
    )
    vertices = np.vstack([rings.reshape(-1, 3), [[0, 0, 1], [0, 0, -1]]]) * 200.0
    grid = np.arange(rings[..., 0].size).reshape(rings.shape[:2])
    a, b = grid[:-1], grid[1:]
    c, d = np.roll(b, -1, axis=1), np.roll(a, -1, axis=1)
    caps = [[(len(vertices) - 2, grid[0, k], grid[0, (k + 1) % 720]) for k in range(720)]]
    caps += [[(len(vertices) - 1, grid[-1, (k + 1) % 720], grid[-1, k]) for k in range(720)]]
    quads = [np.stack(t, -1).reshape(-1, 3) for t in ((a, b, c), (a, c, d))]
    path = tmp_path / "bay.stl"
    trimesh.Trimesh(vertices, np.vstack([*quads, *caps]), process=False).export(path)
    found = readers.read(path)

    assert found.count == 720 * 2 * 359 + 2 * 720 > 500_000
    assert (found.closed, found.notes) == (True, ())
    for point in ((300, 40, -20), (0, 0, 320), (-170, 170, 90)):
        assert readers.tree(found).point_distance(point) == pytest.approx(
            np.linalg.norm(point) - 200, abs=0.02
        )
    assert len(pickle.dumps(found)) < 2000


def test_another_process_finds_the_triangles(tmp_path, own_cache) -> None:
    """A scan that travelled to another process finds its arrays there, without trimesh and its file."""
    path = kept(box(), tmp_path / "bay.stl")
    found = readers.read(path)
    path.unlink()
    code = (
        "import pickle, sys; from manifoldgen import readers; "
        "scan = pickle.load(sys.stdin.buffer); print(len(readers.triangles(scan)[1]), 'trimesh' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], input=pickle.dumps(found), capture_output=True, check=True
    )

    assert done.stdout.split() == [b"12", b"False"]
    for file in own_cache.iterdir():
        file.write_bytes(file.read_bytes()[:100])
    scan._arrays.cache_clear()
    with pytest.raises(ManifoldgenError, match="load the job again"):
        readers.triangles(found)


def test_a_cache_that_cannot_be_written_is_no_fault(tmp_path, monkeypatch) -> None:
    """The arrays then live in this process."""
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv(folders.CACHE, str(tmp_path / "file" / "below"))

    assert len(readers.triangles(readers.read(kept(box(), tmp_path / "bay.stl")))[1]) == 12
