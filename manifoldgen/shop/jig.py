"""Where every joint stands over the bench plate: what tape, height gauge and angle gauge read."""

from __future__ import annotations

import math
from dataclasses import dataclass

from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.model import Joint, Manifold


@dataclass(frozen=True)
class JointRow:
    """One joint in the bench frame (origin port 1 on the engine-side face, x along the flange, z out of it).

    at : its centre, mm.  direction : unit, with the gas.  highest, lowest : of the ring's outside over
    z = 0, mm.  to_face : degrees of the tube to the flange's face, + away from it.  compass : degrees of the tube
    in the plane of the face, from +x towards +y.  radius : of the ring, mm.  between : the two things it joins.
    """

    id: str
    kind: str
    at: Vec
    direction: Vec
    radius: float
    highest: float
    lowest: float
    to_face: float
    compass: float
    between: tuple[str, str]


def joint_rows(m: Manifold) -> tuple[JointRow, ...]:
    """A row for every joint, in the order of the joints.

    The ring of radius r round a tube that travels along t reaches r √(1 - t_z²) over and under its centre.
    """
    return tuple(_row(j) for j in m.joints)


def _row(joint: Joint) -> JointRow:
    tx, ty, tz = joint.direction
    reach = joint.radius * math.hypot(tx, ty)
    return JointRow(
        id=joint.id,
        kind=joint.kind,
        at=joint.at,
        direction=joint.direction,
        radius=joint.radius,
        highest=joint.at[2] + reach,
        lowest=joint.at[2] - reach,
        to_face=math.degrees(math.asin(max(-1.0, min(1.0, tz)))),
        compass=math.degrees(math.atan2(ty, tx)) if math.hypot(tx, ty) > 1e-9 else 0.0,
        between=joint.between,
    )
