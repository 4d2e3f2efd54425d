"""Libraries that the program stands on, and the sentence for each that is missing."""

from __future__ import annotations

import re

# shared library → Debian package that brings it
SYSTEM = {
    "libGL.so.1": "libgl1",
    "libX11.so.6": "libx11-6",
    "libexpat.so.1": "libexpat1",
    "libEGL.so.1": "libegl1",
}
DRAWING = ("libegl1", "libegl-mesa0", "libgl1-mesa-dri")  # what a picture needs without a screen

# module → package on PyPI
PYTHON = {
    "OCP": "cadquery-ocp",
    "cadquery": "cadquery",
    "casadi": "casadi",
    "ezdxf": "ezdxf",
    "jinja2": "jinja2",
    "manifold3d": "manifold3d",
    "nicegui": "nicegui",
    "numba": "numba",
    "numpy": "numpy",
    "pydantic": "pydantic",
    "reportlab": "reportlab",
    "rich": "rich",
    "scipy": "scipy",
    "trimesh": "trimesh",
    "typer": "typer",
    "vtkmodules": "vtk",
    "yaml": "pyyaml",
}
_SHARED = re.compile(r"(lib[\w+.-]+\.so[.\d]*): cannot open shared object file")


def sentence_for(error: ImportError) -> str | None:
    """Return what is missing and how to get it; None if the error is not about a library."""
    shared = _SHARED.search(str(error))
    if shared:
        name = shared[1]
        package = SYSTEM.get(name)
        how = f"apt-get install {package}" if package else f"install the package that holds {name}"
        return f"the system library {name} is missing: {how} (manifoldgen doctor lists all of them)"
    module = (error.name or "").partition(".")[0]
    if isinstance(error, ModuleNotFoundError) and module and module != "manifoldgen":
        package = PYTHON.get(module, module)
        return (
            f"the library {package} is missing: pip install {package} (manifoldgen doctor lists all of them)"
        )
    return None
