"""The one object everything is read off: a `Manifold`, laid out in the bench frame, pure numbers, frozen.

    Manifold ── head flange, turbo flange, wastegate flange     Flange (openings, holes, outline)
             ── ports, studs
             ── runs: runners, outlet, wastegate branch          Run (a Path with a tube section)
             ── collectors                                       Collector (ring, mitres, cone)
             ── obstacles, limits, stock
             ── pieces, joints                                   added by `pieces.split`

Lengths mm, angles degrees. "Changing" a manifold makes a new one (`dataclasses.replace`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from manifoldgen.catalogue import STANDARD, Catalogue
from manifoldgen.errors import Where
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.path import Element, Path
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.shapes import Shape
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.bolted import FixKind, Flange, Hole, Opening, Port, Section, Stud, VBand
from manifoldgen.manifold.cut import (
    CuttingPlan,
    Joint,
    JointKind,
    Owner,
    Piece,
    PieceRole,
    RunKind,
    Slice,
    StockItem,
    Taken,
)
from manifoldgen.manifold.survey.result import SurveyResult
from manifoldgen.manifold.workshop import STANDARD_WORKSHOP, Workshop
from manifoldgen.public import public
from manifoldgen.readers.scan import Scan
from manifoldgen.wording import counted

__all__ = [
    "Branch",
    "Collector",
    "CuttingPlan",
    "Engine",
    "FixKind",
    "Flange",
    "Hole",
    "Joint",
    "JointKind",
    "Limits",
    "Manifold",
    "Obstacle",
    "Opening",
    "Owner",
    "Piece",
    "PieceRole",
    "Port",
    "Run",
    "RunKind",
    "Section",
    "Slice",
    "StockItem",
    "Stud",
    "Taken",
    "VBand",
    "Workshop",
]


@dataclass(frozen=True)
class Run:
    """A named centreline with a tube section: a runner, the outlet, a wastegate branch.

    path : None while `todo` says what is missing.
    written : the elements as far as they were written, before a ``close``.
    todo : ``auto`` or ``close`` while the path is to be found, else None.
    number : the cylinder of a runner, else 0.
    miss_mm, miss_deg : how far the written path ends from its inlet (0 where it has none).
    snapped_mm : how far the end was moved to land exactly (architecture: snap, then exact).
    measured : exists already; never snapped.
    trouble : why the path could not be closed, one sentence; None where it could.
    where : its place in the parameter file.
    """

    name: str
    kind: RunKind
    section: Section
    start: Pose
    path: Path | None
    number: int = 0
    target: Pose | None = None
    written: tuple[Element, ...] = ()
    todo: Literal["auto", "close"] | None = None
    measured: bool = False
    miss_mm: float = 0.0
    miss_deg: float = 0.0
    snapped_mm: float = 0.0
    where: Where | None = None
    trouble: str | None = None

    @property
    def owner(self) -> Owner:
        """What its pieces and joints belong to."""
        return Owner(self.kind, self.name)


@dataclass(frozen=True)
class Collector:
    """One collector: the ring of inlets, their mitres, the lid and the cone.

    frame : origin at the ring plane's centre, z along the flow, y towards ring angle 0
        (so ring angle a lies at cos a · y - sin a · x: right-handed about z).
    order : cylinder numbers round the ring, met from `clock` on (left-handed if `mirror`).
    clock : ring angle of order[0], degrees.
    ring_radius : rho, mm.  merge_depth : z_c, mm from the ring plane.  join_depth : z_j (0 for bundle).
    length : ring plane to where the outlet tube begins.  rim_radius : the cone's outer radius at z_c.
    cone_half_angle : degrees, positive where the cone narrows.
    stub : mm of tube upstream of the ring plane that belong to the inlet; None = the whole last straight.
    true_gap : least wall gap between neighbouring inlets at the ring plane, mm.
    clock_free, mirror_free : left open in the file, for the routing to choose.
    """

    name: str
    kind: Literal["merge", "bundle"]
    frame: Frame
    section: Section
    outlet: Section
    order: tuple[int, ...]
    order_rule: Literal["firing", "free", "list"]
    clock: float
    mirror: bool
    half_angle: float
    gap: float
    ring_radius: float
    join_depth: float
    merge_depth: float
    length: float
    rim_radius: float
    cone_half_angle: float
    stub: float | None
    true_gap: float
    inlets: tuple[Pose, ...]  # in the order of `order`, on the ring plane, travelling with the gas
    clock_free: bool = False
    mirror_free: bool = False

    @property
    def owner(self) -> Owner:
        """What its pieces and joints belong to."""
        return Owner("collector", self.name)

    def inlet(self, cylinder: int) -> Pose:
        """The inlet pose of one cylinder."""
        return self.inlets[self.order.index(cylinder)]

    @property
    def ring_angles(self) -> tuple[float, ...]:
        """Ring angle of every inlet, degrees, in the order of `order`."""
        step = (-360.0 if self.mirror else 360.0) / len(self.order)
        return tuple(self.clock + step * k for k in range(len(self.order)))


@dataclass(frozen=True)
class Branch:
    """The wastegate branch where it leaves its parent.

    takeoff : the run it leaves (``outlet``, ``runner 2``) or ``cone``.  element : index of the bend in the run's
        path (None on the cone).  run : the branch's own run; its path starts where its axis leaves
        the parent's outer wall, `wall_length` mm downstream of the `root` inside the parent.
    aim : degrees between incoming flow and branch axis.  seat : valve seat bore, mm.
    shift : mm the axis is moved outwards from the first tangent point.
    """

    takeoff: str
    element: int | None
    run: Run
    root: Vec
    axis: Vec
    wall_length: float
    aim: float
    shift: float
    seat: float


@dataclass(frozen=True)
class Obstacle:
    """Something to stay clear of.

    mounted : ``engine``, or ``chassis``: the engine moves against it (`Engine.movement`).
    joined : runs that end on it (a branch on its valve): their ends may touch it, an overlap is named.
    surveyed : the surveyed points that its shape hangs on.
    """

    name: str
    shape: Shape | Scan
    clearance: float
    heat_sensitive: bool = False
    mounted: Literal["engine", "chassis"] = "engine"
    where: Where | None = None
    joined: tuple[str, ...] = ()
    surveyed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Limits:
    """What the checks ask for, mm (degrees for `end_tolerance`'s angle); the parameter file's `limits`."""

    gap: float
    gap_at_merge: float
    merge_zone: float
    gap_at_flange: float
    flange_zone: float
    ramp: float
    gap_other: float
    self_gap: float
    flange_straight: float
    inlet_straight: float
    end_tolerance: float
    tool_margin: float
    torch_margin: float
    heat_gap: float


@dataclass(frozen=True)
class Engine:
    """What the engine does, how it stands, and how it moves on its mounts (None: it does not)."""

    firing_order: tuple[int, ...]
    up: Vec
    displacement_cc: float | None = None
    rpm: float | None = None
    boost_kpa: float | None = None
    movement: Movement | None = None


@dataclass(frozen=True)
class Origin:
    """The parameter file that a job was read from.  file : its whole path.  sha256 : of what stood in it."""

    file: str
    sha256: str


@public
@dataclass(frozen=True, repr=False)
class Manifold:
    """Everything about one job, laid out in the bench frame.

    >>> import manifoldgen as mg
    >>> m = mg.assemble(mg.load("cq_scripts/jobs/snow_groomer_three.yaml"))
    >>> [run.name for run in m.runs]
    ['runner 1', 'runner 2', 'runner 3', 'outlet']
    """

    name: str
    description: str
    engine: Engine
    head: Flange
    turbo: Flange
    wastegate_flange: Flange | None
    ports: tuple[Port, ...]
    studs: tuple[Stud, ...]
    collectors: tuple[Collector, ...]
    runners: tuple[Run, ...]
    outlet: Run
    branches: tuple[Branch, ...]
    obstacles: tuple[Obstacle, ...]
    limits: Limits
    stock: tuple[StockItem, ...]
    equal_within: float | None = None  # fraction; None = shortest wanted
    where: Mapping[str, Where] = field(default_factory=dict)
    unused: tuple[str, ...] = ()  # what the file says and nothing can read
    assumed: tuple[str, ...] = ()  # sizes taken from the catalogue at low confidence
    drain: tuple[Vec, Vec] | None = None  # oil drain: port on the turbo, return port
    pieces: tuple[Piece, ...] = ()
    joints: tuple[Joint, ...] = ()
    tables: Catalogue = STANDARD  # reference tables with the shop's own rows over them
    survey: SurveyResult | None = None  # tape and gauge worked out, where the job has a survey
    workshop: Workshop = STANDARD_WORKSHOP
    drawn: tuple[
        tuple[str, Where | None], ...
    ] = ()  # what was read from drawings, and where the file names them
    cutting: CuttingPlan = field(default_factory=CuttingPlan)
    origin: Origin | None = field(default=None, compare=False)  # None for a job that came from no file

    def __repr__(self) -> str:
        """Its name and how much there is of it, instead of all of it."""
        found = [(self.runners, "runner"), (self.collectors, "collector"), (self.branches, "branch")]
        told = [counted(len(things), word) for things, word in found if things]
        told += (
            [counted(len(self.pieces), "piece"), counted(len(self.joints), "joint")] if self.pieces else []
        )
        return f"<manifold {self.name}: {', '.join(told)}>"

    @property
    def flanges(self) -> tuple[Flange, ...]:
        """All flanges, head first."""
        rest = (self.wastegate_flange,) if self.wastegate_flange else ()
        return (self.head, self.turbo, *rest)

    @property
    def runs(self) -> tuple[Run, ...]:
        """Runners, outlet and branches, in that order."""
        return (*self.runners, self.outlet, *(b.run for b in self.branches))

    def part_name(self, collector: Collector) -> str:
        """A collector as a part: ``collector``, or with its own name where there are several."""
        return "collector" if len(self.collectors) == 1 else f"collector {collector.name}"

    def run_of(self, owner: Owner) -> Run | None:
        """The run that owns a piece or a joint; None where that is a collector."""
        return next((r for r in self.runs if r.owner == owner), None)

    def collector_of(self, owner: Owner) -> Collector | None:
        """The collector that owns a piece or a joint; None where that is a run."""
        return next((c for c in self.collectors if c.owner == owner), None)

    def inlets_of(self, collector: Collector) -> tuple[Piece, ...]:
        """The pieces that end in a collector, in the order of the pieces."""
        return tuple(p for p in self.pieces if p.inlet in collector.order)

    def lid_of(self, collector: Collector) -> Piece | None:
        """A collector's lid, or the plate of a bundle; None before `split`."""
        return self._sheet(collector, "lid", "plate")

    def cone_of(self, collector: Collector) -> Piece | None:
        """A collector's cone; None before `split`."""
        return self._sheet(collector, "cone")

    def _sheet(self, collector: Collector, *roles: PieceRole) -> Piece | None:
        return next((p for p in self.pieces if p.owner == collector.owner and p.role in roles), None)
