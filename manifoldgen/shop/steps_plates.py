"""The steps of what is cut from plate and sheet: flanges, transition plate (or plate) and cone, until each can be fitted."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.manifold.model import Collector, Flange, Manifold
from manifoldgen.shop.cut_plates import CutPlate
from manifoldgen.shop.prep import prep
from manifoldgen.shop.rates import rate
from manifoldgen.shop.steps_prints import Printing
from manifoldgen.shop.steps_start import STOCK, code, proven
from manifoldgen.shop.tables import ShopTables
from manifoldgen.shop.work_step import Step


def flange_steps(shop: ShopTables, printing: Printing) -> Iterator[Step]:
    """Every flange cut, bored, drilled, its openings shaped, then deburred and clean; one operation after the other."""
    m = shop.manifold
    plates = {p.name: p for p in shop.plates}
    cut = [(f, plates[f.name]) for f in m.flanges if not f.vband]
    for f, plate in cut:
        needs = (f"check-{code(f)}", *proven(m, printing))
        yield Step(f"cut-{code(f)}", "laser shop", _cut_words(f, plate), rate(m, "send_flange"), _once(needs), f.name)  # fmt: skip
    last = {f.name: f"cut-{code(f)}" for f, _ in cut}
    for f, plate in cut:
        if f.fit == "socket":
            what, last[f.name] = f"{f.name}, {', '.join(plate.remarks)}", f"bore-{code(f)}"
            minutes = len(f.openings) * rate(m, "bore_socket")
            yield Step(last[f.name], "mill", what, minutes, (f"cut-{code(f)}",), f.name)
    yield from printing.step("drill guides", proven(m, printing))
    for f, _ in cut:
        if f.holes:
            sizes = ", ".join(f"{d:g}" for d in sorted({h.diameter for h in f.holes}))
            guide = printing.serving("drill guides", f.name)
            through = f", each piloted through the bush of {guide[0]} first" if guide else ""
            what = f"drill or ream {len(f.holes)} holes of the {f.name}: {sizes} mm{through}"
            needs = (last[f.name], *(printing.needs("drill guides") if guide else ()))
            last[f.name] = f"drill-{code(f)}"
            yield Step(last[f.name], "drill", what, len(f.holes) * rate(m, "drill_hole"), needs, f.name)
    shaped = {f.name: tuple(_shape(m, f, plate, last[f.name])) for f, plate in cut}
    yield from (s for steps in shaped.values() for s in steps)
    for f, _ in cut:
        what = (
            f"deburr the {f.name}, flatten its face, clean it: bright metal {_band(m, f):g} mm around every opening on "
            "the tube side, wiped with solvent"
        )
        needs = tuple(s.id for s in shaped[f.name]) or (last[f.name],)
        yield Step(f"ready-{code(f)}", "belt sander", what, rate(m, "deburr_flange"), needs, f.name)
    for f in m.flanges:
        if f.vband:
            what = f"have the {f.name} (V-band) with its clamp, clean it {_band(m, f):g} mm inside and outside its tube end"
            yield Step(f"ready-{code(f)}", "store", what, rate(m, "send_flange"), (f"check-{code(f)}",), f.name)  # fmt: skip


def collector_steps(shop: ShopTables) -> Iterator[Step]:
    """Transition plate (or plate) and cone of every collector, cut, formed, dressed, clean."""
    m = shop.manifold
    plates = shop.plates[-len(m.collectors) :] if m.collectors else ()
    for c, plate in zip(m.collectors, plates, strict=True):
        first, cone = m.lid_of(c), m.cone_of(c)
        if first is not None:
            yield from _plate(m, c, first.id, plate)
        if cone is not None:
            yield from _cone(m, c, cone.id)


def _cut_words(f: Flange, plate: CutPlate) -> str:
    what = f"have the {f.name} cut from {plate.file}: {f.thickness:g} mm {f.material}"
    unsure = [p.id for p in plate.passages if p.unsure]
    if unsure:
        what += "; look first whether the tube's bore stands inside the opening"
        what += f" of port {', '.join(unsure)}" if any(unsure) else ""
    return what


def _shape(m: Manifold, f: Flange, plate: CutPlate, before: str) -> Iterator[Step]:
    """A step for every opening that is not the tube's bore yet."""
    for p in plate.passages:
        if p.ground:
            at = f" of port {p.id}" if p.id else ""
            step = f"shape-{code(f)}" + (f"-{p.id}" if p.id else "")
            how = "blend it to the tube's bore where that stands inside it" if p.unsure else p.ground
            what = f"shape the opening{at} in the {f.name}: {how}; deburr it inside"
            yield Step(step, "bench", what, rate(m, "shape_opening"), (before,), f.name)


def _plate(m: Manifold, c: Collector, piece: str, plate: CutPlate) -> Iterator[Step]:
    kind = "transition plate" if c.kind == "merge" else "plate"
    what = f"cut the {kind} {piece} from {plate.file}, {plate.thickness:g} mm {plate.material}; mark its id on it"
    yield Step(f"cut-{piece}", "laser shop", what, rate(m, "cut_sheet"), (STOCK,), piece)
    dressed = "".join(f"{remark}; " for remark in plate.remarks)
    what = f"{kind} {piece}: {dressed}deburr it, clean both sides {_clean(m, c.section.wall):g} mm from every edge"
    yield Step(f"clean-{piece}", "bench", what, rate(m, "dress_sheet"), (f"cut-{piece}",), piece)


def _cone(m: Manifold, c: Collector, piece: str) -> Iterator[Step]:
    what = f"cut the cone {piece} from its flat pattern, deburr it, mark its id and its seam"
    yield Step(f"cut-{piece}", "laser shop", what, rate(m, "cut_sheet"), (STOCK,), piece)
    yield Step(f"roll-{piece}", "bench", f"roll the cone {piece} until its seam meets", rate(m, "roll_cone"), (f"cut-{piece}",), piece)  # fmt: skip
    what = f"tack and weld the long seam of the cone {piece}, argon behind it"
    yield Step(f"seam-{piece}", "torch", what, rate(m, "weld_setup") + rate(m, "dress_joint"), (f"roll-{piece}",), piece)  # fmt: skip
    what = (
        f"cone {piece}: dress its seam, round it again, true and deburr both ends, clean them "
        f"{_clean(m, c.outlet.wall):g} mm inside and outside"
    )
    yield Step(f"clean-{piece}", "bench", what, rate(m, "dress_sheet"), (f"seam-{piece}",), piece)


def _band(m: Manifold, f: Flange) -> float:
    return _clean(m, f.tube.wall)


def _clean(m: Manifold, wall: float) -> float:
    """The band that is cleaned beside a weld, mm."""
    return prep(m.tables, wall).clean


def _once(needs: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(needs))
