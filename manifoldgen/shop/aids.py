"""Which printed parts a job has use for and what each serves: known from numbers, before any is made.

`prints/` makes these and no others; the work list says where each is used. Without a printer there are none.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from manifoldgen import units
from manifoldgen.access.fasteners import Fastener, fastener
from manifoldgen.access.results import StudAccess
from manifoldgen.access.studs import clamped
from manifoldgen.access.tools import Tool, tools
from manifoldgen.access.torch import torches
from manifoldgen.geometry.shapes import Box, Capsule, Cone, Cylinder, Plate
from manifoldgen.manifold.model import Branch, Collector, Joint, Manifold, Piece, Stud
from manifoldgen.pieces.blanks import nested
from manifoldgen.pieces.hub import prefix
from manifoldgen.shop.aid_trouble import no_stand, no_window, too_short, too_tight
from manifoldgen.shop.aid_worth import Group, rank, wanted
from manifoldgen.shop.mill import MillInlet, MillSheet
from manifoldgen.shop.tables import ShopTables

Family = Literal[
    "stud gauge", "drill guides", "reach test piece", "tool dummies", "test-fit model", "dummies", "saw guides",
    "joint cradles", "mill nests", "wastegate window", "bench stand",
]  # fmt: skip
PLAIN = Box | Cylinder | Capsule | Cone | Plate  # shapes that a dummy is printed of
_SAME = 1e-6  # mm


@dataclass(frozen=True)
class Aid:
    """A printed part, or a set of parts that are one thing.

    family : of parts that are printed together.  words : its name.  serves : the pieces, joints or flanges it is
    used on.  several : a set; how many files it takes is the printer's bed's to say, all their names begin with its.
    lacks : why it cannot be made; empty where it can.  group : when it is worth printing.
    """

    family: Family
    words: str
    serves: tuple[str, ...] = ()
    several: bool = False
    lacks: str = ""
    group: Group = "nice to have"

    @property
    def name(self) -> str:
        """As its file is called, or how the names of all its files begin."""
        return file_name(self.words)

    @property
    def step(self) -> str:
        """The step of the work list in which it is printed."""
        return f"print-{file_name(self.family)}"


def file_name(words: str) -> str:
    """Words as a file's name: lower case, digits and hyphens."""
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")


def aids(shop: ShopTables) -> tuple[Aid, ...]:
    """The printed parts that a shop wants of a job, group by group, in a group in the order they are of use."""
    m = shop.manifold
    if not m.workshop.printer:
        return ()
    groups = wanted(m.workshop.print_only)
    return tuple(sorted((a for a in _all(m, shop) if a.group in groups), key=lambda a: rank(a.group)))


def _all(m: Manifold, shop: ShopTables) -> tuple[Aid, ...]:
    """Every printed part; what finds a wrong number first comes first."""
    return (
        *_gauges(m),
        *_trials(m, shop.hands.studs if shop.hands else ()),
        *_guides(shop),
        *(_cradle(j, pieces) for j, pieces in cradled(m)),
        *_nests(m, shop.mill),
        *_windows(m),
        Aid("bench stand", "stand", (m.turbo.name,), several=True, lacks=no_stand(m)),
    )


def _gauges(m: Manifold) -> Iterator[Aid]:
    if any(s.flange == m.head.name for s in m.studs):
        yield Aid("stud gauge", "stud gauge", (m.head.name,), several=True, group="print first")
    for flange in m.flanges:
        if flange.holes and flange.openings:
            yield Aid("drill guides", f"drill guide {flange.name}", (flange.name,), several=True)


def gauge_pins(m: Manifold) -> bool:
    """Whether the stud gauge has pins for the head's threads instead of holes over its studs: where bolts are used."""
    return any(s.flange == m.head.name and s.kind != "stud" for s in m.studs)


def _trials(m: Manifold, reach: Sequence[StudAccess]) -> Iterator[Aid]:
    """What is tried before steel is cut: the hardest stud, the tools, the whole manifold, what stands around it."""
    of_head = [s for s in m.studs if s.flange == m.head.name]
    if reach and of_head:
        stud = hardest(of_head, reach)
        yield Aid("reach test piece", f"reach piece {stud.id}", (stud.id,), group="print first")
    for ratchet in dummy_ratchets(m):
        yield Aid("tool dummies", ratchet.words)
    yield from (Aid("tool dummies", words) for words in torch_words(m))
    yield Aid("test-fit model", "model", tuple(r.name for r in m.runs), several=True, group="helps")
    plain = tuple(o.name for o in m.obstacles if isinstance(o.shape, PLAIN))
    if m.workshop.model.dummies and plain:
        yield Aid("dummies", "dummy", plain, several=True, group="helps")


