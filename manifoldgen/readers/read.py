"""A foreign file becomes a `Scan`, or one sentence that says what is wrong with it."""

from __future__ import annotations

import hashlib
import math
import stat
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from manifoldgen.errors import ManifoldgenError
from manifoldgen.geometry.vectors import vec
from manifoldgen.readers import cache, mesh_file, step_body
from manifoldgen.readers.mend import Mended, mend
from manifoldgen.readers.scan import Scan, keep, key

STEP = {".step", ".stp"}
MOST_BYTES = 2_000_000_000
FAR_OFF = 50.0  # times larger or smaller than the job: surely another unit
INCHES = 8.0  # times smaller than the job: perhaps inches
FACTORS = ((1000.0, "metres"), (25.4, "inches"), (10.0, "centimetres"), (0.001, "micrometres"))


def read(path: str | Path, scale: float | None = None, job_size: float | None = None) -> Scan:
    """Read a scan (STL, OBJ, PLY) or a STEP body.

    Parameters
    ----------
    scale : factor on the file's numbers; None takes them as mm and lets doubts be told.
    job_size : the job's own extent, mm, which the scan is held against while `scale` is None.

    Raises
    ------
    ManifoldgenError : it is no ordinary file, of another kind, cut short, empty, not of numbers, or of a
        size that only another unit explains.
    """
    path = Path(path)
    raw = _bytes(path)
    digest = hashlib.sha256(raw).hexdigest()
    factor = 1.0 if scale is None else float(scale)
    kept = cache.load(key(digest, factor))
    if kept is None:
        vertices, faces = _raw(path, raw)
        vertices = vertices * factor
        doubts = _doubts(path.name, vertices, job_size if scale is None else None)
        mended = mend(path.name, vertices, faces)
        scan = _scan(path, digest, factor, mended)
        told: dict[str, Any] = {"closed": mended.closed, "holes": mended.holes, "notes": list(mended.notes)}
        keep(scan, (mended.vertices, mended.faces), told)
    else:
        (vertices, faces), told = kept
        doubts = _doubts(path.name, vertices, job_size if scale is None else None)
        mended = Mended(vertices, faces, told["closed"], told["holes"], tuple(told["notes"]))
        scan = _scan(path, digest, factor, mended)
    return replace(scan, notes=(*scan.notes, *doubts))


def _bytes(path: Path) -> bytes:
    try:
        state = path.stat()
        if stat.S_ISDIR(state.st_mode):
            raise ManifoldgenError(f"'{path}' is a folder: name an STL, OBJ, PLY or STEP file")
        if not stat.S_ISREG(state.st_mode):
            raise ManifoldgenError(f"'{path}' is a device or a pipe: name an STL, OBJ, PLY or STEP file")
        if path.suffix.lower() not in STEP | set(mesh_file.READERS):
            raise ManifoldgenError(f"{path.name} is not read: a scan is an STL, OBJ, PLY or STEP file")
        if state.st_size > MOST_BYTES:
            raise ManifoldgenError(f"{path.name} is too large ({state.st_size} bytes, at most {MOST_BYTES})")
        return path.read_bytes()
    except FileNotFoundError:
        raise ManifoldgenError(f"there is no file '{path}'") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not possible"
        raise ManifoldgenError(f"'{str(path)[:200]}' cannot be read: {reason}") from None


def _raw(path: Path, raw: bytes) -> mesh_file.Raw:
    if not raw.strip():
        raise ManifoldgenError(f"{path.name} is empty: export it again")
    if path.suffix.lower() in STEP:
        return step_body.read(path)
    return mesh_file.READERS[path.suffix.lower()](path.name, raw)


def _scan(path: Path, digest: str, factor: float, m: Mended) -> Scan:
    is_step = path.suffix.lower() in STEP
    return Scan(
        hash=digest,
        file=path.name,
        scale=factor,
        count=len(m.faces),
        low=vec(m.vertices.min(axis=0)),
        high=vec(m.vertices.max(axis=0)),
        closed=m.closed,
        holes=m.holes,
        error=step_body.DEFLECTION * factor if is_step else 0.0,
        notes=m.notes,
    )


def _doubts(name: str, vertices: NDArray[np.float64], job_size: float | None) -> tuple[str, ...]:
    """A doubt about inches; raises where only another unit explains the size.  None asks nothing."""
    extent = float(np.ptp(vertices, axis=0).max()) if len(vertices) else math.nan
    if job_size is None or not math.isfinite(extent) or extent <= 0.0:
        return ()
    ratio = extent / job_size
    if not 1.0 / FAR_OFF < ratio < FAR_OFF:
        factor, unit = min(FACTORS, key=lambda f: abs(math.log(f[0] * ratio)))
        raise ManifoldgenError(
            f"{name} is {_long(extent)} long, the job {_long(job_size)}: exported in {unit}? "
            f"Say scale: {factor:g}, or scale: 1 if it is right"
        )
    if ratio > 1.0 / INCHES:
        return ()
    told = f"is {_long(extent)} long, the job {_long(job_size)}"
    return (f"{told}: if it was exported in inches, say scale: 25.4",)


def _long(mm: float) -> str:
    if mm >= 10_000:
        return f"{mm / 1000:.1f} m"
    return f"{mm:.1f} mm" if mm >= 1 else f"{mm:.2g} mm"
