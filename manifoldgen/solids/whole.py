"""The whole manifold: its parts one by one, then joined into one solid, and the gas inside it.

    parts, each accepted → do any overlap? → tubes glued whole face to whole face → flanges glued on → accepted

Glue does not see overlap, so the clearance is asked of the numbers first. A part that cannot be built is named
in `errors`; the others are still made, only the joined solid and the lumen are then left out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal, ParamSpec, TypeVar

import cadquery as cq

from manifoldgen.errors import ManifoldgenError, SolidError
from manifoldgen.geometry.vectors import Array, Vec, array
from manifoldgen.manifold.model import Manifold
from manifoldgen.solids import _occ, parts
from manifoldgen.solids.acceptance import Acceptance, accept
from manifoldgen.solids.branch import Saddle
from manifoldgen.solids.clearance import overlaps
from manifoldgen.solids.collector import build_collector
from manifoldgen.solids.parts import SolidPart
from manifoldgen.solids.pieced import piece_solids
from manifoldgen.solids.tree import Colour, assembled, colours
from manifoldgen.wording import counted

if TYPE_CHECKING:
    import trimesh

P = ParamSpec("P")
T = TypeVar("T")


@dataclass(frozen=True)
class Gate:
    """Where the gas passes an outer face: centre, outward normal and outline of the opening, mm."""

    at: Vec
    normal: Vec
    outline: Array


@dataclass(frozen=True, repr=False)
class Solids:
    """Everything built of one manifold.

    parts : by name (``head flange``, ``runner 1`` …).  pieces : by id (``R1-P1``), if the manifold is split.
    part_of : the part a piece belongs to.  colours : of the parts.
    accepted : what each part, the whole (``manifold``) and the ``lumen`` were accepted by.
    errors : what could not be built or joined, in order; empty when all is sound.
    left_out : runs that have no path yet, with the reason.
    """

    name: str
    parts: dict[str, cq.Shape]
    pieces: dict[str, cq.Shape]
    part_of: dict[str, str]
    colours: dict[str, Colour]
    accepted: dict[str, Acceptance]
    errors: tuple[SolidError, ...]
    left_out: dict[str, str]
    openings: dict[str, Gate]
    joined: cq.Shape | None
    gas: cq.Shape | None

    def __repr__(self) -> str:
        """Its name, what there is of it, and whether it is sound."""
        state = "sound" if self.joined is not None and not self.errors else counted(len(self.errors), "error")
        return f"<solids of {self.name}: {counted(len(self.parts), 'part')}, {counted(len(self.pieces), 'piece')}, {state}>"

    @property
    def solid(self) -> cq.Shape:
        """The whole as one solid; raises the first SolidError where there is none."""
        return self._must(self.joined)

    @property
    def lumen(self) -> cq.Shape:
        """The gas side as one solid; raises the first SolidError where there is none."""
        return self._must(self.gas)

    @property
    def acceptance(self) -> Acceptance:
        """What the joined solid was accepted by; raises the first SolidError where there is none."""
        self._must(self.joined)
        return self.accepted[WHOLE]

    @property
    def mesh(self) -> trimesh.Trimesh:
        """Triangles of the joined solid at 0.1 mm and 5°: those it was accepted by."""
        return self.acceptance.mesh

    @cached_property
    def assembly(self) -> cq.Assembly:
        """The parts by name, a run's pieces under it."""
        return assembled(self.name, self.parts, self.pieces, self.colours, self.part_of)

    def _must(self, shape: cq.Shape | None) -> cq.Shape:
        if shape is not None:
            return shape
        if self.errors:
            raise self.errors[0]
        left = ", ".join(f"{name} ({reason})" for name, reason in self.left_out.items())
        raise SolidError(WHOLE, f"not joined: {left} left out")


WHOLE, LUMEN = "manifold", "lumen"


def build(m: Manifold) -> Solids:
    """Build everything of a manifold that can be built.

    Nothing is raised for a part that fails: it is named in the answer's `errors`.
    """
    made = _Made(m)
    for run in m.runs:
        if run.path is None:
            made.left_out[run.name] = run.trouble or f"its path is still {run.todo or 'open'}"
    made.flanges()
    made.tubes()
    made.keep(WHOLE, made.clear)
    joined = gas = None
    if not made.errors and not made.left_out:
        joined = made.keep(WHOLE, made.joined)
        gas = made.keep(LUMEN, made.gas)
    pieces, errors = piece_solids(m, made.saddles)
    made.errors += errors
    return Solids(
        name=m.name,
        parts={name: made.parts[name].shape for name in _names(m) if name in made.parts},
        pieces=pieces,
        part_of=_parts_of(m, pieces),
        colours=colours(m),
        accepted=made.accepted,
        errors=tuple(made.errors),
        left_out=made.left_out,
        openings=gates(m),
        joined=joined,
        gas=gas,
    )


