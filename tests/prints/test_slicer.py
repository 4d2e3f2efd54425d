"""Guides and cradles through an independent slicer: they print as they lie, with hardly any support."""

from __future__ import annotations

import pytest

from manifoldgen.prints.guides import guides
from tests.prints.aids import cradles_of, job
from tests.prints.slicer import needed, sliced

SUPPORT = 0.05  # grams of support over grams of the part


@needed
@pytest.mark.slow
@pytest.mark.parametrize("which", ["guide", "cradle"])
def test_the_slicer_prints_it_as_it_lies(which, tmp_path):
    """One sound part, no empty layer, the mesh's volume, and less than 5 % of it in supports."""
    part = guides(job())[0] if which == "guide" else cradles_of()[2]
    found = sliced(part, tmp_path)

    assert found.codes == (0, 0)
    assert "Empty layer" not in found.said
    assert found.parts == 1
    assert found.manifold
    assert found.volume == pytest.approx(part.mesh.volume, rel=5e-3)
    assert found.support_share <= SUPPORT
    assert part.grams == pytest.approx(found.grams, rel=0.3)  # the plate list's estimate
