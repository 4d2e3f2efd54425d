"""Every test here keeps its arrays in a folder of its own."""

from __future__ import annotations

import pytest

from manifoldgen.readers import cache


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    """An empty cache."""
    monkeypatch.setenv(cache.FOLDER, str(tmp_path / "cache"))
    return tmp_path / "cache"
