"""A PNG of meshes, drawn by a process of its own.

Without the system's EGL or Mesa libraries the drawing library does not raise an error, it crashes. In a
process of its own the crash becomes one sentence.
"""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any, Literal, get_args

import numpy as np

from manifoldgen.errors import MissingLibraryError, OutputError
from manifoldgen.mesh.triangles import Mesh

View = Literal["iso", "x", "y", "z"]
VIEWS: tuple[str, ...] = get_args(View)
SIZE = (1600, 1200)  # pixels
_TIMEOUT_S = 120
_ADVICE = "apt-get install libegl1 libegl-mesa0 libgl1-mesa-dri"


def draw(meshes: tuple[Mesh, ...], view: View = "iso", size: tuple[int, int] = SIZE) -> bytes:
    """Shade the meshes on white, with soft edge lines and a small axes mark; return the PNG.

    Parameters
    ----------
    view : ``iso``; ``x`` from the flange's far end (+x), ``y`` from its near side (-y), ``z`` from above.
    size : width and height, pixels.

    Raises
    ------
    MissingLibraryError : the system cannot draw without a screen; names the Debian packages.
    OutputError : drawing failed for another reason.
    """
    with tempfile.TemporaryDirectory(prefix="manifoldgen-picture-") as scratch:
        scene, picture = Path(scratch, "scene.npz"), Path(scratch, "picture.png")
        _hand_over(scene, meshes, view, size)
        command = [sys.executable, "-m", "manifoldgen.pictures.offscreen", str(scene), str(picture)]
        try:
            # ours alone: a fixed module of this package, with two files just made
            done = subprocess.run(command, capture_output=True, timeout=_TIMEOUT_S, check=False)  # noqa: S603
        except subprocess.TimeoutExpired as error:
            raise OutputError(f"drawing took longer than {_TIMEOUT_S} s and was stopped") from error
        if done.returncode != 0 or not picture.is_file():
            raise _failure(done.returncode, done.stderr.decode(errors="replace"))
        return picture.read_bytes()


def _hand_over(scene: Path, meshes: tuple[Mesh, ...], view: View, size: tuple[int, int]) -> None:
    wanted = {"view": view, "size": size, "colours": [m.colour for m in meshes]}
    arrays: dict[str, Any] = {"wanted": np.array(json.dumps(wanted))}
    for k, mesh in enumerate(meshes):
        arrays[f"vertices_{k}"] = mesh.vertices
        arrays[f"triangles_{k}"] = mesh.triangles
    np.savez(scene, **arrays)


def _failure(code: int, said: str) -> Exception:
    crashed = code in (-signal.SIGSEGV, -signal.SIGABRT, 128 + signal.SIGSEGV, 128 + signal.SIGABRT)
    if crashed or "cannot open shared object file" in said or "EGL" in said:
        return MissingLibraryError(
            f"this system cannot draw without a screen: the EGL or Mesa libraries are missing ({_ADVICE})"
        )
    if "ModuleNotFoundError" in said:
        return MissingLibraryError("the library vtk is missing: pip install vtk")
    last = said.strip().splitlines()[-1] if said.strip() else f"exit code {code}"
    return OutputError(f"the picture could not be drawn: {last}")
