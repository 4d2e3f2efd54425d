"""A run as a chain for the saw: stretches of straight tube with a turn between each and the next.

    stretch ─ turn ─ stretch ─ turn ─ … ─ stretch [─ inlet]

A stretch has no length where two bends meet. Straights written one after the other are one stretch.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.model import Collector, Manifold, Run
from manifoldgen.pieces.blanks import Blank, inlet_of
from manifoldgen.pieces.ends import formed, past_end, past_start
from manifoldgen.pieces.hub import leg_length
from manifoldgen.pieces.part import SLIVER, ends
from manifoldgen.pieces.trims import trim_of


@dataclass(frozen=True)
class Stretch:
    """Straight tube from arc length `start` to `end` mm.

    before, after : mm that a tube cut for its beginning or its end is longer than net (shrink, slanted ends, trim).
    shrink : the same at a weld inside it.  inlet : its end is a collector's inlet, cut from bar: `leg` mm
    follow it.  blank : what the mill asks where its end is a slanted inlet.  trim : of what is added, mm that are
    trimmed at the beginning of an inlet's tube.
    """

    start: float
    end: float
    before: float
    after: float
    shrink: float
    inlet: bool = False
    leg: float = 0.0
    blank: Blank | None = None
    trim: float = 0.0

    @property
    def length(self) -> float:
        """Net, mm."""
        return self.end - self.start

    def leg_cut(self, net: float) -> float:
        """The leg of the bend before, mm as cut, where it takes all of the end, `net` mm."""
        blank = self.blank.from_line(net) if self.blank else 0.0
        return max(net + self.after, blank)


@dataclass(frozen=True)
class ChainBend:
    """A bend of the run: the number of its element, where it begins and ends on the run, degrees and CLR."""

    element: int
    start: float
    end: float
    angle: float
    clr: float


@dataclass(frozen=True)
class Chain:
    """A run's stretches and turns; one stretch more than there are turns.

    stub : a further stretch after a weld that the collector asks for, the inlet's tube; or None.
    """

    run: Run
    path: Path
    stretches: tuple[Stretch, ...]
    turns: tuple[ChainBend, ...]
    stub: Stretch | None = None


def chain_of(m: Manifold, run: Run, path: Path, allowed: Allowances) -> Chain:
    """The chain of a run with a path."""
    collector = next((c for c in m.collectors if run.number in c.order), None) if run.number else None
    shrink = allowed.shrink(run.section.wall)
    marks = ends(path)
    turns = [
        ChainBend(k, marks[k], marks[k + 1], e.angle, e.clr)
        for k, e in enumerate(path.elements)
        if isinstance(e, Bend)
    ]
    starts = [0.0, *(t.end for t in turns)]
    stops = [*(t.start for t in turns), path.length]
    trim = trim_of(m, run, allowed)
    last = shrink + past_end(m, run) + trim
    stretches = [Stretch(a, b, shrink, shrink, shrink) for a, b in zip(starts, stops, strict=True)]
    past = past_start(m, run)
    stretches[0] = replace(stretches[0], before=shrink + past)
    blank = inlet_of(m, run)
    whole = blank and blank.moved(past - formed(m)) if len(stretches) == 1 else blank
    if collector is None or collector.kind == "bundle":
        stretches[-1] = replace(stretches[-1], after=last, blank=whole)
        return Chain(run, path, tuple(stretches), tuple(turns))
    stub = _stub(collector, path)
    leg = leg_length(collector)
    end = stretches[-1]
    if stub is None or stub >= end.length - SLIVER:
        stretches[-1] = replace(end, after=last, inlet=True, leg=leg, blank=whole, trim=trim)
        return Chain(run, path, tuple(stretches), tuple(turns))
    weld = end.end - stub
    stretches[-1] = Stretch(end.start, weld, end.before, shrink, shrink)
    inlet = Stretch(weld, end.end, shrink, last, shrink, inlet=True, leg=leg, blank=blank, trim=trim)
    return Chain(run, path, tuple(stretches), tuple(turns), inlet)


def _stub(collector: Collector, path: Path) -> float | None:
    """How much of the last straight belongs to the inlet; None for all of it."""
    last = path.elements[-1] if path.elements else None
    if not isinstance(last, Straight):
        return 0.0
    return collector.stub
