"""A commented parameter file to start from: two to four cylinders in a row, its collector above the flange."""

from __future__ import annotations

import re
from importlib.resources import files

from manifoldgen.errors import ParameterError
from manifoldgen.parameters.job import NAME

ORDERS = {
    2: (1, 2),
    3: (1, 3, 2),
    4: (1, 3, 4, 2),
}  # common practice, no source; the file says to check it
PITCH = 96


def starter(name: str, cylinders: int = 4) -> str:
    """The text of a job that builds as it stands.

    Parameters
    ----------
    name : names the output folder: small letters, digits and -.
    cylinders : 2 to 4.

    Raises
    ------
    ParameterError : for a name or a number of cylinders that cannot be.
    """
    if not re.fullmatch(NAME, name):
        raise ParameterError(
            f"the name '{name[:80]}' is not possible: use small letters, digits and -, at most 64"
        )
    if cylinders not in ORDERS:
        raise ParameterError(
            f"a start for {cylinders} cylinders is not there: take 2, 3 or 4 and add ports and paths by hand"
        )
    middle = (cylinders - 1) * PITCH / 2
    values = {
        "name": name,
        "order": ", ".join(map(str, ORDERS[cylinders])),
        "pitch": str(PITCH),
        "middle": f"{middle:g}",
        "left": f"{middle - 40:g}",
        "right": f"{middle + 40:g}",
        "clock": f"{CLOCKS[cylinders]:g}",
        "paths": "\n".join(f"    {k}: {_path(k, cylinders)}" for k in range(1, cylinders + 1)),
    }
    template = (files("manifoldgen.parameters") / "starter.yaml").read_text("utf-8")
    return re.sub(r"<(\w+)>", lambda m: values[m[1]], template)


# ring angle of cylinder 1, degrees: the inlets then stand in the order of the ports
CLOCKS = {2: 90.0, 3: 90.0, 4: 45.0}


def _path(cylinder: int, cylinders: int) -> str:
    del cylinders
    return f"[{{straight: {40 if cylinder % 2 else 60}}}, close]"
