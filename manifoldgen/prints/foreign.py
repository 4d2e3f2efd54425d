"""Printed parts that other packages add: taken if printer, files and sheets can take them."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import get_args

import numpy as np

from manifoldgen.designs import Design
from manifoldgen.extensions import Gathered, asked
from manifoldgen.geometry.vectors import Vec
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.prints.part import Kind, PrintedPart
from manifoldgen.shop.aid_worth import Group

GROUP = "manifoldgen.prints"
_FILE = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_OFF = 1e-3  # mm: how far a part may be off the bed's corner


def parts(design: Design, names: Collection[str]) -> Gathered[tuple[PrintedPart, ...]]:
    """What each package gives; one part that cannot be taken refuses all of its maker's.

    names : of the parts there are already; a file can hold one part.
    """
    taken = set(names)

    def accept(_maker: object, answer: object) -> tuple[PrintedPart, ...]:
        made = (answer,) if isinstance(answer, PrintedPart) else tuple(answer)  # type: ignore[arg-type]
        for part in made:
            _sound(part)
            _on_bed(part, design.manifold.workshop.room)
        own = [part.name for part in made]
        if twice := sorted({name for name in own if name in taken or own.count(name) > 1}):
            raise ValueError(f"two printed parts are both called {twice[0]}")
        taken.update(own)
        return made

    return asked(GROUP, design, accept)


def _sound(part: object) -> None:
    """TypeError or ValueError for what is no part, or cannot be printed, filed or told."""
    if not isinstance(part, PrintedPart):
        raise TypeError(f"a maker of printed parts gives PrintedParts, not {part!r}")
    words = (part.name, part.mark, part.purpose, part.sits, *part.cautions)
    if not isinstance(part.cautions, tuple) or not all(isinstance(word, str) for word in words):
        raise TypeError(f"{part.name!r}: mark, purpose, sits and cautions have to be words")
    if not _FILE.fullmatch(part.name):
        raise ValueError(f"a printed part is called like model-r2-1, as its file is, not {part.name!r}")
    if part.kind not in get_args(Kind):
        raise ValueError(f"{part.name}: kind is one of {', '.join(get_args(Kind))}, not {part.kind!r}")
    if part.group not in get_args(Group):
        raise ValueError(f"{part.name}: group is one of {', '.join(get_args(Group))}, not {part.group!r}")
    if not all(np.isfinite([part.grams, part.hours])):
        raise ValueError(f"{part.name}: {part.grams:g} g and {part.hours:g} h are no estimate")
    _closed(part.name, part.mesh)


def _closed(name: str, mesh: Mesh) -> None:
    points, triangles = mesh.vertices, mesh.triangles
    if points.ndim != 2 or points.shape[1] != 3 or not np.isfinite(points).all():
        raise ValueError(f"{name}: the vertices are (n, 3) numbers in mm, not {points.shape}")
    if triangles.ndim != 2 or triangles.shape[1] != 3 or not np.issubdtype(triangles.dtype, np.integer):
        raise ValueError(f"{name}: the triangles are (m, 3) whole numbers, not {triangles.shape}")
    if triangles.size == 0 or triangles.min() < 0 or triangles.max() >= len(points):
        raise ValueError(f"{name}: a triangle names a corner that there is not")
    if not mesh.closed or mesh.volume <= 0:
        raise ValueError(f"{name}: the mesh is not closed, or is inside out")


def _on_bed(part: PrintedPart, room: Vec) -> None:
    low = part.mesh.vertices.min(axis=0)
    if np.abs(low).max() > _OFF:
        raise ValueError(f"{part.name}: it stands at {low.round(3)} mm, not in the corner of the bed")
    if any(size > most + _OFF for size, most in zip(part.size, room, strict=True)):
        took, most = (" × ".join(f"{x:.0f}" for x in sizes) for sizes in (part.size, room))
        raise ValueError(f"{part.name}: it takes {took} mm, the bed has room for {most}")
