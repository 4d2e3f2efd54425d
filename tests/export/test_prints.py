"""The printed parts' files: a strict reader takes them, the list adds up, the same parts give the same bytes."""

from __future__ import annotations

import csv
import math
from dataclasses import replace

import pytest

from manifoldgen.catalogue import STANDARD
from manifoldgen.errors import OutputError
from manifoldgen.export.prints import write_prints
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.manifold.model import Section
from manifoldgen.prints import bodies
from manifoldgen.prints.estimate import formula
from manifoldgen.prints.finish import finished
from manifoldgen.solids.tube import tube_solid
from tests.export.strict import read_strictly
from tests.factory import manifold

PATH = Path(
    Pose.heading((0, 0, 0), (0, 0, 1)), (Straight(30), Bend(70, 63.6), Straight(20), Bend(40, 63.6, 90))
)


def parts():
    """A printed tube and a block, named and weighed."""
    m = manifold()
    hollow = bodies.minus(bodies.tube(PATH, 21.2), bodies.tube(PATH, 18.2, before=1, after=1))
    tube = finished(m, hollow, name="tube", kind="model", mark="T1", purpose="a tube", sits="on the bench")
    block = bodies.box((0, 0, 0), (40, 30, 20))
    return tube, finished(
        m, block, name="block", kind="gauge", purpose="a block", sits="", cautions=("Sharp.", "Cold only.")
    )


def test_a_strict_reader_takes_the_3mf(tmp_path):
    """lib3mf in strict mode: no warning, one manifold and oriented mesh in mm by the part's mark, volume within 0.1 %.

    The volume is the kernel's for the same tube.
    """
    tube, block = parts()
    write_prints(tmp_path, (tube, block), formula(STANDARD))
    (mesh,) = read_strictly(tmp_path / "tube.3mf")
    exact = tube_solid(PATH, Section(42.4, 3.0, "304")).Volume()

    assert mesh.name == "T1"
    assert mesh.sound
    assert mesh.volume == pytest.approx(exact, rel=1e-3)
    assert mesh.points[:, 2].min() == pytest.approx(0.0, abs=1e-4)


def test_the_list_names_and_adds_up(tmp_path):
    """A row a part with size, grams and hours; then a row a group; the last is the sum and says how it was estimated."""
    tube, block = parts()
    tube = replace(tube, group="print first")
    told: list[str] = []
    write_prints(tmp_path, (tube, block), formula(STANDARD), told.append)
    with (tmp_path / "printed-parts.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))

    assert [r["part"] for r in rows] == ["tube", "block", "all", "all", "all"]
    assert [r["group"] for r in rows] == ["print first", "helps", "print first", "helps", ""]
    for one, group in ((0, 2), (1, 3)):
        assert [rows[one][k] for k in ("grams", "hours")] == [rows[group][k] for k in ("grams", "hours")]
    assert rows[1]["caution"] == "Sharp. Cold only."
    assert sorted(float(rows[1][k]) for k in ("x_mm", "y_mm", "z_mm")) == [20.0, 30.0, 40.0]
    # closed form: 24 cm3, skin 52 cm2 by 1.2 mm, 15 % of the rest, 1.24 g/cm3
    shell = 5200 * 1.2
    grams = (shell + 0.15 * (24000 - shell)) * 1.24e-3
    assert float(rows[1]["grams"]) == round(grams)
    assert float(rows[-1]["grams"]) == pytest.approx(sum(float(r["grams"]) for r in rows[:2]), abs=1)
    assert "1.24 g/cm3" in rows[-1]["what_for"]
    assert len(told) == 2
    assert math.isclose(block.grams, grams)


def test_the_same_parts_give_the_same_bytes(tmp_path):
    """Twice built and written, every file is the same byte by byte; two parts of one name are refused."""
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        write_prints(tmp_path / name, parts(), formula(STANDARD))
    names = sorted(p.name for p in (tmp_path / "one").iterdir())

    assert names == ["block.3mf", "block.stl", "printed-parts.csv", "tube.3mf", "tube.stl"]
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    tube, block = parts()
    with pytest.raises(OutputError, match="both called tube"):
        write_prints(tmp_path, (tube, replace(block, name="tube")), formula(STANDARD))
