"""What the tests of the test-fit model share: its pieces for a demo job, rays through them, fits between them."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Manifold
from manifoldgen.manifold.workshop import ModelPrint
from manifoldgen.prints import marks, plates
from manifoldgen.prints.model import model_parts
from manifoldgen.prints.part import PrintedPart
from tests.prints.aids import in_place, job, overlap

THREE = "snow_groomer_three"  # all its paths are written down
REACH = 400.0  # mm of a ray


def asked(m: Manifold, **model: object) -> Manifold:
    """The job with other wishes for its model."""
    return replace(m, workshop=replace(m.workshop, model=ModelPrint(**model)))  # type: ignore[arg-type]


def on_bed(m: Manifold, *bed: float) -> Manifold:
    """The job on another printer."""
    return replace(m, workshop=replace(m.workshop, bed=bed))  # type: ignore[arg-type]


@cache
def pieces() -> tuple[PrintedPart, ...]:
    """The pieces of the three-cylinder demo's model."""
    return model_parts(job(THREE))


@cache
def plain_pieces(**model: object) -> tuple[PrintedPart, ...]:
    """The same without a mark in them: walls and volumes as the tubes alone make them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(marks, "DEPTH", 0.0)
        patch.setattr(plates, "mark_place", lambda *_: None)
        return model_parts(asked(job(THREE), **model))


def trespassing(parts: tuple[PrintedPart, ...], m: Manifold) -> Iterator[str]:
    """What is wrong with pieces as such: open, in several bodies, off the bed."""
    have = m.workshop.room
    for p in parts:
        if not p.mesh.closed or len(in_place(p).decompose()) != 1:
            yield f"{p.name} is not one closed body"
        if any(s > h + 1e-6 for s, h in zip(p.size, have, strict=True)):
            yield f"{p.name} takes {p.size}"
        if np.abs(p.mesh.vertices.min(axis=0)).max() > 1e-6:
            yield f"{p.name} does not stand at the bed's corner"


def overlaps(parts: tuple[PrintedPart, ...], least: float = 0.05) -> Iterator[tuple[str, str, float]]:
    """Pieces that share more than `least` mm³ where they belong (their points are rounded to 0.001 mm)."""
    solids = [in_place(p) for p in parts]
    boxes = [array(s.bounding_box()) for s in solids]
    for i, j in itertools.combinations(range(len(parts)), 2):
        apart = (boxes[i][:3] > boxes[j][3:]) | (boxes[j][:3] > boxes[i][3:])
        if not apart.any() and (shared := overlap(solids[i], solids[j])) > least:
            yield parts[i].name, parts[j].name, shared


def thin_places(part: PrintedPart, least: float, count: int, seed: int) -> Iterator[tuple[float, Array]]:
    """Sampled places of the skin that have another side closer than `least` mm straight behind them, bench frame.

    A wall has two sides that face away from each other; two faces that meet in an edge are none.
    """
    solid, mesh = in_place(part), part.in_place
    corners = mesh.corners
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(cross, axis=1)
    rng = np.random.default_rng(seed)
    chosen = rng.choice(len(area), count, p=area / area.sum())
    weights = rng.dirichlet((1.0, 1.0, 1.0), count)
    for k, w in zip(chosen, weights, strict=True):
        at, inward = w @ corners[k], -cross[k] / area[k]
        hits = solid.ray_cast(tuple(at + 1e-3 * inward), tuple(at + REACH * inward))
        for hit in sorted(hits, key=lambda h: h.distance)[:1]:
            through = hit.distance * REACH
            if through < least and float(array(hit.normal) @ inward) > 0.8:
                yield through, at
