"""Where the parameter file writes what a finding is about."""

from __future__ import annotations

from manifoldgen.errors import Where
from manifoldgen.manifold.model import Manifold


def of_studs(m: Manifold, flange: str) -> Where | None:
    """The place of a flange's studs or bolts, by the flange's name."""
    return m.where.get("head_flange.studs" if flange == m.head.name else _block(m, flange))


def of_flange(m: Manifold, flange: str, part: str = "") -> Where | None:
    """The place of a flange, by its name; of the head flange's ``studs`` or ``outline``, where `part` asks for it."""
    if flange == m.head.name:
        return m.where.get(f"head_flange.{part}" if part else "head_flange")
    return m.where.get(_block(m, flange))


def _block(m: Manifold, flange: str) -> str:
    return "turbo.flange" if flange == m.turbo.name else "wastegate.flange"
