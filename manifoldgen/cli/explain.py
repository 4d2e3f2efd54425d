"""`manifoldgen explain FINDING`: what a finding means, why it matters, what to do."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Annotated

import typer

from manifoldgen.cli import terminal
from manifoldgen.errors import ManifoldgenError


def explain(
    finding: Annotated[
        str, typer.Argument(metavar="[FINDING]", help="Its name, as check prints it; without it, all names.")
    ] = "",
) -> None:
    """Tell what a finding means, why it matters and what to do."""
    from manifoldgen.checks.explain import EXPLANATIONS
    from manifoldgen.checks.explain import explain as text_of

    name = finding.strip().lower()
    if not name:
        width = max(len(known) for known in EXPLANATIONS)
        lines = [f"{known:{width}}  {_meaning(text)}" for known, text in sorted(EXPLANATIONS.items())]
        terminal.emit("\n".join(lines))
        return
    if name not in EXPLANATIONS:
        close = get_close_matches(name, EXPLANATIONS, n=1, cutoff=0.5)
        hint = f"did you mean {close[0]}?" if close else f"there are {', '.join(sorted(EXPLANATIONS))}"
        raise ManifoldgenError(f"there is no finding {finding}; {hint}")
    terminal.emit(text_of(name))


def _meaning(text: str) -> str:
    """The first sentence of an explanation."""
    first = text.strip().split("\n\n")[0].replace("\n", " ")
    return first.split(". ")[0].rstrip(".") + "."