class _Made:
    """What has been made so far, and what went wrong."""

    def __init__(self, m: Manifold) -> None:
        self.m = m
        self.parts: dict[str, SolidPart] = {}
        self.accepted: dict[str, Acceptance] = {}
        self.errors: list[SolidError] = []
        self.left_out: dict[str, str] = {}
        self.saddles: dict[str, Saddle] = {}  # by the parent's name

    def keep(self, part: str, make: Callable[P, T], *args: P.args, **named: P.kwargs) -> T | None:
        """The result of `make`, or None and an error that names the part."""
        try:
            return make(*args, **named)
        except SolidError as error:
            self.errors.append(error)
        except ManifoldgenError as error:
            plain = SolidError(part, error.beside(part))
            plain.__cause__ = error
            self.errors.append(plain)
        return None

    def add(self, part: SolidPart | None) -> None:
        """Take one part in, if it was made."""
        if part is not None:
            self.parts[part.name] = part
            self.accepted[part.name] = part.accepted

    def flanges(self) -> None:
        """All flanges."""
        for flange in self.m.flanges:
            self.add(self.keep(flange.name, parts.flange_part, self.m, flange))

    def tubes(self) -> None:
        """Collectors, branches, runners and the outlet."""
        m = self.m
        built = {c.name: self.keep(m.part_name(c), build_collector, c) for c in m.collectors}
        collectors = {name: made for name, made in built.items() if made is not None}
        for b in m.branches:
            if b.run.path is None:
                continue
            saddle = self.keep(b.run.name, parts.saddle_of, m, b, collectors)
            if saddle is not None:
                self.saddles[b.takeoff] = saddle
                self.add(self.keep(b.run.name, parts.branch_part, m, b, saddle))
        for run in (*m.runners, m.outlet):
            if run.path is not None and run.path.length > 0:
                tube = self.keep(run.name, parts.run_tube, m, run)
                if tube is not None:
                    self.add(self.keep(run.name, parts.run_part, run.name, tube, self.saddles.get(run.name)))
        for c in m.collectors:
            if c.name in collectors:
                name = m.part_name(c)
                saddle = self.saddles.get("cone") if c is m.collectors[0] else None
                self.add(self.keep(name, parts.collector_part, c, name, collectors[c.name], saddle))

    def clear(self) -> None:
        """Record an error for every two parts that share space."""
        for found in overlaps(self.m):
            self.errors.append(SolidError(found.a, str(found)))

    def joined(self) -> cq.Shape:
        """All parts glued face to face; accepted."""
        genus = 1 + sum((p.accepted.genus_expected or 0) - 1 for p in self.parts.values())
        volume = sum(p.accepted.volume for p in self.parts.values())
        whole, self.accepted[WHOLE] = self._glued("joins", WHOLE, genus, volume)
        return whole

    def gas(self) -> cq.Shape:
        """The bores and passages as one solid; accepted."""
        volume = sum(_occ.volume(s) for p in self.parts.values() for s in p.gas)
        whole, self.accepted[LUMEN] = self._glued("gas", LUMEN, 0, volume)
        return whole

    def _glued(
        self, what: Literal["joins", "gas"], name: str, genus: int, volume: float
    ) -> tuple[cq.Shape, Acceptance]:
        """Tubes glued face to face, then the flanges onto their feet; accepted."""
        plates = {f.name for f in self.m.flanges}
        tubes = [s for n, p in self.parts.items() if n not in plates for s in getattr(p, what)]
        flanges = [s for n, p in self.parts.items() if n in plates for s in getattr(p, what)]
        inside = _occ.fuse(tubes, glue="full")

        def accepted(glue: _occ.Glue) -> tuple[cq.Shape, Acceptance]:
            whole = _occ.fuse([inside, *flanges], glue=glue)
            return whole, accept(name, whole, genus, volume, self_intersection=name == WHOLE)

        try:
            return accepted("full")
        except SolidError:
            return accepted("shift")  # a tube stands over an edge of its flange: they share part of a face


def gates(m: Manifold) -> dict[str, Gate]:
    """Where the gas enters and leaves: ``inlet_1`` …, ``outlet``, ``wastegate``."""
    found = {}
    for port in m.ports:
        ring = parts.mating_outline(m.head, port.opening)
        found[f"inlet_{port.number}"] = Gate(port.at, _minus(m.head.frame.z), ring)
    ends = [("outlet", m.turbo), *([("wastegate", m.wastegate_flange)] if m.wastegate_flange else [])]
    for name, flange in ends:
        ring = parts.mating_outline(flange, flange.openings[0])
        x, y, z = ring.mean(axis=0).tolist()
        found[name] = Gate((x, y, z), flange.frame.z, ring)
    return found


def _names(m: Manifold) -> list[str]:
    """All parts' names in the order they are listed: along the gas, then the branch."""
    hubs = [m.part_name(c) for c in m.collectors]
    tubes = [
        *(r.name for r in m.runners),
        *hubs,
        m.outlet.name,
        m.turbo.name,
        *(b.run.name for b in m.branches),
    ]
    return [m.head.name, *tubes, *([m.wastegate_flange.name] if m.wastegate_flange else [])]


def _parts_of(m: Manifold, pieces: dict[str, cq.Shape]) -> dict[str, str]:
    """The part of every piece, where all pieces of that part could be made."""
    whole = {p.part for p in m.pieces} - {p.part for p in m.pieces if p.id not in pieces}
    return {p.id: p.part for p in m.pieces if p.part in whole and p.part in _names(m)}


def _minus(v: Vec) -> Vec:
    x, y, z = (-array(v)).tolist()
    return (x, y, z)
