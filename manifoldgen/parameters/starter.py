"""A commented parameter file to start from: two to four cylinders in a row, the collector above the flange."""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib.resources import files

from manifoldgen.errors import ParameterError
from manifoldgen.parameters.job import NAME

ORDERS = {  # common practice, no source; the file says to check it
    2: (1, 2),
    3: (1, 3, 2),
    4: (1, 3, 4, 2),
}
CLOCKS = {
    2: 90,
    3: 90,
    4: 45,
}  # ring angle of cylinder 1 at which all runners find room, degrees


@dataclass(frozen=True)
class Answers:
    """The few things that matter at the start, mm.

    cylinders : 2 to 4.  pitch : port to port.  od, wall : of the runner tube.  clr : of its elbows.
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
        raise ParameterError(f"a start for {n} cylinders is not there: take 2 to 4 and add ports by hand")
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
        "clock": str(CLOCKS[n]),
        "paths": "\n".join(f"    {k}: [{{straight: 40}}, close]" for k in range(1, n + 1)),
    }
    template = (files("manifoldgen.parameters") / "starter.yaml").read_text("utf-8")
    return re.sub(r"<(\w+)>", lambda m: values[m[1]], template)
