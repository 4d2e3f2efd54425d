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
    from manifoldgen.designs.make import design
    from manifoldgen.designs.model import Design
    from manifoldgen.designs.steps import check, route, split
    from manifoldgen.errors import (
        GeometryError,
        ManifoldgenError,
        MissingLibraryError,
        OutputError,
        ParameterError,
        PathError,
        SolidError,
    )
    from manifoldgen.geometry.path import Bend, Path, Straight
    from manifoldgen.geometry.pose import Pose
    from manifoldgen.manifold.assemble import assemble
    from manifoldgen.manifold.model import Manifold
    from manifoldgen.parameters.load import load
    from manifoldgen.reports.numbers import report
    from manifoldgen.reports.page import Page, page
    from manifoldgen.results.write import Built, build

__version__ = "0.1.0"
__all__ = [
    "Bend",
    "Built",
    "Design",
    "Finding",
    "GeometryError",
    "Manifold",
    "ManifoldgenError",
    "MissingLibraryError",
    "OutputError",
    "Page",
    "ParameterError",
    "Path",
    "PathError",
    "Pose",
    "SolidError",
    "Straight",
    "assemble",
    "build",
    "check",
    "design",
    "load",
    "page",
    "report",
    "route",
    "solids",
    "split",
]

_HOME = {
    "Bend": ("manifoldgen.geometry.path", "Bend"),
    "Built": ("manifoldgen.results.write", "Built"),
    "Design": ("manifoldgen.designs.model", "Design"),
    "Finding": ("manifoldgen.checks.finding", "Finding"),
    "GeometryError": ("manifoldgen.errors", "GeometryError"),
    "Manifold": ("manifoldgen.manifold.model", "Manifold"),
    "ManifoldgenError": ("manifoldgen.errors", "ManifoldgenError"),
    "MissingLibraryError": ("manifoldgen.errors", "MissingLibraryError"),
    "OutputError": ("manifoldgen.errors", "OutputError"),
    "Page": ("manifoldgen.reports.page", "Page"),
    "ParameterError": ("manifoldgen.errors", "ParameterError"),
    "Path": ("manifoldgen.geometry.path", "Path"),
    "PathError": ("manifoldgen.errors", "PathError"),
    "Pose": ("manifoldgen.geometry.pose", "Pose"),
    "SolidError": ("manifoldgen.errors", "SolidError"),
    "Straight": ("manifoldgen.geometry.path", "Straight"),
    "assemble": ("manifoldgen.manifold.assemble", "assemble"),
    "build": ("manifoldgen.results.write", "build"),
    "check": ("manifoldgen.designs.steps", "check"),
    "design": ("manifoldgen.designs.make", "design"),
    "load": ("manifoldgen.parameters.load", "load"),
    "page": ("manifoldgen.reports.page", "page"),
    "report": ("manifoldgen.reports.numbers", "report"),
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
