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
    from manifoldgen.checks import foreign, registry

    added = foreign.checks(registry.KINDS)
    for fault in added.faults:
        terminal.say(f"{fault.told}: what it may find is not listed")
    kinds = registry.known()
    name = finding.strip().lower()
    if not name:
        width = max(len(known) for known in kinds)
        terminal.emit("\n".join(f"{known:{width}}  {kinds[known].headline}" for known in sorted(kinds)))
        return
    if name not in kinds:
        close = get_close_matches(name, kinds, n=1, cutoff=0.5)
        hint = f"did you mean {close[0]}?" if close else f"there are {', '.join(sorted(kinds))}"
        raise ManifoldgenError(f"there is no finding {finding}; {hint}")
    terminal.emit(kinds[name].explanation)
