"""manifoldgen: tubular turbo manifolds from one parameter file.

    import manifoldgen as mg

    job = mg.load("job.yaml")      # a mapping works too
    m = mg.assemble(job)           # everything the file fixes, in the bench frame
    m = mg.route(m)                # the paths it leaves open
    m = mg.split(m)                # pieces of stock and the joints between them
    for finding in mg.check(m):
        print(finding)
    mg.page(m).write("page.html")  # in a notebook it shows itself
    solids = mg.solids.build(m)    # CadQuery: .assembly, .solid, .lumen

Importing the package loads neither the CAD kernel nor numba; each name is fetched when first used.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from manifoldgen import solids
    from manifoldgen.checks import run_all as check
    from manifoldgen.checks.finding import Finding
    from manifoldgen.checks.judged import route
    from manifoldgen.errors import ManifoldgenError
    from manifoldgen.manifold.assemble import assemble
    from manifoldgen.manifold.model import Manifold
    from manifoldgen.parameters.load import load
    from manifoldgen.pieces.split import split
    from manifoldgen.report.page import page

__version__ = "0.1.0"
__all__ = [
    "Finding",
    "Manifold",
    "ManifoldgenError",
    "assemble",
    "check",
    "load",
    "page",
    "route",
    "solids",
    "split",
]

_HOME = {
    "Finding": ("manifoldgen.checks.finding", "Finding"),
    "Manifold": ("manifoldgen.manifold.model", "Manifold"),
    "ManifoldgenError": ("manifoldgen.errors", "ManifoldgenError"),
    "assemble": ("manifoldgen.manifold.assemble", "assemble"),
    "check": ("manifoldgen.checks", "run_all"),
    "load": ("manifoldgen.parameters.load", "load"),
    "page": ("manifoldgen.report.page", "page"),
    "route": ("manifoldgen.checks.judged", "route"),
    "solids": ("manifoldgen.solids", None),
    "split": ("manifoldgen.pieces.split", "split"),
}


def __getattr__(name: str) -> Any:  # noqa: ANN401 - a module's names are of any type
    if name not in _HOME:
        raise AttributeError(f"module 'manifoldgen' has no attribute '{name}'")
    module, attribute = _HOME[name]
    found = importlib.import_module(module)
    return found if attribute is None else getattr(found, attribute)


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])
