"""Packages that add to manifoldgen, installed for a test: the module and the metadata that an installer leaves."""

from __future__ import annotations

import os
import shutil
import tomllib
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parents[1]
EXAMPLE = Path(__file__).parent / "extension"

Points = Mapping[str, Mapping[str, str]]  # group → name of the entry point → what it names


def example(folder: Path) -> None:
    """Install the example package into a folder, as its own project file says."""
    project = tomllib.loads((EXAMPLE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    module = project["name"].replace("-", "_")
    shutil.copytree(EXAMPLE / module, folder / module, ignore=shutil.ignore_patterns("__pycache__"))
    _metadata(folder, project["name"], project["version"], project["entry-points"])


def package(folder: Path, name: str, code: str, points: Points, version: str = "2.0") -> None:
    """Install a package of one module, called as it is."""
    (folder / f"{name.replace('-', '_')}.py").write_text(code, encoding="utf-8")
    _metadata(folder, name, version, points)


def environment(folder: Path, state: Path) -> dict[str, str]:
    """The environment of these tests with the folder's packages in it, and logs kept apart."""
    paths = [str(folder), str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    told = {"PYTHONPATH": os.pathsep.join(paths), "XDG_STATE_HOME": str(state), "LOCALAPPDATA": str(state)}
    return {**os.environ, **told}


def _metadata(folder: Path, name: str, version: str, points: Points) -> None:
    """What the packaging standard asks of an installed package: METADATA, and entry_points.txt as its own says."""
    info = folder / f"{name.replace('-', '_')}-{version}.dist-info"
    info.mkdir()
    head = f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n"
    (info / "METADATA").write_text(head, encoding="utf-8")
    lines = [
        line
        for group, named in points.items()
        for line in (f"[{group}]", *(f"{k} = {v}" for k, v in named.items()))
    ]
    (info / "entry_points.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
