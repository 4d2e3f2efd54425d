"""A solid in the bench frame becomes a printed part: one sound body, stood on the bed, weighed."""

from __future__ import annotations

from collections.abc import Sequence

from manifold3d import Manifold as Body
from numpy.typing import ArrayLike

from manifoldgen.manifold.model import Manifold
from manifoldgen.mesh.triangles import STEEL, Colour
from manifoldgen.prints import bed, bodies
from manifoldgen.prints.estimate import estimate
from manifoldgen.prints.part import Kind, PrintedPart


def finished(
    job: Manifold,
    solid: Body,
    *,
    name: str,
    kind: Kind,
    purpose: str,
    sits: str,
    mark: str = "",
    cautions: Sequence[str] = (),
    downs: Sequence[ArrayLike] = (),
    only: bool = False,
    colour: Colour = STEEL,
) -> PrintedPart:
    """The part as it is printed.

    solid : where it belongs, bench frame.  downs : directions tried as the side on the bed (`bed.stand`).
    Raises SolidError where it is not one sound body or does not fit on the bed.
    """
    mesh = bodies.mesh_of(bodies.lone(solid, name), name, colour)
    placed, frame = bed.stand(mesh, job.workshop.bed, downs, only=only)
    found = estimate(placed, job.tables)
    return PrintedPart(
        name=name,
        kind=kind,
        mark=mark,
        mesh=placed,
        pose=frame,
        purpose=purpose,
        sits=sits,
        cautions=tuple(cautions),
        grams=found.grams,
        hours=found.hours,
    )
