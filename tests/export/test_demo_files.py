"""Every 3MF that leaves a demo job, as lib3mf's strict reader and its own test of a manifold, oriented mesh see it."""

from __future__ import annotations

import pytest

from manifoldgen.export.model import write_model
from manifoldgen.export.prints import write_prints
from manifoldgen.prints.all import printed_parts
from tests.export.strict import read_strictly
from tests.worked import JOBS, built, routed

pytestmark = pytest.mark.slow
DEMOS = sorted(p.stem for p in JOBS.glob("*.yaml"))


@pytest.mark.parametrize("name", DEMOS)
def test_the_model_is_manifold(name, tmp_path):
    """One mesh, manifold and oriented (3MF Core Specification 1.3, chapter 4, from memory), of the kernel's volume within 0.2 %."""
    solids = built(name)
    write_model(tmp_path, solids)
    (mesh,) = read_strictly(tmp_path / "model.3mf")

    assert mesh.sound
    assert mesh.volume == pytest.approx(solids.solid.Volume(), rel=2e-3)


@pytest.mark.parametrize("name", DEMOS)
def test_every_printed_part_is_manifold(name, tmp_path):
    """Each part's file holds one mesh, manifold and oriented, by the part's mark."""
    parts = printed_parts(routed(name)).parts
    write_prints(tmp_path, parts, "")
    found = {p.name: read_strictly(tmp_path / f"{p.name}.3mf") for p in parts}

    assert found
    assert [name for name, meshes in found.items() if len(meshes) != 1 or not meshes[0].sound] == []
    assert {p.name: p.mark or p.name for p in parts} == {name: m.name for name, (m,) in found.items()}
