"""manifest.json: what a result folder holds, byte for byte, and what made it; written last.

    {"schema_version": 1, "name": "sand-rail-four", "seed": null,
     "job": {"file": "sand_rail_four.yaml", "sha256": "…"},
     "versions": {"manifoldgen": "0.1.0", "python": "3.11.7", ...},
     "files": {"model.step": {"sha256": "…", "bytes": 520113}, ...}}

No dates, no machine names and no folders of the user's: the same input gives the same bytes.
"""

from __future__ import annotations

import hashlib
import json
import platform
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from manifoldgen.extensions import GROUPS, extensions

MANIFEST = "manifest.json"
_LIBRARIES = (
    "manifoldgen",
    "cadquery",
    "cadquery-ocp",
    "casadi",
    "ezdxf",
    "manifold3d",
    "nicegui",
    "numba",
    "numpy",
    "reportlab",
    "scipy",
    "trimesh",
    "vtk",
)


@dataclass(frozen=True)
class MadeBy:
    """The job's file that a result was made from: its name, without folders, and the sha256 of what stood in it."""

    file: str
    sha256: str


UNKNOWN = MadeBy("", "")  # no result is there, or none that says whose it is


def write(folder: Path, name: str, seed: int | None = None, job: MadeBy | None = None) -> Path:
    """Write the manifest of everything in `folder` and return its path.

    Parameters
    ----------
    name : the job's name.
    seed : the seed of the route search, None where nothing was searched.
    job : the file it came from, None where it came from none.
    """
    files = {
        path.relative_to(folder).as_posix(): {"sha256": sha256(path), "bytes": path.stat().st_size}
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path != folder / MANIFEST
    }
    content = {
        "schema_version": 1,
        "name": name,
        "seed": seed,
        "job": None if job is None else asdict(job),
        "versions": versions(),
        "files": files,
    }
    target = folder / MANIFEST
    target.write_text(json.dumps(content, indent=2, sort_keys=False) + "\n", encoding="utf-8", newline="\n")
    return target


def versions() -> dict[str, str]:
    """Version of this program, of Python, and of each library or extension that the files depend on."""
    found = {"python": platform.python_version()}
    found.update({e.package: e.version for group in GROUPS for e in extensions(group)})
    for library in _LIBRARIES:
        try:
            found[library] = version(library)
        except PackageNotFoundError:
            continue
    return dict(sorted(found.items()))


def sha256(path: Path) -> str:
    """Hex digest of one file."""
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def listed(folder: Path) -> tuple[str, ...] | None:
    """Names of the files that the folder's manifest lists; None if it has no manifest of ours."""
    entries = _files(folder)
    return None if entries is None else tuple(entries)


def made_by(folder: Path) -> MadeBy | None:
    """The file that a result was made from; None where it came from none, `UNKNOWN` where nothing says so."""
    try:
        job = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["job"]
        return None if job is None else MadeBy(str(job["file"]), str(job["sha256"]))
    except (OSError, ValueError, KeyError, TypeError):
        return UNKNOWN


def problems(folder: Path) -> tuple[str, ...]:
    """Return one sentence for each way in which `folder` differs from its manifest; empty when it agrees."""
    entries = _files(folder)
    if entries is None:
        return (f"{folder} has no {MANIFEST}",)
    found = []
    for name, digest in entries.items():
        path = folder / name
        if not path.is_file():
            found.append(f"{name} is listed in {MANIFEST} but missing")
        elif sha256(path) != digest:
            found.append(f"{name} differs from its sha256 in {MANIFEST}")
    return tuple(found)


def _files(folder: Path) -> dict[str, str] | None:
    try:
        content = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        return {str(name): str(entry["sha256"]) for name, entry in content["files"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
