"""The weld plan: every joint with its place in the order, its preparation, tacks and what it takes; every purge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from manifoldgen.access.hands import Hands
from manifoldgen.access.results_welds import WeldAccess
from manifoldgen.access.welds import Weld, curve_of
from manifoldgen.manifold.cut import JOINT_WORDS
from manifoldgen.manifold.model import Joint, JointKind, Manifold, Owner
from manifoldgen.shop import filler, purging
from manifoldgen.shop.prep import Prep, filler_metal, prep
from manifoldgen.shop.purging import Purging
from manifoldgen.shop.rates import assumed, rate
from manifoldgen.shop.tacks import HELD, Tacks, tacks
from manifoldgen.shop.weldorder import ranked

_FILLETS = {"flange", "lid", "plate", "saddle", "crotch"}
_RUNS = 4  # arc starts of a weld round the tube: it is welded in quarters
_STAR = 2.0  # tube walls: how far round the centre point is welded, times π


@dataclass(frozen=True)
class PlannedWeld:
    """One joint of the weld map.

    owner : the run or the collector it belongs to.  joins : the two things.  stage, rank : when (0 where reach was not measured).  tier : how awkward, or None.
    apart : before the next parts go on.  stuck : it cannot be fully welded in any sequence; way_out says what does.
    length : mm of seam.  metal : the rod.  purged : the inside is.
    """

    id: str
    kind: JointKind
    owner: Owner
    joins: tuple[str, str]
    stage: int
    rank: int
    tier: str | None
    apart: bool
    stuck: bool
    way_out: str | None
    length: float
    tacks: Tacks
    prep: Prep
    metal: str
    purged: bool
    takes: filler.Consumed
    minutes: float

    @property
    def words(self) -> str:
        """The kind as the shop says it."""
        return JOINT_WORDS[self.kind]


@dataclass(frozen=True)
class WeldPlan:
    """Welds in the order of the joints, purges in the order of welding, and what was assumed.

    purge_l : litres of argon through the tubes, before and while welding.
    """

    welds: tuple[PlannedWeld, ...]
    purges: tuple[Purging, ...]
    assumed: tuple[str, ...]
    purge_l: float

    @property
    def ordered(self) -> tuple[PlannedWeld, ...]:
        """The welds as they are made."""
        return tuple(sorted(self.welds, key=lambda w: w.rank))

    def weld(self, joint: str) -> PlannedWeld:
        """One weld by its joint's id."""
        return next(w for w in self.welds if w.id == joint)

    @property
    def grams(self) -> float:
        """Filler in all seams."""
        return sum(w.takes.grams for w in self.welds)

    @property
    def torch_l(self) -> float:
        """Argon through the torch, litres."""
        return sum(w.takes.torch_l for w in self.welds)

    def rods(self) -> dict[tuple[str, float], float]:
        """Metres of rod to have, by metal and diameter."""
        found: dict[tuple[str, float], float] = {}
        for w in self.welds:
            key = (w.metal, w.prep.rod)
            found[key] = found.get(key, 0.0) + w.takes.rod_m
        return found


def weld_plan(m: Manifold, hands: Hands | None) -> WeldPlan:
    """The plan of a split manifold.

    hands : what the torch reaches; without it there are no stages, no purge, and the order is a plain one.

    Raises
    ------
    GeometryError : the purge asked for cannot be had (`purging.mixing_volumes`).
    """
    welding = hands.welding if hands else None
    known = {w.id: w for w in welding.welds} if welding else {}
    groups = welding.stages if welding else ()
    rank = ranked(m, {i: n for n, group in enumerate(groups) for i in group.joints})
    made = tuple(_planned(m, j, known.get(j.id), rank[j.id]) for j in m.joints)
    purges = purging.purgings(m, welding) if welding and any(w.purged for w in made) else ()
    factors = ("tack_step_ring", "tack_step_seam", *purging.FIGURES, *filler.FACTORS)
    return WeldPlan(made, purges, assumed(m, *factors), _purge_litres(purges, made))


def _purge_litres(purges: Sequence[Purging], made: Sequence[PlannedWeld]) -> float:
    minutes = {w.id: w.minutes for w in made}
    return sum(p.flow * p.minutes + p.hold * sum(minutes[j] for j in p.joints) for p in purges)


def _planned(m: Manifold, joint: Joint, access: WeldAccess | None, rank: int) -> PlannedWeld:
    sides = curve_of(m, joint)
    length = _length(m, joint, sides)
    wall = _wall(m, joint)
    ready = prep(m.tables, wall)
    first, second = _materials(m, joint)
    metal, purged = filler_metal(m, first, second)
    held = joint.kind in {
        "inner seam",
        "star",
    }  # by the tacks of the outer valleys: they are open from inside only
    placed = HELD if held else tacks(m, length=length, closed=sides[0].closed)
    if joint.kind in _FILLETS:
        area = filler.fillet_area(wall, rate(m, "fillet_leg"))
    else:
        area = filler.butt_area(wall, ready.gap, rate(m, "bead_width"), rate(m, "bead_height"))
    density = m.tables.material(first).density
    starts = len(placed.at) + (_RUNS if sides[0].closed else 1)
    takes = filler.consumed(m, length=length, area=area, rod=ready.rod, density=density, starts=starts)
    tier = access.tier if access else None
    slow = {"awkward": rate(m, "weld_awkward"), "stretch": rate(m, "weld_stretch")}.get(tier or "", 0.0)
    return PlannedWeld(
        id=joint.id,
        kind=joint.kind,
        owner=joint.owner,
        joins=_joins(joint),
        stage=access.stage if access else 0,
        rank=rank,
        tier=tier,
        apart=access.apart if access else False,
        stuck=access.stuck if access else False,
        way_out=access.way_out if access else None,
        length=length,
        tacks=placed,
        prep=ready,
        metal=metal,
        purged=purged,
        takes=takes,
        minutes=rate(m, "weld_setup") + slow + takes.arc_min,
    )


def _joins(joint: Joint) -> tuple[str, str]:
    """The two things; a centre point and a transition plate join all inlets."""
    if joint.kind == "star":
        return ("all inlets", "each other")
    if joint.kind == "lid":
        return ("all inlets", joint.between[1])
    return joint.between


def _length(m: Manifold, joint: Joint, sides: Sequence[Weld]) -> float:
    """Length of a seam, mm: π OD of a butt square to its tube, else along its curve."""
    if joint.kind == "star":
        return math.pi * _STAR * _wall(m, joint)
    if joint.kind == "butt":
        return 2 * math.pi * joint.radius
    return sides[0].length


def _wall(m: Manifold, joint: Joint) -> float:
    """The thinnest tube wall at a joint: it sets gap, heat and rod."""
    walls = [p.section.wall for p in m.pieces if p.id in joint.between]
    return min(walls) if walls else m.head.tube.wall


def _materials(m: Manifold, joint: Joint) -> tuple[str, str]:
    """Materials of the two things, the tube's first."""
    known = {p.id: p.section.material for p in m.pieces} | {f.name: f.material for f in m.flanges}
    found = [known[name] for name in joint.between if name in known]
    tube = next((p.section.material for p in m.pieces if p.id in joint.between), found[0])
    other = next((f.material for f in m.flanges if f.name in joint.between), found[-1])
    return tube, other
