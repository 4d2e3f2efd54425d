"""The model files of every demo job, read back: 3MF by lib3mf's strict reader, the lumen as a mesher takes it."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest

from manifoldgen.export.model import write_model
from manifoldgen.export.prints import write_prints
from manifoldgen.mesh.even import quality
from manifoldgen.mesh.triangles import Mesh, welded
from manifoldgen.prints.all import printed_parts
from tests.export.strict import read_strictly
from tests.worked import JOBS, built, routed

pytestmark = pytest.mark.slow
DEMOS = sorted(p.stem for p in JOBS.glob("*.yaml"))
FOLDER = tempfile.TemporaryDirectory(prefix="models-")
SAMPLE, SEED = 200, 11


@cache
def model(name: str) -> Path:
    """The folder with a demo's model files; it goes with the process."""
    folder = Path(FOLDER.name) / name
    folder.mkdir()
    write_model(folder, built(name))
    return folder


@pytest.mark.parametrize("name", DEMOS)
def test_the_model_is_manifold(name):
    """One mesh, manifold and oriented (3MF Core Specification 1.3, chapter 4, from memory), of the kernel's volume within 0.2 %."""
    (mesh,) = read_strictly(model(name) / "model.3mf")

    assert mesh.sound
    assert mesh.volume == pytest.approx(built(name).solid.Volume(), rel=2e-3)


@pytest.mark.parametrize("name", DEMOS)
def test_every_printed_part_is_manifold(name, tmp_path):
    """Each part's file holds one mesh, manifold and oriented, by the part's mark."""
    parts = printed_parts(routed(name)).parts
    write_prints(tmp_path, parts, "")
    found = {p.name: read_strictly(tmp_path / f"{p.name}.3mf") for p in parts}

    assert found
    assert [name for name, meshes in found.items() if len(meshes) != 1 or not meshes[0].sound] == []
    assert {p.name: p.mark or p.name for p in parts} == {name: m.name for name, (m,) in found.items()}


def lumen(path: Path) -> dict[str, np.ndarray]:
    """Triangles (m, 3, 3), mm, of each named surface of an ASCII STL in metres."""
    found: dict[str, list[list[float]]] = {}
    for line in path.read_text(encoding="ascii").splitlines():
        words = line.split()
        if words[0] == "solid":
            found[words[1]] = []
        elif words[0] == "vertex":
            found[list(found)[-1]].append([1000.0 * float(v) for v in words[1:]])
    return {name: np.array(points).reshape(-1, 3, 3) for name, points in found.items()}


@pytest.mark.parametrize("name", DEMOS)
def test_the_lumen_can_be_filled(name):
    """No triangle under quality 0.1, edges within a tenth of the bore, one closed oriented surface, the kernel's volume.

    Quality: 4 √3 area over the sum of squared edges. A mesher wants no needles; where it gives up: common practice, no
    source.
    """
    surfaces = lumen(model(name) / "lumen.stl")
    corners = np.concatenate(list(surfaces.values()))
    soup = Mesh("lumen", corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3))
    found, edges = quality(corners), np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    m = routed(name).manifold

    assert list(surfaces) == [*built(name).openings, "wall"]
    assert found.min() >= 0.1
    assert np.quantile(found, 0.01) >= 0.6
    assert edges.max() <= 0.1 * 2 * min(run.section.bore_radius for run in m.runs)
    assert welded(soup, within=0.0).closed
    assert soup.volume == pytest.approx(built(name).lumen.Volume(), rel=1e-3)


@pytest.mark.parametrize("name", DEMOS)
def test_the_lumen_lies_on_the_kernels_surface(name):
    """Corners and middles of edges and triangles, picked at random, are within 0.05 mm of the exact faces."""
    corners = np.concatenate(list(lumen(model(name) / "lumen.stl").values()))
    middles = (corners + np.roll(corners, 1, axis=1)) / 2
    points = np.concatenate([corners.reshape(-1, 3), middles.reshape(-1, 3), corners.mean(axis=1)])
    picked = points[np.random.default_rng(SEED).choice(len(points), SAMPLE, replace=False)]
    skin = cq.Compound.makeCompound(built(name).lumen.Faces())

    assert max(skin.distance(cq.Vertex.makeVertex(*p)) for p in picked.tolist()) <= 0.05
