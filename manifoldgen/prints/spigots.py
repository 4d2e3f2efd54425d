"""How two pieces of the model go together: spigot, clock key and the marks on both sides of a split.

back line ──►  ↓ 2A          the spigot of one piece slides into the bore of the other, `fit` free all round;
───────────────┼──────────   a rib in the socket runs in a slot of the spigot: it goes in one way only.
░░░░░░░░░│▒▒▒▒▒▒        A solid model has two unequal pegs in the back line's plane instead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.vectors import Array, array
from manifoldgen.prints import bodies, marks
from manifoldgen.prints.limbs import THINNEST, Limb
from manifoldgen.prints.skin import back_at, skin
from manifoldgen.prints.splits import ROOT, SPIGOT, Split

WALL = 2.0  # mm, of the spigot: five lines of a 0.4 nozzle
KEY = 4.0  # mm wide
BOND = 0.4  # mm that root and rib reach into the wall they stand on
PEGS = ((8.0, 0.5), (6.0, -0.5))  # diameter, place along the back line in radii
PEG_LENGTH = 10.0
_LEAD_IN = 0.6  # mm the spigot is thinner at its very end
_KEY_FREE = 0.5  # mm the rib begins behind the face
MARK_HEIGHT = 5.0
_MARK_OFF = 4.0  # mm from the face to the middle of the mark


@dataclass(frozen=True)
class Fitting:
    """One side of a split.  adds, cuts : what the piece gains and what is taken off it."""

    adds: tuple[bodies.Body, ...] = ()
    cuts: tuple[bodies.Body, ...] = ()


def male(limb: Limb, split: Split, fit: float, *, solid: bool = False) -> Fitting:
    """The side with the spigot, or with the pegs."""
    engraved = _marks(limb, split, downstream=split.socket == "up", solid=solid)
    if solid:
        return Fitting(_pegs(limb, split, 0.0), engraved)
    sign = 1.0 if split.socket == "down" else -1.0

    def place(along: float) -> float:
        return split.s + sign * along

    def bore(along: float) -> float:
        return limb.bore_radius(place(along))

    def inside(along: float) -> float:
        return bore(along) - fit - WALL

    def rows(start: float, end: float, off: float) -> list[tuple[float, float]]:
        """The bore's own profile between two distances from the face, `off` mm wider."""
        kinks = sorted(sign * (s - split.s) for s, _ in limb.bore)
        return [(k, bore(k) + off) for k in (start, *(k for k in kinks if start < k < end), end)]

    tip = -fit - _LEAD_IN
    slope = bore(-ROOT) - inside(-ROOT)  # the root begins at 45°, so that it prints either way up
    outer = [*rows(-ROOT, 0.0, BOND), *rows(0.0, SPIGOT - 1.0, -fit), (SPIGOT, bore(SPIGOT) + tip)]
    core = [(-ROOT - 1.0, bore(-ROOT) + 0.01), (-ROOT, bore(-ROOT) + 0.01)]
    core += rows(slope - ROOT, SPIGOT + 1.0, -fit - WALL)
    body = bodies.minus(
        bodies.swept(limb.path, _ordered(outer, split.s, sign)),
        bodies.swept(limb.path, _ordered(core, split.s, sign)),
    )
    slot = _key(limb, split, KEY / 2 + fit, (0.0, SPIGOT + 1.0), (-WALL - fit - 1.0, BOND + 1.0))
    return Fitting((bodies.minus(body, slot),), engraved)


def female(limb: Limb, split: Split, fit: float, *, solid: bool = False) -> Fitting:
    """The side with the socket: its bore gets the rib, a solid one its holes."""
    engraved = _marks(limb, split, downstream=split.socket == "down", solid=solid)
    if solid:
        return Fitting((), (*engraved, *_pegs(limb, split, fit)))
    rib = _key(limb, split, KEY / 2, (_KEY_FREE, SPIGOT), (-WALL - fit, BOND))
    return Fitting((rib,), engraved)


def _ordered(rows: list[tuple[float, float]], s: float, sign: float) -> list[tuple[float, float]]:
    placed = [(s + sign * along, radius) for along, radius in rows]
    return placed if sign > 0 else placed[::-1]


def _key(
    limb: Limb, split: Split, half: float, along: tuple[float, float], off: tuple[float, float]
) -> bodies.Body:
    """A bar on the back line, `half` mm to each side; along : from the face into the socket; off : from the bore."""
    sign = 1.0 if split.socket == "down" else -1.0
    bar = bodies.box((along[0], -half, off[0]), (along[1], half, off[1])).refine_to_length(2.0)
    if sign < 0:
        bar = bar.mirror((1.0, 0.0, 0.0)).mirror((0.0, 1.0, 0.0))
    back = back_at(limb.path, split.s)

    def bent(points: Array) -> Array:
        x, y, z = np.asarray(points, dtype=np.float64).T
        s = split.s + x
        rho = np.array([limb.bore_radius(float(v)) for v in s]) + z
        # parallel sides: the bar is as wide at its foot as at its top
        turn = np.arcsin(np.clip(-y / rho, -1.0, 1.0))
        return skin(limb.path, split.s, back, s=s, turn=turn, off=rho)

    return bar.warp_batch(bent)


def _pegs(limb: Limb, split: Split, free: float) -> tuple[bodies.Body, ...]:
    sign = 1.0 if split.socket == "down" else -1.0
    back, t = back_at(limb.path, split.s), sign * limb.path.tangent(split.s)
    at, r = limb.path.point(split.s), limb.radius(split.s)
    made = []
    for diameter, share in PEGS:
        d = min(diameter, 0.4 * r * diameter / PEGS[0][0])
        foot = array(at) + share * r * back - (0.0 if free else BOND) * t
        long = PEG_LENGTH + (1.0 if free else BOND)
        made.append(bodies.cylinder(foot, t, d / 2 + free, long))
    return tuple(made)


def _marks(limb: Limb, split: Split, *, downstream: bool, solid: bool) -> tuple[bodies.Body, ...]:
    """An arrow on the back line that points at the split, and the split's name beside it."""
    sign = 1.0 if downstream else -1.0
    s = split.s + sign * _MARK_OFF
    r, back = limb.radius(s), back_at(limb.path, s)
    depth = marks.DEPTH if solid else min(marks.DEPTH, r - limb.bore_radius(s) - THINNEST)
    if depth < 0.3:
        return ()
    aside = math.degrees((marks.width(split.mark, MARK_HEIGHT) / 2 + MARK_HEIGHT / 2 + 0.5) / r)
    arrow = marks.ARROW_BACK if downstream else marks.ARROW

    def cut(text: str, turn: float) -> bodies.Body:
        return marks.wrapped(
            text, limb.path, s, back, limb.radius, along=False, turn=turn, height=MARK_HEIGHT, depth=depth
        )

    return cut(arrow, 0.0), cut(split.mark, aside)
