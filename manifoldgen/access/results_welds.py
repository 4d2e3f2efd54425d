"""What is said about every weld and about the order they are made in: the report's keys as attributes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from manifoldgen.access.results import Primitive, shape_dict
from manifoldgen.access.torch import TierName


@dataclass(frozen=True)
class WeldAccess:
    """Whether a torch, a filler rod and an eye get at every place of one weld.

    id, kind : of the joint.
    reach : share of its places that can be welded with everything in place, 0 to 1.
    stage_reach : the same with what is fitted in its own stage.
    tier : the least awkward way that does all of it (in place, else in its stage); None where nothing does.
    longest_blocked : longest stretch out of reach in place; `unit` is ``deg`` for a ring, ``mm`` for a seam.
    blocked_at : the stretches out of reach in place, from and to in `unit`, counted from where the weld's curve
        begins; round the end of a ring `to` passes 360.
    blocked_by : who is in the way in place, in words, the most frequent first.
    stage : number of the stage it is welded in, from 1.
    apart : it cannot be finished in place.
    tack : it can be tacked in place: three tacks or more, none too far from the next.
    torch : the torch all this is said of.
    stuck : no order of welding reaches all of it.  way_out : what does, as a sentence; None where nothing was found.
    assumed : sizes nobody measured.
    shapes : that torch at the worst place it still reaches in place, bench frame.
    hosts : names of what it joins (they may come nearer to the torch than the margin).
    """

    id: str
    kind: str
    reach: float
    stage_reach: float
    tier: TierName | None
    longest_blocked: float
    unit: str
    blocked_by: tuple[str, ...]
    stage: int
    apart: bool
    tack: bool
    torch: str
    stuck: bool = False
    way_out: str | None = None
    assumed: tuple[str, ...] = ()
    shapes: tuple[Primitive, ...] = ()
    hosts: tuple[str, ...] = ()
    blocked_at: tuple[tuple[float, float], ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """The report's mapping; `shapes` as one mapping a primitive."""
        made = {k: list(v) if isinstance(v, tuple) else v for k, v in self.__dict__.items()}
        made["blocked_at"] = [list(stretch) for stretch in self.blocked_at]
        made["shapes"] = [shape_dict(s) for s in self.shapes]
        return made


@dataclass(frozen=True)
class PurgeOpening:
    """Where argon can get out of a purged volume.

    kind : a head flange's ``port``, another ``flange``, a free ``end`` of a piece, the ``collector end`` of an inlet (of
        several that are held together: one mouth), a ``hole`` for a branch that is not welded on yet.
    height : bench z, mm.  pieces : ids of the pieces it belongs to.
    at : the port's number, the flange's name, or the joint at the end or the hole; empty at a collector end.
    """

    kind: Literal["port", "flange", "end", "collector end", "hole"]
    height: float
    pieces: tuple[str, ...]
    at: str = ""

    @property
    def words(self) -> str:
        """As the report names it."""
        names = ", ".join(self.pieces)
        if self.kind == "collector end":
            if len(self.pieces) == 1:
                return f"collector end of {names}"
            return f"collector ends of {names} together, under foil with a window for the torch"
        if self.kind == "hole":
            return f"hole in {names} for {self.at}"
        if self.kind == "end":
            return f"{names} at {self.at}"
        return f"port {self.at}" if self.kind == "port" else self.at


@dataclass(frozen=True)
class Purge:
    """How one connected volume is purged: openings to cap, gas in at the lowest, vent at the highest."""

    cap: tuple[PurgeOpening, ...]
    gas_in: PurgeOpening | None
    vent: PurgeOpening | None

    def as_dict(self) -> dict[str, Any]:
        """The report's mapping, in words."""
        return {
            "cap": [o.words for o in self.cap],
            "gas_in": self.gas_in and self.gas_in.words,
            "vent": self.vent and self.vent.words,
        }


@dataclass(frozen=True)
class Stage:
    """Welds made with the same things fitted and the same volume purged.

    stage : its number, from 1; several of one number can be done in any order.
    joints : ids.  fitted : what is held together meanwhile, in words.
    """

    stage: int
    joints: tuple[str, ...]
    fitted: tuple[str, ...]
    purge: Purge

    def as_dict(self) -> dict[str, Any]:
        """The report's mapping."""
        return {
            "stage": self.stage,
            "joints": list(self.joints),
            "fitted": list(self.fitted),
            "purge": self.purge.as_dict(),
        }


@dataclass(frozen=True)
class Welding:
    """All welds and the order they are made in; `taken_apart` is how often the job comes apart on the way."""

    welds: tuple[WeldAccess, ...]
    stages: tuple[Stage, ...]
    taken_apart: int
