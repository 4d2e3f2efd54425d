"""What a search found, as the plain data that is written into a copy of the parameter file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from manifoldgen.geometry.path import Element, Straight

if TYPE_CHECKING:
    from manifoldgen.manifold.model import Collector, Manifold, Run
    from manifoldgen.parameters import Parameters
    from manifoldgen.parameters.splice import FoundPaths


_DIGITS = (4, 6, 8)  # of mm and degrees, as few as lose nothing


def copied(file: Path, raw: bytes, laid: Manifold, found: Manifold, out: Path) -> bytes:
    """The text of the job with what was found, for the place `out`.

    Numbers have four digits, and more where four would lose a limit that is kept exactly: a straight of 15 mm
    that is read as 14.99999 would be an error.
    """
    from manifoldgen.manifold.assemble import assemble
    from manifoldgen.parameters import load_text
    from manifoldgen.parameters.splice import spliced

    what = written(load_text(raw, file), laid, found)
    copy = b""
    for digits in _DIGITS:
        copy = spliced(raw, what, file.parent, out.parent, digits)
        if _short(assemble(load_text(copy, out))) <= _short(found):
            break
    return copy


def _short(m: Manifold) -> int:
    """How many limits that are kept to the last digit are missed."""
    from manifoldgen.checks import bend_not_in_stock, bend_too_tight, end_straights, length_spread

    checks = (end_straights.check, bend_not_in_stock.check, bend_too_tight.check, length_spread.check)
    return sum(len(check(m)) for check in checks)


def written(job: Parameters, laid: Manifold, found: Manifold) -> FoundPaths:
    """Paths and ring to write into the job.

    laid : the job as it is laid out, with its open paths.  found : the same with what the search found.
    """
    from manifoldgen.parameters.splice import FoundPaths

    paths, kept = {}, {}
    for before, after in zip(laid.runners, found.runners, strict=True):
        if before.todo is None or after.path is None:
            continue
        paths[after.number] = [_step(e) for e in after.path.elements]
        if before.todo == "close":
            kept[after.number] = _kept(before, after.path.elements)
    ring = (
        _ring(job, found.collectors[0]) if len(paths) == sum(r.todo is not None for r in laid.runners) else {}
    )
    return FoundPaths(paths, kept, ring)


def _step(element: Element) -> dict[str, float]:
    if isinstance(element, Straight):
        return {"straight": element.length}
    return {"bend": element.angle, "clr": element.clr, "roll": element.roll}


def _kept(before: Run, elements: tuple[Element, ...]) -> int:
    """How many elements before ``close`` are in the path as they were written."""
    same = [a == b for a, b in zip(before.written, elements, strict=False)]
    return same.index(False) if False in same else len(same)


def _ring(job: Parameters, c: Collector) -> dict[str, Any]:
    """Order, clock and mirror as far as the file leaves them open.

    A free order that is not the firing order stays ``free``: the ring is then read off the paths' ends, and the
    check knows that it was left free on purpose.
    """
    from manifoldgen.checks.firing_order import in_firing_order

    block = job.collector
    free = block.order == "free"
    open_clock = block.clock == "auto" and block.mirror is not True
    if free and open_clock and not in_firing_order(c.order, job.engine.firing_order):
        return {}
    ring: dict[str, Any] = {"order": list(c.order)} if free else {}
    if block.clock == "auto":
        ring["clock"] = float(c.clock)
    if block.mirror == "auto":
        ring["mirror"] = bool(c.mirror)
    return ring
