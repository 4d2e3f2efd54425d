"""Every test here keeps its arrays in a folder of its own."""

from __future__ import annotations

import pytest

from manifoldgen import folders


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    """An empty cache."""
    monkeypatch.setenv(folders.CACHE, str(tmp_path / "cache"))
    return tmp_path / "cache"
