"""docs/findings.md, read off the registry: `python -m manifoldgen.checks.handbook docs/findings.md` writes it anew."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from manifoldgen.checks.finding import FindingKind
from manifoldgen.checks.registry import KINDS

_HEAD = """\
# Findings

<!-- written by `python -m manifoldgen.checks.handbook docs/findings.md`; change the texts beside the checks -->

What `check` and `build` may tell, by name; `manifoldgen explain NAME` says the same in the terminal. An *error* has to
be mended before anything is cut, a *warning* is to be read and decided, a *note* only told. The sentence of a finding
has the numbers and the place; here stands what is true of all findings of its name. Other packages may add findings of
their own (extending.md).
"""


def text() -> str:
    """The file's content: a list of all names, then a part for each."""
    kinds = [KINDS[name] for name in sorted(KINDS)]
    rows = [f"| [{k.name}](#{k.name}) | {_severities(k)} | {k.headline} |" for k in kinds]
    listed = "\n".join(["| name | severity | means |", "|---|---|---|", *rows])
    return "\n".join([_HEAD, listed, *(line for kind in kinds for line in _part(kind))]) + "\n"


def _part(kind: FindingKind) -> Iterator[str]:
    yield f"\n## {kind.name}\n"
    yield f"*{_severities(kind)}*: {kind.means}\n"
    yield f"**Why:** {kind.why}\n"
    yield f"**Do:** {kind.do}"


def _severities(kind: FindingKind) -> str:
    return " or ".join(kind.severities)


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(text(), encoding="utf-8", newline="\n")
