"""What other packages add: their entry points, asked in a fixed order, a fault of theirs kept from becoming ours.

    manifoldgen.checks   checks of their own       read by `checks.foreign`
    manifoldgen.prints   printed parts             read by `prints.foreign`
    manifoldgen.sheets   pages of the build sheets read by `drawing.foreign`

docs/extending.md tells how to write one.
"""

from __future__ import annotations

import contextlib
import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

if TYPE_CHECKING:
    from importlib.metadata import EntryPoint

GROUPS = ("manifoldgen.checks", "manifoldgen.prints", "manifoldgen.sheets")
_MOST = 300  # characters of a foreign error that are told in a sentence; its traceback holds all of it

T = TypeVar("T")


@dataclass(frozen=True)
class Extension:
    """One entry point of another package.

    name : of the entry point.  package, version : of what brings it.  point : loads what it names.
    """

    name: str
    package: str
    version: str
    point: EntryPoint

    def __str__(self) -> str:
        return f"{self.name} of {self.package} {self.version}"


@dataclass(frozen=True)
class Fault:
    """An extension that could not be loaded, raised, or gave what cannot be used."""

    extension: Extension
    error: BaseException

    @property
    def told(self) -> str:
        """Package, entry point and exception in one line."""
        lines = "".join(traceback.format_exception_only(self.error)).splitlines()
        said = lines[-1 if isinstance(self.error, SyntaxError) else 0]
        return f"{self.extension}: {said if len(said) <= _MOST else said[:_MOST] + ' …'}"


@dataclass(frozen=True)
class Gathered(Generic[T]):
    """What the extensions of one group gave, in the order of their names, and what failed."""

    made: tuple[T, ...]
    faults: tuple[Fault, ...]


def extensions(group: str) -> tuple[Extension, ...]:
    """Every entry point of a group that is installed, by name, then by package."""
    from importlib.metadata import entry_points

    found = []
    for point in entry_points(group=group):
        package = point.dist
        name, version = (package.name, package.version) if package else ("a package", "without metadata")
        found.append(Extension(point.name, name, version, point))
    return tuple(sorted(found, key=lambda e: (e.name, e.package)))


def loaded(group: str, use: Callable[[Any], T]) -> Gathered[T]:
    """What `use` makes of each object that the entry points of a group name.

    Whatever goes wrong in loading or in `use` is that extension's fault, and the next one is asked. What an
    extension prints goes to stderr: stdout holds results only.
    """
    made: list[T] = []
    faults: list[Fault] = []
    for extension in extensions(group):
        try:
            with contextlib.redirect_stdout(sys.stderr):
                made.append(use(extension.point.load()))
        except (Exception, SystemExit) as error:  # noqa: BLE001  foreign code may raise anything
            faults.append(Fault(extension, error))
    return Gathered(tuple(made), tuple(faults))


def asked(group: str, job: object, accept: Callable[[Any, Any], T]) -> Gathered[T]:
    """As `loaded`, each object called with the job: the one place where makers of parts and sheets are handed it.

    accept : judges the object and its answer, and gives what is taken of it.
    """
    return loaded(group, lambda made: accept(made, made(job)))
