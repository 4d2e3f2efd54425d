"""Is a solid what it should be? The kernel's own check passes many wrong shapes; this asks six things more.

valid, exactly one solid, a watertight mesh that looks outwards, the genus its openings predict, the volume
predicted by a formula or by the sum of its parts, and no face cutting another.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import cadquery as cq

from manifoldgen.errors import SolidError
from manifoldgen.solids import _occ

if TYPE_CHECKING:
    import trimesh

VOLUME_TOLERANCE = 1e-5  # of the expected volume
DEFLECTION = 0.1  # mm
ANGLE = 5.0  # degrees
# Two faces place a shared corner 1e-13 mm apart; where rounding parts just those, another grid is tried.
_MERGE_DIGITS = (6, 5, 7)


@dataclass(frozen=True)
class Acceptance:
    """What was measured on one solid and what was expected of it.

    volume, volume_expected : mm³ (None: not asked).  genus_expected : None: not asked.
    self_intersecting : None where it was not looked for.
    mesh : the triangles it was judged by, vertices merged, for whoever exports it.
    """

    valid: bool
    solids: int
    watertight: bool
    genus: int
    genus_expected: int | None
    volume: float
    volume_expected: float | None
    self_intersecting: bool | None
    mesh: trimesh.Trimesh = field(repr=False, compare=False)


def accept(
    part: str,
    shape: cq.Shape,
    genus: int | None,
    volume: float | None,
    *,
    tolerance: float = VOLUME_TOLERANCE,
    self_intersection: bool = True,
    deflection: float = DEFLECTION,
    angle: float = ANGLE,
) -> Acceptance:
    """Accept a solid or say what is wrong with it.

    Parameters
    ----------
    part : its name as on the sheets.
    genus : handles expected: openings − 1 for a tube skin, plus one for each bolt hole; None: any.
    volume : mm³ expected, by a formula or as the sum of its parts; None: any.
    tolerance : of the volume, relative.
    self_intersection : look for faces that cut each other, the slowest test.
    deflection, angle : of the mesh, mm and degrees.

    Raises
    ------
    SolidError : with the part, what was measured and what was expected.
    """
    found = examine(
        shape, genus, volume, self_intersection=self_intersection, deflection=deflection, angle=angle
    )
    reason = fault(found, tolerance=tolerance, angle=angle)
    if reason:
        raise SolidError(part, reason)
    return found


def examine(
    shape: cq.Shape,
    genus: int | None = None,
    volume: float | None = None,
    *,
    self_intersection: bool = True,
    deflection: float = DEFLECTION,
    angle: float = ANGLE,
) -> Acceptance:
    """Measure a solid without judging it; parameters as in `accept`."""
    mesh = merged_mesh(shape, deflection=deflection, angle=angle)
    closed = len(mesh.faces) > 0 and mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0
    return Acceptance(
        valid=_occ.is_valid(shape),
        solids=len(shape.Solids()),
        watertight=bool(closed),
        genus=(2 - int(mesh.euler_number)) // 2,
        genus_expected=genus,
        volume=_occ.volume(shape),
        volume_expected=volume,
        self_intersecting=_occ.self_intersects(shape) if self_intersection else None,
        mesh=mesh,
    )


def fault(found: Acceptance, *, tolerance: float = VOLUME_TOLERANCE, angle: float = ANGLE) -> str:
    """The first thing wrong, as a sentence with both values; empty if nothing is."""
    return next(_faults(found, tolerance, angle), "")


def _faults(found: Acceptance, tolerance: float, angle: float) -> Iterator[str]:
    if not found.valid:
        yield "the kernel's own check calls the solid invalid"
    if found.solids != 1:
        yield f"{found.solids} solids where 1 is expected"
    if not found.watertight:
        yield "its surface is not closed: the mesh has open edges or faces that look inwards"
    if found.genus_expected is not None and found.genus != found.genus_expected:
        yield f"{found.genus} passages (genus) where its openings ask for {found.genus_expected}"
    expected = found.volume_expected
    if expected is not None and not abs(found.volume - expected) <= tolerance * abs(expected):
        yield f"volume {found.volume:.2f} mm³ where {expected:.2f} mm³ is expected"
    # chords of a circle lose angle²/6 of an area: twice that, and a little more, is a badly meshed face
    meshed = float(found.mesh.volume)
    if not abs(meshed - found.volume) <= (1e-3 + math.radians(angle) ** 2 / 3) * found.volume:
        yield f"its mesh holds {meshed:.2f} mm³, the solid {found.volume:.2f} mm³"
    if found.self_intersecting:
        yield "it cuts itself"


def merged_mesh(shape: cq.Shape, *, deflection: float = DEFLECTION, angle: float = ANGLE) -> trimesh.Trimesh:
    """The shape's triangles with the vertices of neighbouring faces merged."""
    import trimesh

    points, triangles = _occ.triangulate(shape, deflection, angle)
    for digits in _MERGE_DIGITS:
        mesh = trimesh.Trimesh(points, triangles, process=False)
        mesh.merge_vertices(digits_vertex=digits)
        a, b, c = mesh.faces.T  # only triangles that lost a corner go: a thin one still closes the surface
        mesh.update_faces((a != b) & (b != c) & (c != a))
        if mesh.is_watertight:
            break
    return mesh
