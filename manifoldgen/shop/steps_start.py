"""The first steps: shop sheets and gauges on the real thing, a printed model tried on the engine, stock bought."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.manifold.model import Flange, Manifold
from manifoldgen.shop.aids import Family, gauge_pins
from manifoldgen.shop.rates import rate
from manifoldgen.shop.steps_prints import Printing
from manifoldgen.shop.work_step import Step

SHEETS = "print-sheets"
STOCK = "measure-stock"
GAUGED, REACHED, TRIED = "gauge-head", "try-reach", "try-model"
_TRIALS: dict[Family, str] = {"stud gauge": GAUGED, "reach test piece": REACHED, "test-fit model": TRIED}
_WHOLE: tuple[Family, ...] = ("tool dummies", "test-fit model", "dummies")


def first_steps(m: Manifold, printing: Printing) -> Iterator[Step]:
    """Sheets and gauge laid on the real parts, reach piece and model tried on the engine, stock ordered and measured."""
    yield Step(
        SHEETS, "desk", "print the shop sheets at 100 % and measure the 100 mm bar", rate(m, "print_papers")
    )
    for flange in m.flanges:
        yield Step(f"check-{code(flange)}", "engine", _lay(m, flange), rate(m, "check_paper"), (SHEETS,), flange.name)  # fmt: skip
    yield from printing.step("stud gauge", (SHEETS,))
    if needed := printing.needs("stud gauge"):
        yield Step(GAUGED, "engine", _gauge(m), rate(m, "use_gauge"), needed, m.head.name)
    yield from _trials(m, printing)
    what = f"order or fetch the stock: {_stock_words(m)}"
    yield Step("order-stock", "store", what, rate(m, "order_stock"), proven(m, printing))
    what = (
        "measure OD, wall, CLR and legs of what has come; other sizes go into the job's stock, "
        "then work the job out and print its sheets again"
    )
    yield Step(STOCK, "store", what, rate(m, "measure_stock"), ("order-stock",))


def proven(m: Manifold, printing: Printing) -> tuple[str, ...]:
    """What comes before any steel is bought or cut: sheet and gauge on the head, model and reach piece tried."""
    return (SHEETS, f"check-{code(m.head)}", *(step for f, step in _TRIALS.items() if printing.needs(f)))


def code(flange: Flange) -> str:
    """A flange in the id of a step."""
    return flange.name.replace(" ", "-")


def _trials(m: Manifold, printing: Printing) -> Iterator[Step]:
    """Reach piece and model, each printed and then tried."""
    gauged = (SHEETS, GAUGED) if printing.needs("stud gauge") else (SHEETS,)
    yield from printing.step("reach test piece", gauged)
    if needed := printing.needs("reach test piece"):
        what = (
            f"try the real ratchet on {printing.named('reach test piece')}, with a real stud and nut in it: it must swing as the "
            "table of nuts says"
        )
        yield Step(REACHED, "bench", what, rate(m, "try_reach"), needed)
    for family in _WHOLE:
        yield from printing.step(family, gauged)
    if printing.needs("test-fit model"):
        tools = printing.named("tool dummies")
        tried = (
            f"every nut and every weld with its tool or with {tools}" if tools else "every nut with its tool"
        )
        around = ", every printed dummy in its place" if printing.needs("dummies") else ""
        what = (
            f"bolt the printed model to the engine, turbo on{around}: look for room all around it, try {tried}; what is in the "
            "way is changed in the file and worked out again, before steel is bought or cut"
        )
        yield Step(TRIED, "engine", what, rate(m, "try_model"), printing.needs(*_WHOLE))


def _lay(m: Manifold, flange: Flange) -> str:
    if flange.vband:
        return f"try the {flange.name} (V-band) on its mate"
    lying = "the real head" if flange is m.head else "its mate"
    return f"lay the 1:1 sheet of the {flange.name} on {lying}: all holes and ports must line up"


def _gauge(m: Manifold) -> str:
    how = "its pins must enter every thread" if gauge_pins(m) else "it must drop over every stud"
    return (
        f"lay the printed stud gauge on the real head: {how}, all ports inside its port outlines; re-measure before editing "
        "the file"
    )


def _stock_words(m: Manifold) -> str:
    count: dict[str, int] = {}
    for taken in m.cutting.taken:
        count[taken.item.name] = count.get(taken.item.name, 0) + 1
    return ", ".join(f"{n} × {name}" for name, n in count.items()) or "see the stock sheet"
