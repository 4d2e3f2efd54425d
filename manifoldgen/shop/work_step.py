"""One small step of the job, to be ticked, and sums over steps."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from manifoldgen.shop.cautions import Hazard

Station = Literal[
    "desk", "engine", "printer", "store", "laser shop", "saw", "belt sander", "drill", "mill", "bench", "torch",
    "assembly",
]  # fmt: skip
STATIONS: tuple[Station, ...] = (
    "desk", "printer", "engine", "store", "laser shop", "drill", "bench", "saw", "belt sander", "mill", "torch",
    "assembly",
)  # fmt: skip


Operation = Literal["lay", "cut", "true", "bevel", "deburr", "mark", "mill", "flat", "saddle", "clean"]
OPERATIONS: tuple[Operation, ...] = get_args(Operation)
_AT: dict[Station, Hazard] = {
    "saw": "saw", "belt sander": "grind", "drill": "drill", "mill": "mill", "torch": "weld",
}  # fmt: skip


@dataclass(frozen=True)
class Step:
    """A step.

    id : stays as long as its piece or joint keeps its id (``cut-R2-P1``, ``weld-J2.1``).  station : where it
    is done.  what : one line.  minutes : an estimate.  needs : ids of the steps before it.
    about : the piece, joint or flange it is done to, or ``""``.  size : the numbers it is done to, where they can
    change under the same id (``el90 24.5°``).  stage : of the welding, 0 before it.  op : which of the operations on a
    piece of tube it is, or None.  danger : what can hurt at it, where that is not what its station says.
    """

    id: str
    station: Station
    what: str
    minutes: float
    needs: tuple[str, ...] = ()
    about: str = ""
    size: str = ""
    stage: int = 0
    op: Operation | None = None
    danger: Hazard | None = None

    @property
    def hazard(self) -> Hazard | None:
        """What can hurt at it, None where nothing does."""
        return self.danger or _AT.get(self.station)


def minutes_by_station(steps: Iterable[Step], done: Collection[str] = ()) -> dict[Station, float]:
    """Minutes of the steps that are not done, by station; stations without work are left out."""
    found: dict[Station, float] = {}
    for step in steps:
        if step.id not in done:
            found[step.station] = found.get(step.station, 0.0) + step.minutes
    return {station: found[station] for station in STATIONS if station in found}


def ready(steps: Iterable[Step], done: Collection[str]) -> tuple[Step, ...]:
    """Steps that are not done while all they need is."""
    return tuple(s for s in steps if s.id not in done and all(n in done for n in s.needs))


def clock(minutes: float) -> str:
    """Minutes as ``2 h 05 min``, or ``45 min``."""
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"
