"""`manifoldgen doctor`: versions, libraries, what is missing and how to get it."""

from __future__ import annotations

import ctypes
import platform
import subprocess
import sys
from importlib.util import find_spec

import typer

from manifoldgen.cli import terminal
from manifoldgen.cli.libraries import DRAWING, PYTHON, SYSTEM
from manifoldgen.errors import ManifoldgenError

_TRY_KERNEL = "import cadquery"
_TIMEOUT_S = 120


def doctor() -> None:
    """Print versions and libraries, what is missing and how to get it."""
    from manifoldgen.export.manifest import versions

    lines = [f"{'system':14} {platform.platform()}"]
    lines += [f"{name:14} {number}" for name, number in versions().items()]
    lines.append("")
    missing = [*_python_libraries(), *_system_libraries(), *_trials()]
    for _, sentence in missing:
        lines.append(f"missing: {sentence}")
    debian = sorted({package for package, _ in missing if package})
    if debian:
        lines.append(f"\nnext: apt-get install {' '.join(debian)}")
    lines.append("something is missing" if missing else "everything is there")
    terminal.emit("\n".join(lines))
    raise typer.Exit(2 if missing else 0)


def _python_libraries() -> list[tuple[str, str]]:
    return [
        ("", f"{package} (pip install {package})")
        for module, package in PYTHON.items()
        if find_spec(module) is None
    ]


def _system_libraries() -> list[tuple[str, str]]:
    """Try to open the shared libraries; other systems than Linux bring them with the Python packages."""
    if sys.platform != "linux":
        return []
    found = []
    for library, package in SYSTEM.items():
        try:
            ctypes.CDLL(library)
        except OSError:
            found.append((package, f"{library} (Debian package {package})"))
    return found


def _trials() -> list[tuple[str, str]]:
    """Load the CAD kernel and draw a triangle, each in a process of its own: either may crash."""
    import numpy as np

    from manifoldgen.mesh.triangles import Mesh
    from manifoldgen.pictures import draw

    found = []
    if not _runs(_TRY_KERNEL):
        found.append(("", "the CAD kernel does not load (python -c 'import cadquery' shows why)"))
    try:
        draw((Mesh("triangle", np.eye(3), np.array([[0, 1, 2]])),), size=(32, 32))
    except ManifoldgenError as error:
        found += [(package, f"{package}, for pictures: {error}") for package in DRAWING[:1]]
        found += [(package, f"{package}, for pictures") for package in DRAWING[1:]]
    return found


def _runs(code: str) -> bool:
    command = [sys.executable, "-c", code]
    try:
        # ours alone: a fixed line of code
        done = subprocess.run(command, capture_output=True, timeout=_TIMEOUT_S, check=False)  # noqa: S603
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0