def hardest(studs: Sequence[Stud], reach: Sequence[StudAccess]) -> Stud:
    """A stud out of reach, else the one with the least clearance."""
    found = {a.id: a for a in reach}
    return min(studs, key=lambda s: (found[s.id].reachable, found[s.id].clearance_mm, s.id))


@dataclass(frozen=True)
class DummyRatchet:
    """A ratchet with its socket to try on one kind of nut or head.  size : across its flats (or of its key), mm."""

    tool: Tool
    on: Fastener
    size: float

    @property
    def words(self) -> str:
        """Its name."""
        return f"tool {units.across_flats(self.size)} {self.tool.drive or ''} ratchet".replace("/", "-")


def dummy_ratchets(m: Manifold) -> tuple[DummyRatchet, ...]:
    """One for every size of nut or head on the head flange that a ratchet takes."""
    made: dict[float, DummyRatchet] = {}
    for stud in (s for s in m.studs if s.flange == m.head.name):
        f = fastener(stud, m.tables, clamped(m, stud))
        size = f.across_flats or f.key
        ratchet = next((t for t in tools(f, m.tables) if t.ratchet and not t.extension), None)
        if ratchet is not None:
            made.setdefault(size, DummyRatchet(ratchet, f, size))
    return tuple(made.values())


def torch_words(m: Manifold) -> tuple[str, str]:
    """The names of the torch dummy's two parts."""
    torch = torches(m.tables)[0].name
    return f"torch {torch} head", f"torch {torch} handle"


def _guides(shop: ShopTables) -> Iterator[Aid]:
    for group in shop.saw_guides:
        lacks = too_tight(shop.manifold, group.cut)
        for words, cuts in ((group.words, group.served), *((group.stop(c), c) for c in group.narrower)):
            pieces = tuple(cut.piece for cut in cuts)
            yield Aid("saw guides", words, pieces, lacks=lacks, group="print first")


def cradled(m: Manifold) -> tuple[tuple[Joint, tuple[Piece, Piece]], ...]:
    """Every butt joint between two pieces of tube, with the one that ends there and the one that begins."""
    tubes = {p.id: p for p in m.pieces if p.path is not None}
    butts = [j for j in m.joints if j.kind == "butt" and set(j.between) <= set(tubes)]
    return tuple((j, (tubes[j.between[0]], tubes[j.between[1]])) for j in butts)


def _cradle(joint: Joint, pieces: tuple[Piece, Piece]) -> Aid:
    lacks = too_short(pieces[0], ends=True) or too_short(pieces[1], ends=False)
    bends = all(piece.path is not None and piece.path.bends for piece in pieces)
    group: Group = "helps" if bends else "nice to have"
    return Aid("joint cradles", f"cradle {joint.id}", (joint.id,), lacks=lacks, group=group)


def _nests(m: Manifold, mill: Sequence[MillSheet]) -> Iterator[Aid]:
    for sheet, collector in zip(mill, m.collectors, strict=True):
        if nested(m, collector) and sheet.inlets:
            held = tuple(i.piece for i in in_nest(sheet))
            words = nest_words(m, collector)
            yield from (Aid("mill nests", name, held, group="print first") for name in words)


def nest_words(m: Manifold, collector: Collector) -> tuple[str, str]:
    """The names of a collector's nest and of the collar in it."""
    code = prefix(len(m.collectors), collector.name)
    return f"nest {code}", f"nest {code} collar"


def in_nest(sheet: MillSheet) -> tuple[MillInlet, ...]:
    """The inlets with straight enough for the nest and its collar; the others are cut by hand."""
    return tuple(i for i in sheet.inlets if i.clamp + i.extra > sheet.grip + sheet.collar - _SAME)


def _windows(m: Manifold) -> Iterator[Aid]:
    for branch in m.branches:
        if branch.run.path is None or branch.element is None:
            continue  # a cone takes the branch's wrap
        joints = tuple(j.id for j in m.joints if j.kind == "saddle" and j.owner == branch.run.owner)
        for words in window_words(m, branch):
            yield Aid("wastegate window", words, joints, lacks=no_window(m, branch), group="helps")


def window_code(m: Manifold, branch: Branch) -> str:
    """What is engraved in a branch's window."""
    return "W" if len(m.branches) == 1 else f"W{m.branches.index(branch) + 1}"


def window_words(m: Manifold, branch: Branch) -> tuple[str, str]:
    """The names of its two half-shells."""
    code = window_code(m, branch)
    return f"window {code} A", f"window {code} B"
