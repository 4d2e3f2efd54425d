"""`Scan`: what is known of a foreign mesh, small enough to travel; its arrays are found by content."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from manifoldgen import folders
from manifoldgen.errors import ManifoldgenError
from manifoldgen.geometry.vectors import Vec, array
from manifoldgen.readers import cache
from manifoldgen.readers.cache import Arrays

if TYPE_CHECKING:
    from manifoldgen.geometry.mesh_distance import Tree

FORM = 1  # of the kept arrays; a new number forgets what older versions kept
HELD = 8  # meshes kept in memory

_here: dict[str, Arrays] = {}  # what could not be kept on disk


@dataclass(frozen=True)
class Scan:
    """A mesh in place, without its arrays.

    hash : sha256 of the file's bytes.  file : its name, no folder.  scale : factor on its numbers, to mm.
    count : triangles.  low, high : corners of its bounding box, mm, bench frame.
    closed : encloses a solid.  holes : open rims otherwise.
    error : the true surface lies at most this far from the triangles, mm (a STEP body's facets); it is
        added to every gap asked.
    notes : what was mended or should be known, short sentences' ends (``is not closed (3 holes): …``).
    """

    hash: str
    file: str
    scale: float
    count: int
    low: Vec
    high: Vec
    closed: bool
    holes: int = 0
    error: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """What its arrays are kept under."""
        return key(self.hash, self.scale)

    @property
    def size(self) -> float:
        """The longest side of its bounding box, mm."""
        return float(max(array(self.high) - array(self.low)))


def key(digest: str, scale: float) -> str:
    """What the arrays of a file's content at a scale are kept under."""
    return f"{FORM}-{digest}-{scale!r}"


def keep(scan: Scan, arrays: Arrays, told: dict[str, Any]) -> None:
    """Keep the arrays for this process and, where the cache can be written, for every other."""
    cache.store(scan.key, arrays, told)
    if cache.load(scan.key) is None:
        _here[scan.key] = arrays


def triangles(scan: Scan) -> Arrays:
    """The mesh: vertices (v, 3) in mm, bench frame, and faces (n, 3).

    Raises
    ------
    ManifoldgenError : the arrays are not kept on this machine any more.
    """
    return _arrays(scan.key, scan.file)


@lru_cache(maxsize=HELD)
def _arrays(name: str, file: str) -> Arrays:
    if name in _here:
        return _here[name]
    found = cache.load(name)
    if found is None:
        raise ManifoldgenError(
            f"the triangles of {file} are not in {folders.cache()} any more: load the job again, "
            f"or let {folders.CACHE} name a folder that every process can use"
        )
    return found[0]


def tree(scan: Scan) -> Tree:
    """The mesh behind a tree of boxes, built once a process; its inside counts where it is closed."""
    return _tree(scan.key, scan.file, closed=scan.closed)


@lru_cache(maxsize=HELD)
def _tree(name: str, file: str, *, closed: bool) -> Tree:
    from manifoldgen.geometry import mesh_distance

    return mesh_distance.tree(*_arrays(name, file), closed=closed)
