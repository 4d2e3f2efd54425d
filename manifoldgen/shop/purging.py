"""The purge of every stage: what to cap, where gas goes in and out, how much volume, how many minutes.

    by volumes    t = n V / Q                    n : volume changes (rule of the trade)
    by mixing     t = ln((209000 - cs) / (c - cs)) V / Q

c : oxygen wanted, cs : oxygen in the argon, ppm; V : litres inside; Q : litres a minute. The second holds for gas
that mixes all through; a long tube filled from below is quicker, a pocket slower: a meter at the vent decides.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from manifoldgen.access.purge import volumes
from manifoldgen.access.results_welds import PurgeOpening, Stage, Welding
from manifoldgen.errors import GeometryError
from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.bore import litres
from manifoldgen.shop.rates import rate

AIR = 209000.0  # ppm of oxygen in air
FIGURES = ("purge_flow", "purge_hold", "purge_target", "argon_oxygen")


@dataclass(frozen=True)
class Purging:
    """One purged volume of one stage.

    joints : welded while it is purged.  pieces : ids inside it.
    cap, gas_in, vent : its openings.  litres : gas inside.
    by_volumes, by_mixing : minutes at `flow` l/min until `target` ppm; hold : l/min while welding.
    """

    stage: int
    joints: tuple[str, ...]
    pieces: tuple[str, ...]
    cap: tuple[PurgeOpening, ...]
    gas_in: PurgeOpening | None
    vent: PurgeOpening | None
    litres: float
    by_volumes: float
    by_mixing: float
    flow: float
    hold: float
    target: float

    @property
    def minutes(self) -> float:
        """The longer of the two rules."""
        return max(self.by_volumes, self.by_mixing)


def mixing_volumes(target: float, supply: float = 0.0) -> float:
    """Volume changes until the oxygen has fallen from air to `target` ppm, well mixed.

    Raises GeometryError where the argon itself holds as much.
    """
    if target <= supply:
        raise GeometryError(
            f"a purge to {target:g} ppm cannot be had with argon that holds {supply:g} ppm of oxygen: "
            "ask for more ppm (rates: purge_target) or use cleaner argon (rates: argon_oxygen)"
        )
    return max(math.log((AIR - supply) / (target - supply)), 0.0) if target < AIR else 0.0


def minutes(volume: float, changes: float, flow: float) -> float:
    """Time for a number of volume changes; volume in litres, flow in l/min."""
    if flow <= 0:
        raise GeometryError("the purge needs a flow above 0 l/min (rates: purge_flow)")
    return changes * volume / flow


def purgings(m: Manifold, welding: Welding) -> tuple[Purging, ...]:
    """One entry for each stage and purged volume, in the order of welding."""
    changes = float(m.tables.row("shop", "purge", "volumes")["value"])
    flow, target = rate(m, "purge_flow"), rate(m, "purge_target")
    mixed = mixing_volumes(target, rate(m, "argon_oxygen"))
    made = []
    for stage in welding.stages:
        pieces, closed = inside(m, welding, stage)
        volume = litres(m, pieces, closed)
        made.append(
            Purging(
                stage.stage, stage.joints, pieces, stage.purge.cap, stage.purge.gas_in, stage.purge.vent, volume,
                minutes(volume, changes, flow), minutes(volume, mixed, flow), flow, rate(m, "purge_hold"), target,
            )
        )  # fmt: skip
    return tuple(made)


def inside(m: Manifold, welding: Welding, stage: Stage) -> tuple[tuple[str, ...], frozenset[str]]:
    """Ids of the pieces purged together in a stage, and of all joints that are held by then."""
    closed = frozenset(j for s in welding.stages if s.stage <= stage.stage for j in s.joints)
    found = volumes(m, sorted(closed))
    best = next((v for v in found if v.purge == stage.purge and v.pieces & _touched(m, stage)), None)
    held = best.pieces if best else _touched(m, stage)
    return tuple(p.id for p in m.pieces if p.id in held), closed


def _touched(m: Manifold, stage: Stage) -> frozenset[str]:
    ids = {p.id for p in m.pieces}
    return frozenset(n for j in m.joints if j.id in stage.joints for n in j.between if n in ids)


def capped(p: Purging) -> str:
    """What is capped, in words."""
    return openings(p.cap)


def argon_in(p: Purging) -> str:
    """Where the argon goes in, in words."""
    return openings((p.gas_in,)) if p.gas_in else "any opening"


def vented(p: Purging) -> str:
    """Where it leaves, in words; a volume needs a second opening."""
    if p.vent:
        return f"vent at {openings((p.vent,))}"
    return "no second opening: drill a small vent, or leave the tape open beside the hose"


def openings(found: Sequence[PurgeOpening]) -> str:
    """Openings in words for the bench, a collector end last."""
    ranked = sorted(found, key=lambda o: o.kind == "collector end")
    return (
        ", ".join(f"{o.pieces[0]}'s end at {o.at}" if o.kind == "end" else o.words for o in ranked)
        or "nothing"
    )
