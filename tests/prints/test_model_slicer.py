"""Pieces of the test-fit model through an independent slicer: sound, printable, and as heavy as estimated."""

from __future__ import annotations

import pytest

from tests.prints.models import pieces
from tests.prints.slicer import needed, sliced


@needed
@pytest.mark.slow
def test_the_slicer_prints_a_model_piece(tmp_path):
    """Return code 0 with and without supports, one part, manifold, no empty layer; grams and hours near ours."""
    part = next(p for p in pieces() if p.name == "model-head-2")  # the smallest; the others are in the sweep
    found = sliced(part, tmp_path)

    assert found.codes == (0, 0)
    assert "Empty layer" not in found.said
    assert found.parts == 1
    assert found.manifold
    assert found.volume == pytest.approx(part.mesh.volume, rel=5e-3)
    assert part.grams == pytest.approx(found.grams, rel=0.2)
    assert part.hours == pytest.approx(found.hours, rel=0.25)
