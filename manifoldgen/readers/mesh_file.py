"""STL, OBJ and PLY as raw corners and faces; trimesh parses, this file notices what it lets pass."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from manifoldgen.errors import ManifoldgenError, MissingLibraryError

NO_FACES: tuple[int, ...] = ()  # a cloud of points
HEAD, RECORD = 84, 50  # bytes of a binary STL: its head, and each triangle

Raw = tuple[NDArray[np.float64], NDArray[np.integer[Any]]]


def stl(name: str, raw: bytes) -> Raw:
    """An STL file, ASCII or binary; one whose length does not fit is cut short."""
    told = int.from_bytes(raw[80:HEAD], "little") if len(raw) >= HEAD else 0
    binary = len(raw) >= HEAD and len(raw) >= HEAD + RECORD * told > HEAD
    text = raw.lstrip()[:5].lower() == b"solid" and b"facet" in raw[:2000].lower()
    if text and not binary:
        if b"endsolid" not in raw[-400:].lower():
            raise ManifoldgenError(f"{name} is cut short: it has no endsolid, export it again")
        return _parsed(name, raw, "stl_ascii")
    if not binary:
        if len(raw) < HEAD or b"\0" not in raw[:HEAD]:
            raise ManifoldgenError(f"{name} is no STL file: export it again as STL, OBJ or PLY")
        have = (len(raw) - HEAD) // RECORD
        if told > have:
            raise ManifoldgenError(
                f"{name} is cut short: it names {told} triangles and holds {have}, export it again"
            )
    return _parsed(name, raw[: HEAD + RECORD * told], "stl")


def obj(name: str, raw: bytes) -> Raw:
    """An OBJ file."""
    if b"\0" in raw[:1000]:
        raise ManifoldgenError(f"{name} is no OBJ file: export it again as STL, OBJ or PLY")
    return _parsed(name, raw, "obj")


def ply(name: str, raw: bytes) -> Raw:
    """A PLY file, ASCII or binary."""
    if not raw.startswith(b"ply"):
        raise ManifoldgenError(f"{name} is no PLY file: export it again as STL, OBJ or PLY")
    return _parsed(name, raw, "ply")


READERS: Mapping[str, Callable[[str, bytes], Raw]] = MappingProxyType({".stl": stl, ".obj": obj, ".ply": ply})


def _parsed(name: str, raw: bytes, kind: str) -> Raw:
    try:
        import trimesh
    except ImportError:
        raise MissingLibraryError(
            "scans are read with trimesh, which is not installed: pip install trimesh"
        ) from None
    options: dict[str, Any] = {"skip_materials": True, "maintain_order": True} if kind == "obj" else {}
    try:
        mesh: Any = trimesh.load(io.BytesIO(raw), file_type=kind, process=False, force="mesh", **options)
        return np.asarray(mesh.vertices, dtype=np.float64), np.asarray(
            getattr(mesh, "faces", NO_FACES), dtype=np.int64
        )
    except Exception as error:  # noqa: BLE001 - the parser may fail in any way on a broken file
        reason = str(error).splitlines()[0][:80] if str(error) else type(error).__name__
        raise ManifoldgenError(
            f"{name} does not read as {kind[:3].upper()}, it is cut short or damaged ({reason}): export it again"
        ) from None
