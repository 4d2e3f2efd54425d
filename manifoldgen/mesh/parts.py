"""Every piece of a manifold as triangles, as far as it is known; what cannot be drawn is said, never raised."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import GeometryError, ManifoldgenError
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import Vec, array, unit, vec
from manifoldgen.manifold.model import Branch, Collector, Flange, Manifold, Owner, Piece, Run
from manifoldgen.manifold.mouth import parent_of, searched
from manifoldgen.mesh import hub
from manifoldgen.mesh.cutting import largest, minus
from manifoldgen.mesh.flanges import flange
from manifoldgen.mesh.passages import layers, lofted
from manifoldgen.mesh.rings import FAIR, FINE, SAG, sleeve
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.mesh.tubes import rod, stations, tube

_SAME = 1e-6  # mm: two ends nearer than this are one


@dataclass(frozen=True, eq=False)
class DrawnPart:
    """One thing to draw.

    part : the part it belongs to.  piece : its id, or the part's name again.
    owner : the run or the collector it belongs to; None for a flange.
    """

    part: str
    piece: str
    owner: Owner | None
    mesh: Mesh


@dataclass(frozen=True, eq=False)
class DrawnScene:
    """All that could be drawn, and a sentence for each thing that could not."""

    drawn: tuple[DrawnPart, ...]
    missing: tuple[str, ...]


def part_names(m: Manifold) -> tuple[str, ...]:
    """The parts of a job, as the model's tree names them, without the collector's own pieces told apart."""
    names = [m.part_name(c) for c in m.collectors]
    ends = [f.name for f in m.flanges[1:]]
    return (
        m.head.name,
        *(r.name for r in m.runners),
        *names,
        m.outlet.name,
        *(b.run.name for b in m.branches),
        *ends,
    )


def draw(m: Manifold) -> DrawnScene:
    """Draw a manifold: its pieces where it is split, whole runs where it is not, flanges, collectors.

    Runs without a path are left out and named.
    """
    drawn: list[DrawnPart] = []
    missing = [f"{run.name}: its path is not known yet" for run in m.runs if run.path is None]
    for part, piece, owner, make in _to_do(m):
        try:
            mesh = make()
        except (ManifoldgenError, ValueError, ArithmeticError, LookupError, StopIteration) as error:
            told = error.beside(piece) if isinstance(error, ManifoldgenError) else str(error)
            missing.append(f"{piece}: {told or 'it does not fit its neighbours'}")
            continue
        if np.isfinite(mesh.vertices).all():
            drawn.append(DrawnPart(part, piece, owner, mesh))
        else:
            missing.append(f"{piece}: its numbers give no shape")
    return DrawnScene(tuple(drawn), tuple(missing))


def _to_do(m: Manifold) -> Iterator[tuple[str, str, Owner | None, Callable[[], Mesh]]]:
    for f in m.flanges:
        yield f.name, f.name, None, lambda f=f: flange(f, _axes(m, f))  # type: ignore[misc]
    done = {piece.owner for piece in m.pieces}
    for piece in m.pieces:
        make = _hub_piece if piece.owner.kind == "collector" else run_piece
        yield piece.part, piece.id, piece.owner, lambda p=piece, make=make: make(m, p)  # type: ignore[misc]
    for run in m.runs:
        if run.path is not None and run.owner not in done:
            whole = _whole(run, run.path)
            yield run.name, run.name, run.owner, lambda p=whole: run_piece(m, p)  # type: ignore[misc]
    for c in m.collectors:
        if c.owner not in done:
            name = m.part_name(c)
            plate = "transition plate" if c.kind == "merge" else "plate"
            yield name, f"{name} {plate}", c.owner, lambda c=c: hub.lid(c, "lid")  # type: ignore[misc]
            yield name, f"{name} cone", c.owner, lambda c=c: _drilled_cone(m, c, "cone")  # type: ignore[misc]


def _whole(run: Run, path: Path) -> Piece:
    """A run before `split`, as one piece."""
    covered = tuple(range(len(path.elements)))
    return Piece(run.name, run.name, path, run.section, covered, role="tube", owner=run.owner, number=1)


def run_piece(m: Manifold, piece: Piece) -> Mesh:
    """One piece of tube: its ends as the neighbours need them, the hole of a branch, a branch's saddle."""
    run = m.run_of(piece.owner)
    path, whole = piece.path, run.path if run else None
    if run is None or path is None or whole is None:
        raise GeometryError("its path is not known yet")
    begins = (
        bool(np.abs(array(path.start.at) - array(whole.start.at)).max() < _SAME) and piece.elements[:1] != ()
    )
    ends = bool(np.abs(array(path.end.at) - array(whole.end.at)).max() < _SAME)
    leaving = next((b for b in m.branches if b.run.name == run.name), None)
    if leaving is not None and begins:
        return _saddled(m, leaving, piece, path)
    start: tuple[HalfSpace, ...] = ()
    formed: Mesh | None = None
    if run.kind == "runner" and begins:
        path, start, formed = _on_head(m, run, path)
    if run.kind != "runner" and ends:
        path = _seated(m.turbo if run.kind == "outlet" else m.wastegate_flange, path)
    end: tuple[HalfSpace, ...] = ()
    if piece.inlet:
        c = next(c for c in m.collectors if piece.inlet in c.order)
        path = path.plus(Straight(piece.leg)) if piece.leg else path
        end = hub.inlet_planes(c, piece.inlet)
    mouths = [_bore(b) for b in m.branches if b.takeoff == run.name and b.element is not None]
    sag = FINE if piece.inlet else FAIR if mouths else SAG
    made = formed or tube(piece.id, path, piece.section, start=start, end=end, sag=sag)
    return minus(made, mouths) if mouths else made


