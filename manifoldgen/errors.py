"""Every error a user can meet, as one tree.

    ManifoldgenError            something the user can mend; str() is one clear sentence
    ├── ParameterError          the parameter file is wrong (carries file, line, column)
    ├── GeometryError           numbers that cannot be a tube, a bend, a collector
    ├── PathError               a path that cannot be walked, closed or snapped
    ├── SolidError              the kernel made no acceptable solid (carries the part)
    ├── OutputError             a result could not be written
    ├── MissingLibraryError     a library is not installed (names the package)
    └── catalogue.Unknown       a name that is not in the catalogue, or a row that lacks a value (says what to add)

All of them end a command with exit code 2 and one sentence, never a traceback.
"""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen.public import public


@dataclass(frozen=True)
class Where:
    """A place in a parameter file: 1-based line and column; `file` is empty for the job's own file."""

    line: int
    column: int
    file: str = ""


@public
class ManifoldgenError(Exception):
    """Base of all errors that are the user's to mend.

    Parameters
    ----------
    reason : one clear sentence.
    part : what it is about, where that is one part as on the sheets (``runner 2``); str() begins with it.
    """

    def __init__(self, reason: str, part: str = "") -> None:
        super().__init__(f"{part}: {reason}" if part else reason)
        self.reason = reason
        self.part = part

    def beside(self, part: str) -> str:
        """The sentence where it stands beside this part's name: without that name."""
        return self.reason if self.part == part else str(self)


@public
class ParameterError(ManifoldgenError):
    """One or more mistakes in a parameter file.

    Parameters
    ----------
    problems : the sentences, each already with ``file:line:column``.
    """

    def __init__(self, *problems: str) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


@public
class GeometryError(ManifoldgenError, ValueError):
    """Numbers that describe no possible part; names both sides and the values."""


@public
class PathError(ManifoldgenError, ValueError):
    """A path that cannot be walked, closed or snapped; says by how much."""


@public
class SolidError(ManifoldgenError):
    """The kernel's result for one part failed acceptance.

    Parameters
    ----------
    part : the part's name as on the sheets (``runner 2``).
    reason : what was measured and what was expected.
    """

    def __init__(self, part: str, reason: str) -> None:
        super().__init__(reason, part)


@public
class OutputError(ManifoldgenError, OSError):
    """A result could not be written; the previous one is untouched."""


@public
class MissingLibraryError(ManifoldgenError, ImportError):
    """A library is missing; the sentence names the package that brings it."""
