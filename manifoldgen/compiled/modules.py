"""The modules that hold compiled routines, in lists to be compiled side by side."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

PACKAGE = Path(__file__).parents[1]
_KERNEL = re.compile(r"^@kernel\(.*?\)\ndef (\w+)", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True)
class Modules:
    """Modules that share much, named without the package, and about how long they take, s of one processor."""

    seconds: float
    names: tuple[str, ...]

    @property
    def kernels(self) -> tuple[str, ...]:
        """Their kernels as they are named in the cache."""
        return tuple(kernel for name in self.names for kernel in kernels(name))


CHECK = (
    # the closure comes first, so that the other list has what both need (`_gjk`) by then
    Modules(15, ("routing._closure_kernels", "access._torch_gap", "access._search_pose", "access._masks")),
    Modules(11, ("access._gjk", "access._kernels", "access._swing", "access._approach", "access._slide")),
    Modules(6, ("geometry._kernels", "geometry._search")),
)
# besides, where a scan stands beside the engine or the engine moves
SCANS = (Modules(5, ("geometry._mesh_kernels", "geometry._movement_kernels")),)
# besides, where paths are searched for
SEARCH = (
    Modules(7, ("routing._gap_kernels", "routing._path_kernels", "routing._joint_kernels")),
    Modules(5, ("routing._pool_kernels", "routing._scan_kernels")),
)
ALL = tuple(name for some in (*CHECK, *SCANS, *SEARCH) for name in some.names)


def source(name: str) -> Path:
    """The file of a module that is named without the package."""
    return PACKAGE.joinpath(*name.split(".")).with_suffix(".py")


def kernels(name: str) -> list[str]:
    """The kernels of a module as they are named in the cache; read off its text, as importing it would compile them."""
    return [f"{name}.{found}" for found in _KERNEL.findall(source(name).read_text(encoding="utf-8"))]
