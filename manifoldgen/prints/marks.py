"""Engraved marks: strokes of one width, cut `DEPTH` deep into a flat face or round a tube.

Letters stand on a grid 4 wide and 6 high; a stroke is written as its corners, two digits each.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from manifold3d import CrossSection, OpType
from manifold3d import Manifold as Body

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array
from manifoldgen.prints import bodies
from manifoldgen.prints.skin import skin

DEPTH = 0.8  # mm; two layers more than the eye needs, half of the thinnest sound wall
HEIGHT = 6.0  # mm of a capital
ARROW, ARROW_BACK = "^", "_"  # the first points the way the text's top points, the second the other way
_PROUD = 0.6  # mm the cutter stands out of the face
_STEP = 1.5  # mm: longest edge of a cutter that is wrapped round a tube

_STROKES = {
    "A": "002640 1333", "B": "00063645443303 3342413000", "C": "4536160501103041", "D": "00062644422000",
    "E": "46060040 0333", "F": "460600 0333", "G": "45361605011030414323", "H": "0006 4046 0343",
    "I": "2026 1030 1636", "J": "4641301001", "K": "0006 4602 1340", "L": "060040", "M": "0006234640",
    "N": "00064046", "O": "103041453616050110", "P": "00063645443303", "Q": "103041453616050110 2240",
    "R": "00063645443303 2340", "S": "453616050413334241301001", "T": "0646 2620", "U": "060110304146",
    "V": "062046", "W": "0610233046", "X": "0046 0640", "Y": "062346 2320", "Z": "06460040",
    "0": "103041453616050110 1135", "1": "142620 1030", "2": "05163645440040", "3": "0516364544334241301001 1333",
    "4": "30360242", "5": "460603334241301001", "6": "453616050110304142331302", "7": "064610",
    "8": "133342413010010213 1304051636454433", "9": "011030414536160504133344",
    "-": "1333", ".": "20", "/": "0046", "+": "1333 2224", "^": "2026 042644", "_": "2026 022042", " ": "",
}  # fmt: skip
_ADVANCE = 6.0  # grid units from letter to letter


def width(text: str, height: float = HEIGHT) -> float:
    """How long a line of text is, mm."""
    return (_ADVANCE * len(text) - 2.0 + 1.0) * height / 6.0


def lettering(text: str, height: float = HEIGHT) -> CrossSection:
    """Text as a flat outline about (0, 0), reading along x, its top towards y.

    Raises SolidError for a sign that there is no stroke for; letters are written as capitals.
    """
    unit, parts = height / 6.0, []
    dot = CrossSection.circle(0.5 * unit, 8)
    for place, sign in enumerate(text.upper()):
        if sign not in _STROKES:
            raise SolidError(text, f"{sign!r} cannot be engraved; use letters, digits, - . / + and blanks")
        left = _ADVANCE * place - (_ADVANCE * len(text) - 2.0) / 2.0
        for stroke in _STROKES[sign].split():
            corners = [
                ((int(stroke[i]) + left) * unit, (int(stroke[i + 1]) - 3.0) * unit)
                for i in range(0, len(stroke), 2)
            ]
            ends = corners[1:] or corners
            parts += [
                CrossSection.batch_hull([dot.translate(a), dot.translate(b)])
                for a, b in zip(corners, ends, strict=False)
            ]
    return CrossSection.batch_boolean(parts, OpType.Add) if parts else CrossSection()


def flat(text: str, place: Frame, height: float = HEIGHT, depth: float = DEPTH) -> Body:
    """Return what is cut out of a flat face.

    place : origin on the face in the middle of the text, x reading, y up, z out of the face.
    """
    return bodies.plate(lettering(text, height), -depth, _PROUD, place)


def wrapped(
    text: str,
    path: Path,
    s: float,
    reference: Array,
    radius: float | Callable[[float], float],
    *,
    along: bool = True,
    turn: float = 0.0,
    height: float = HEIGHT,
    depth: float = DEPTH,
) -> Body:
    """Return what is cut out of a tube's skin.

    s : arc length of the text's middle.  reference : unit, square to the travel there; `turn` degrees from it.
    radius : of the skin, mm, where it changes along the tube as a function of the arc length.
    along : reads along the travel, else round the tube with its top downstream.
    """
    line = bodies.plate(lettering(text, height), -depth, _PROUD).refine_to_length(_STEP)

    def bent(points: Array) -> Array:
        x, y, z = np.asarray(points, dtype=np.float64).T
        place = s + (x if along else y)
        rho = np.array([radius(v) for v in place.tolist()]) if callable(radius) else np.full(len(x), radius)
        angle = np.radians(turn) + (-y if along else x) / rho
        return skin(path, s, reference, s=place, turn=angle, off=rho + z)

    return line.warp_batch(bent)
