"""How much longer the last piece of a run is left, to be trimmed to what it meets."""

from __future__ import annotations

from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.known import closing, end_error
from manifoldgen.manifold.model import Manifold, Run


def trim_of(m: Manifold, run: Run, allowed: Allowances) -> float:
    """How much is left on a run's last piece, mm: for what bends and welds stray, and for the survey.

    A runner has the shop's allowance. A run that closes on a surveyed turbo has the survey's expected error there on
    top: however far off the turbo may be, the piece is not too short.
    """
    closes = run.name in closing(m)
    own = allowed.trim if closes or run.kind == "runner" else 0.0
    return own + (end_error(m, run)[0] if closes else 0.0)
