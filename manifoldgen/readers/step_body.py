"""STEP bodies as triangles, made once by the CAD kernel in a process of its own."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from manifoldgen.errors import ManifoldgenError

DEFLECTION = 0.1  # mm: how far the true surface lies from the facets at most
TIME_OUT = 300.0  # s
REFUSED = 3  # exit code of the process where it wrote a sentence to stderr


def read(path: Path, time_out: float = TIME_OUT) -> tuple[NDArray[np.float64], NDArray[np.integer[Any]]]:
    """Corners and faces of every body in a STEP file, in mm.

    Raises
    ------
    ManifoldgenError : it is no STEP file, holds no body, takes too long, or the kernel fails on it.
    """
    if not path.read_bytes()[:2000].lstrip().startswith(b"ISO-10303-21"):
        raise ManifoldgenError(f"{path.name} is no STEP file: export it again as STEP or STL")
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "mesh.npz"
        command = [
            sys.executable,
            "-m",
            "manifoldgen.readers._tessellate",
            str(path.resolve()),
            str(out),
            str(DEFLECTION),
        ]
        try:
            done = subprocess.run(command, capture_output=True, text=True, timeout=time_out, check=False)  # noqa: S603
        except subprocess.TimeoutExpired:
            raise ManifoldgenError(
                f"{path.name} takes more than {time_out:g} s to mesh: export the bodies you need, or an STL"
            ) from None
        if done.returncode == REFUSED:
            raise ManifoldgenError(f"{path.name} {done.stderr.strip().splitlines()[-1]}")
        if done.returncode != 0:
            raise ManifoldgenError(
                f"{path.name} makes the CAD kernel fail: repair it where it was drawn, or export an STL"
            )
        with np.load(out) as made:
            return made["vertices"], made["faces"]
