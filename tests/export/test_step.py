"""STEP: names, tree and colours survive, and the text depends on the assembly alone."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import cadquery as cq
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.export import step_assembly
from manifoldgen.export.meshes import part_meshes, piece_meshes
from manifoldgen.export.step_assembly import canonical, write_step

pytestmark = pytest.mark.slow
ROOT = Path(__file__).resolve().parents[2]
COLOURS = {
    "R1-P1": (0.7, 0.2, 0.1),
    "R1-P2": (0.1, 0.7, 0.2),
    "head flange": (0.4, 0.4, 0.4),
    "lid; #3": (0.4, 0.4, 0.4),
}


def tree() -> cq.Assembly:
    """A flange, a runner of two pieces (moved 100 mm up), and a part with an awkward name."""
    runner = cq.Assembly(name="runner 1", loc=cq.Location((0, 0, 100)))
    runner.add(cq.Workplane().cylinder(20, 10), name="R1-P1", color=cq.Color(*COLOURS["R1-P1"]))
    runner.add(cq.Workplane().box(10, 10, 10), name="R1-P2", color=cq.Color(*COLOURS["R1-P2"]))
    whole = cq.Assembly(name="job")
    whole.add(cq.Workplane().box(50, 40, 12), name="head flange", color=cq.Color(*COLOURS["head flange"]))
    whole.add(runner)
    whole.add(cq.Workplane().box(5, 5, 5), name="lid; #3", color=cq.Color(*COLOURS["lid; #3"]))
    return whole


def test_names_tree_and_colours_survive(tmp_path):
    """A part is found by the name on the sheets, in the colour it was given, where it was put."""
    path = tmp_path / "model.step"
    write_step(path, tree())
    back = cq.Assembly.importStep(str(path))
    below = {part.name: [piece.name for piece in part.children] for part in back.children}
    colours = {name: node.color.toTuple()[:3] for name, node in back.traverse() if node.color is not None}

    assert below == {"head flange": [], "runner 1": ["R1-P1", "R1-P2"], "lid; #3": []}
    for name, colour in COLOURS.items():
        assert colours[name] == pytest.approx(colour, abs=1e-6)
    assert back.toCompound().BoundingBox().zmax == pytest.approx(110.0)


def test_same_assembly_same_bytes(tmp_path):
    """Time, a count that runs on, and memory addresses all get into the kernel's text: none may stay."""
    one, two, other = (tmp_path / f"{name}.step" for name in ("one", "two", "other"))
    write_step(one, tree())
    write_step(two, tree())
    code = (
        "import sys; from pathlib import Path; from tests.export.test_step import tree;"
        "from manifoldgen.export.step_assembly import write_step; write_step(Path(sys.argv[1]), tree())"
    )
    env = {**os.environ, "PYTHONHASHSEED": "11"}
    subprocess.run(
        [sys.executable, "-c", code, str(other)], cwd=ROOT, env=env, check=True, capture_output=True
    )

    assert one.read_bytes() == two.read_bytes()
    assert one.read_bytes() == other.read_bytes()
    assert b"1970-01-01T00:00:00" in one.read_bytes()


def test_another_assembly_other_bytes(tmp_path):
    """Putting the text in order must not lose what distinguishes two assemblies."""
    one, two = tmp_path / "one.step", tmp_path / "two.step"
    swapped = tree()
    for name, node in swapped.traverse():
        if name in ("R1-P1", "R1-P2"):
            node.color = cq.Color(*COLOURS["R1-P2" if name == "R1-P1" else "R1-P1"])
    write_step(one, tree())
    write_step(two, swapped)

    assert one.read_bytes() != two.read_bytes()


def test_canonical_text_is_its_own_canonical_text(tmp_path):
    """Ordering what is in order changes nothing."""
    path = tmp_path / "model.step"
    write_step(path, tree())
    text = path.read_text()

    assert canonical(text) == text


def test_a_file_that_lost_a_part_is_refused(tmp_path, monkeypatch):
    """What is read back is compared with what was meant."""
    less = cq.Assembly(name="job").add(cq.Workplane().box(50, 40, 12), name="head flange")
    less.export(str(tmp_path / "less.step"))
    monkeypatch.setattr(step_assembly, "canonical", lambda text: (tmp_path / "less.step").read_text())

    with pytest.raises(SolidError, match="R1-P1"):
        write_step(tmp_path / "model.step", tree())


def test_part_meshes_are_closed_and_in_place():
    """Viewers and pictures get every part by its name, where it stands: pieces merged, or each by itself."""
    parts = {mesh.name: mesh for mesh in part_meshes(tree())}
    pieces = {mesh.name: mesh for mesh in piece_meshes(tree())}

    assert list(parts) == ["head flange", "runner 1", "lid; #3"]
    assert set(pieces) == {"head flange", "R1-P1", "R1-P2", "lid; #3"}
    assert all(mesh.closed for mesh in pieces.values())
    assert pieces["head flange"].volume == pytest.approx(50 * 40 * 12)
    assert parts["runner 1"].vertices[:, 2].max() == pytest.approx(110.0)
    assert pieces["R1-P2"].colour == pytest.approx(COLOURS["R1-P2"], abs=1e-6)
