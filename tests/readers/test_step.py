"""STEP bodies: meshed once, by the CAD kernel, in a process of its own."""

from __future__ import annotations

import math
import sys

import cadquery as cq
import numpy as np
import pytest

from manifoldgen import readers
from manifoldgen.errors import ManifoldgenError
from manifoldgen.readers import step_body


def written(tmp_path, body, name="part.step"):
    """The body as a STEP file."""
    path = tmp_path / name
    cq.exporters.export(body, str(path))
    return path


@pytest.mark.slow
def test_a_box_with_a_hole_comes_back(tmp_path, monkeypatch) -> None:
    """Bounds, closed, volume within what the facets may lose (closed form); read again without the kernel."""
    body = cq.Workplane().box(100, 60, 40).translate((10, 0, 5)).faces(">Z").workplane().hole(20)
    path = written(tmp_path, body)
    found = readers.read(path)
    vertices, faces = readers.triangles(found)
    a, b, c = (vertices[faces[:, k]] for k in range(3))

    assert (found.closed, found.error, found.notes) == (True, step_body.DEFLECTION, ())
    assert (found.low, found.high) == ((-40, -30, -15), (60, 30, 25))
    true, facets = 100 * 60 * 40 - math.pi * 100 * 40, step_body.DEFLECTION * 2 * math.pi * 10 * 40
    assert true - 1e-6 <= np.einsum("ij,ij", a, np.cross(b, c)) / 6 <= true + facets
    monkeypatch.setattr(sys, "executable", "/nowhere")
    assert readers.read(path) == found


@pytest.mark.slow
def test_a_broken_step_file_is_one_sentence(tmp_path) -> None:
    """Cut short, only points, too slow: a sentence each, never a traceback."""
    whole = written(tmp_path, cq.Workplane().box(10, 10, 10)).read_bytes()
    short = tmp_path / "short.step"
    short.write_bytes(whole[: len(whole) // 3])
    with pytest.raises(ManifoldgenError, match=r"^short\.step [^\n]*export"):
        readers.read(short)
    point = written(tmp_path, cq.Workplane(cq.Vertex.makeVertex(1, 2, 3)), "point.step")
    with pytest.raises(ManifoldgenError, match=r"^point\.step holds no body"):
        readers.read(point)
    with pytest.raises(ManifoldgenError, match=r"^part\.step takes more than 0\.01 s to mesh"):
        step_body.read(tmp_path / "part.step", 0.01)


def test_a_kernel_that_dies_is_one_sentence(tmp_path, monkeypatch) -> None:
    """A crash of the other process ends in a sentence."""
    path = tmp_path / "part.step"
    path.write_text("ISO-10303-21;\n")
    monkeypatch.setattr(
        step_body.subprocess, "run", lambda *a, **k: step_body.subprocess.CompletedProcess(a, -11, "", "")
    )
    with pytest.raises(ManifoldgenError, match=r"^part\.step makes the CAD kernel fail"):
        readers.read(path)
