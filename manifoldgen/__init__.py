"""manifoldgen: tubular turbo manifolds from one parameter file.

    import manifoldgen as mg

    d = mg.design("job.yaml")               # routed, cut into pieces, measured, judged; a mapping works too
    for finding in d.findings:
        print(finding)
    mg.page(d).write("page.html")           # in a notebook it shows itself
    solids = mg.solids.build(d.manifold)    # CadQuery: .assembly, .solid, .lumen

Step by step: `load`, `assemble`, `route`, `split`, `check`, each of them the same as in `design`.

Importing the package loads neither the CAD kernel nor numba; each name is fetched when first used.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from manifoldgen import solids
    from manifoldgen.checks.finding import Finding
    from manifoldgen.designs import Design, design
    from manifoldgen.designs.steps import check, route, split
    from manifoldgen.errors import ManifoldgenError
    from manifoldgen.manifold.assemble import assemble
    from manifoldgen.manifold.model import Manifold
    from manifoldgen.parameters.load import load
    from manifoldgen.report.page import page

__version__ = "0.1.0"
__all__ = [
    "Design",
    "Finding",
    "Manifold",
    "ManifoldgenError",
    "assemble",
    "check",
    "design",
    "load",
    "page",
    "route",
    "solids",
    "split",
]

_HOME = {
    "Design": ("manifoldgen.designs", "Design"),
    "Finding": ("manifoldgen.checks.finding", "Finding"),
    "Manifold": ("manifoldgen.manifold.model", "Manifold"),
    "ManifoldgenError": ("manifoldgen.errors", "ManifoldgenError"),
    "assemble": ("manifoldgen.manifold.assemble", "assemble"),
    "check": ("manifoldgen.designs.steps", "check"),
    "design": ("manifoldgen.designs", "design"),
    "load": ("manifoldgen.parameters.load", "load"),
    "page": ("manifoldgen.report.page", "page"),
    "route": ("manifoldgen.designs.steps", "route"),
    "solids": ("manifoldgen.solids", None),
    "split": ("manifoldgen.designs.steps", "split"),
}


def __getattr__(name: str) -> Any:  # noqa: ANN401 - a module's names are of any type
    if name not in _HOME:
        raise AttributeError(f"module 'manifoldgen' has no attribute '{name}'")
    module, attribute = _HOME[name]
    found = importlib.import_module(module)
    return found if attribute is None else getattr(found, attribute)


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])
