"""The printed formed tube: port-shaped on the head flange's face, round where the runner goes on."""

from __future__ import annotations

import math

import numpy as np
from manifold3d import JoinType

from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Manifold, Opening
from manifoldgen.prints import bodies
from manifoldgen.prints.limbs import Limb

_RAYS = 96
_SUNK = 2.0  # mm that it stands in the plate


def formed_tube(m: Manifold, opening: Opening, limb: Limb) -> tuple[bodies.Body, bodies.Body]:
    """Outside and bore of the formed tube on one port, bench frame; the steel's outside, the printed wall."""
    head, tube = m.head, m.head.tube
    thick = m.workshop.wall
    turn = np.linspace(0.0, 2 * math.pi, _RAYS, endpoint=False)
    long = head.transition_length

    def mouth(off: float) -> Array:
        wide = bodies.outline(opening.contour).offset(off, JoinType.Round, 2.0, 64)
        ring = max((np.asarray(r) for r in wide.to_polygons()), key=len)
        flat = bodies.rays(ring, turn)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]) + array(
            opening.at
        )
        placed: Array = head.frame.out(np.column_stack([flat, np.full(_RAYS, head.thickness)]))
        return placed

    def end(radius: float) -> Array:
        x, y = (array(v) for v in (head.frame.x, head.frame.y))
        t = limb.path.tangent(long)
        u = x - (x @ t) * t
        u /= np.linalg.norm(u)
        side = np.cross(t, u)
        side *= math.copysign(1.0, float(side @ y))
        return limb.path.point(long) + radius * (np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * side)

    down = -_SUNK * array(head.frame.z)
    ahead = 0.5 * limb.path.tangent(long)
    foot, top = mouth(tube.wall), end(limb.radius(long))
    within, bore = mouth(tube.wall - thick), end(limb.bore_radius(long))
    return bodies.loft([foot + down, foot, top]), bodies.loft([within, bore, bore + ahead])
