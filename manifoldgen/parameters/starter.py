"""A commented parameter file to start from: two to eight cylinders in a row, the collector above the flange."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from importlib.resources import files

from manifoldgen.errors import ParameterError
from manifoldgen.parameters.job import NAME

ORDERS = {  # common practice, no source; the file says to check it
    2: (1, 2),
    3: (1, 3, 2),
    4: (1, 3, 4, 2),
    5: (1, 2, 4, 5, 3),
    6: (1, 5, 3, 6, 2, 4),
    7: (1, 3, 5, 7, 2, 4, 6),
    8: (1, 6, 2, 5, 8, 3, 7, 4),
}
CC = 500  # of one cylinder
FACING = (0, 0.3, 0.95)  # into the turbine, x along the flange
STUD_TIP = (-41, 24, 38)  # of S1, mm, as the file has it
SMALL = {"outlet": "60.3, wall: 2.77", "outlet_clr": "76.2", "opening": "[54, 44]"}
LARGE = {"outlet": "76.1, wall: 2.0", "outlet_clr": "95", "opening": "[70, 56]"}


@dataclass(frozen=True)
class _Layout:
    """What depends on the number of cylinders, found by trial: it builds, and its welds can be reached.

    y, z : of the turbo's face, mm.  lean, gap : of the inlets.  clock : ring angle of cylinder 1 at which `close`
    finds all runners room, degrees; None where the paths are left ``auto``.
    """

    y: int
    z: int
    kind: str
    lean: int
    gap: int
    clock: int | None = None


LAYOUTS = {
    2: _Layout(373, 316, "merge", 12, 2, 90),
    3: _Layout(373, 316, "merge", 12, 2, 90),
    4: _Layout(373, 316, "merge", 12, 2, 45),
    5: _Layout(433, 336, "merge", 22, 2),
    6: _Layout(493, 386, "bundle", 16, 3),
    7: _Layout(533, 406, "bundle", 18, 3),
    8: _Layout(573, 426, "bundle", 18, 3),
}


@dataclass(frozen=True)
class Answers:
    """The few things that matter at the start, mm.

    cylinders : 2 to 8.  pitch : port to port.  od, wall : of the runner tube.  clr : of its elbows.
    """

    cylinders: int = 4
    pitch: float = 96.0
    od: float = 42.4
    wall: float = 2.0
    clr: float = 63.6


def starter(name: str, answers: Answers = Answers()) -> str:
    """The text of a job; with the default sizes it builds as it stands.

    Parameters
    ----------
    name : names the output folder: small letters, digits and -.
    answers : what the user knows already.

    Raises
    ------
    ParameterError : for a name or a number of cylinders that cannot be.
    """
    if not re.fullmatch(NAME, name):
        raise ParameterError(
            f"the name '{name[:80]}' is not possible: use small letters, digits and -, at most 64"
        )
    n = answers.cylinders
    if n not in ORDERS:
        raise ParameterError(f"a start for {n} cylinders is not there: take 2 to 8 and add ports by hand")
    layout = LAYOUTS[n]
    path = "auto" if layout.clock is None else "[{straight: 40}, close]"
    across, along = (37, 32) if n < 6 else (46, 38)
    middle = (n - 1) * answers.pitch / 2
    values = {
        "name": name,
        "order": ", ".join(map(str, ORDERS[n])),
        "pitch": f"{answers.pitch:g}",
        "od": f"{answers.od:g}",
        "wall": f"{answers.wall:g}",
        "clr": f"{answers.clr:g}",
        "middle": f"{middle:g}",
        "left": f"{middle - 40:g}",
        "right": f"{middle + 40:g}",
        "clock": "auto" if layout.clock is None else str(layout.clock),
        "paths": "\n".join(f"    {k}: {path}" for k in range(1, n + 1)),
        "cc": f"{CC * n - 2}",
        "kind": layout.kind,
        "lean": str(layout.lean),
        "gap": str(layout.gap),
        "y": str(layout.y),
        "z": str(layout.z),
        "body_y": str(layout.y + 21),
        "body_z": str(layout.z + 67),
        "bolts": f"[[-{across}, -{along}], [{across}, -{along}], [{across}, {along}], [-{across}, {along}]]",
        "facing": str(list(FACING)),
        "drain_y": str(layout.y - 40),
        "beyond": f"{2 * middle + 90:g}",
        "last": str(n),
        **_surveyed((middle, layout.y, layout.z), (across, along), last=2 * middle),
        **(SMALL if n < 6 else LARGE),
    }
    template = (files("manifoldgen.parameters") / "starter.yaml").read_text("utf-8")
    return re.sub(r"<(\w+)>", lambda m: values[m[1]], template)


def _surveyed(at: tuple[float, float, float], hole: tuple[int, int], last: float) -> dict[str, str]:
    """What tape and gauge read where the file's turbo stands: first and third bolt hole, stud tip S1, the last port.

    at : the turbine's face.  hole : its third bolt, x and y on the face.  last : x of the last port, mm.
    """
    lean = math.atan2(FACING[1], FACING[2])
    read = {"tilt": f"{math.degrees(lean):.1f}"}
    for number, (x, y) in ((1, (-hole[0], -hole[1])), (3, hole)):
        place = (at[0] + x, at[1] + y * math.cos(lean), at[2] - y * math.sin(lean))
        read[f"s1_b{number}"] = f"{math.dist(place, STUD_TIP):.0f}"
        read[f"pn_b{number}"] = f"{math.dist(place, (last, 0, 0)):.0f}"
    return read
