"""The 3-D library that the page carries: read from the installed package when the page is made, never kept here."""

from __future__ import annotations

import importlib.util
import re
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from manifoldgen.errors import MissingLibraryError

PLACE = "elements/scene/dist/index.js"  # inside the package
USED = ("OrbitControls", "THREE")  # what the viewer takes from it
_FORBIDDEN = ("</script", "<!--")  # would end the block it stands in
_ADVICE = "reinstall nicegui >= 3.18 to have the 3-D view"


@dataclass(frozen=True)
class Library:
    """The module's text and the notices that go with it.

    notice : the text of the permissive licence as the package ships it.  holders : whose it is.
    """

    text: str
    notice: str
    holders: tuple[str, ...]


@cache
def library() -> Library:
    """The installed module, without its source map's address.

    Raises
    ------
    MissingLibraryError : it is not there, or not what the viewer needs; one sentence.
    """
    path = place()
    text = re.sub(r"^//# sourceMappingURL=.*$", "", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
    lacking = [name for name in USED if name not in exports(text)]
    if lacking:
        raise MissingLibraryError(f"the 3-D library in nicegui has no {', '.join(lacking)}; {_ADVICE}")
    for bad in _FORBIDDEN:
        if bad in text:
            raise MissingLibraryError(
                f"the 3-D library in nicegui cannot stand in a page: it holds {bad}; {_ADVICE}"
            )
    own = [line.strip(" *") for line in text[:2000].splitlines() if "Copyright" in line]
    return Library(
        text.rstrip() + "\n",
        _notice(),
        (
            f"three.js: {own[0] if own else 'Copyright Three.js Authors'}",
            "tween.js: Copyright (c) 2010-2012 Tween.js authors",
            "stats.js: Copyright (c) 2009-2016 stats.js authors",
            "nicegui: Copyright (c) 2021 Zauberzeug GmbH",
        ),
    )


def place() -> Path:
    """Where the module lies; found without importing the package, which takes a second."""
    found = importlib.util.find_spec("nicegui")
    if found is None or not found.submodule_search_locations:
        raise MissingLibraryError(f"the package nicegui is not installed; {_ADVICE}")
    path = Path(found.submodule_search_locations[0], PLACE)
    if not path.is_file():
        raise MissingLibraryError(f"nicegui has no {PLACE}; {_ADVICE}")
    return path


def exports(text: str) -> frozenset[str]:
    """Names a module gives away, read from its last export list."""
    lists = re.findall(r"export\s*\{([^}]*)\}", text)
    return (
        frozenset(part.rpartition(" as ")[2].strip() for part in lists[-1].split(","))
        if lists
        else frozenset()
    )


def _notice() -> str:
    try:
        return distribution("nicegui").read_text("licenses/LICENSE") or ""
    except PackageNotFoundError:
        return ""