def _on_head(m: Manifold, run: Run, path: Path) -> tuple[Path, tuple[HalfSpace, ...], Mesh | None]:
    """A runner's beginning: cut by the flange's face or its socket's floor, or formed from the port's shape."""
    head, d = m.head, array(path.start.direction)
    if head.transition == "tube":
        return path, (), _formed(m, run, path)
    sunk = head.seat_depth / float(d @ array(head.frame.z))
    if sunk:
        start = Pose(vec(array(path.start.at) - sunk * d), path.start.direction, path.start.normal)
        path = Path(start, (Straight(sunk), *path.elements))
    return path, (HalfSpace(path.start.at, vec(-array(head.frame.z))),), None


def _formed(m: Manifold, run: Run, path: Path) -> Mesh:
    """The piece that begins as the port's shape and is round from the end of the transition on."""
    head = m.head
    opening = next(p.opening for p in m.ports if p.number == run.number)
    length, d = head.transition_length, array(path.start.direction)
    first = path.elements[0] if path.elements else None
    straight = first.length if isinstance(first, Straight) else 0.0
    if straight < length:
        raise GeometryError(
            f"its first straight of {straight:.1f} mm is shorter than its formed end of {length:.1f} mm"
        )
    at = array(path.start.at) + length * d
    rest = Path(
        Pose(vec(at), path.start.direction, path.start.normal),
        (Straight(straight - length), *path.elements[1:]),
    )
    stands = stations(rest, run.section.radius)
    flat = array(head.frame.x) - float(array(head.frame.x) @ d) * d  # the flange's x, square to the tube
    x = unit(array([float(flat @ stands[0][1]), float(flat @ stands[0][2])]))
    turn = array([[x[0], x[1]], [-x[1], x[0]]])
    walls = []
    for grown, radius in ((run.section.wall, run.section.radius), (0.0, run.section.bore_radius)):
        mouth, top = lofted(opening, grown, radius, head.frame.z, head.frame)
        foot = head.frame.out(np.column_stack([mouth, np.full(len(mouth), head.thickness)]))
        tops = [centre + top @ turn @ array([u, v]) for centre, u, v in stands]
        walls.append([*layers(foot, tops[0]), *tops[1:]])
    return sleeve(run.name, walls[0], walls[1])


def _saddled(m: Manifold, branch: Branch, piece: Piece, path: Path) -> Mesh:
    """A branch's first piece, cut back to the outside of what it leaves."""
    back = Path(
        Pose(branch.root, branch.axis, path.start.normal), (Straight(branch.wall_length), *path.elements)
    )
    ends = branch.run.path is not None and path.length >= branch.run.path.length - _SAME
    long = _seated(m.wastegate_flange, back) if ends else back
    made = tube(piece.id, long, branch.run.section, sag=FINE)
    return largest(minus(made, [_outside(m, branch)]))


def _outside(m: Manifold, branch: Branch) -> Mesh:
    """The outside of what a branch leaves, full."""
    parent = parent_of(m, branch)
    if parent is None:
        return hub.skin(m.collectors[0])
    return rod(parent.run.name, parent.path, parent.run.section.radius, FINE)


def _bore(branch: Branch) -> Mesh:
    """The hole a branch's bore makes in what it leaves."""
    pose = Pose.heading(branch.root, branch.axis)
    return rod("bore", Path(pose, (Straight(searched(branch)),)), branch.run.section.bore_radius, FINE)


def _hub_piece(m: Manifold, piece: Piece) -> Mesh:
    c = m.collector_of(piece.owner)
    if c is None:
        raise GeometryError("there is no collector that it belongs to", piece.id)
    return _drilled_cone(m, c, piece.id) if piece.role == "cone" else hub.lid(c, piece.id)


def _drilled_cone(m: Manifold, c: Collector, name: str) -> Mesh:
    made = hub.cone(c, name)
    holes = [_bore(b) for b in m.branches if b.element is None and c is m.collectors[0]]
    return minus(made, holes) if holes else made


def _seated(f: Flange | None, path: Path) -> Path:
    return path.plus(Straight(f.seat_depth)) if f is not None and f.seat_depth else path


def _axes(m: Manifold, f: Flange) -> tuple[Vec, ...]:
    if f is not m.head:
        return ()
    by_place = {p.opening.at: p.direction for p in m.ports}
    return tuple(by_place[o.at] for o in f.openings)
