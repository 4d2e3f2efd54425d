"""The line of hazard that stands where a dangerous step begins; local codes and licensed practice come first."""

from __future__ import annotations

from typing import Literal

from manifoldgen.catalogue import Catalogue

Hazard = Literal[
    "saw", "grind", "drill", "mill", "weld", "purge", "leak test", "penetrant", "pickle", "lift", "first run",
]  # fmt: skip


def hazard_line(tables: Catalogue, hazard: Hazard) -> str:
    """What to mind at one kind of step, a sentence (catalogue `shop.caution`)."""
    return str(tables.row("shop", "caution", hazard)["line"])


def caution(tables: Catalogue, *hazards: Hazard) -> str:
    """Give the caution of a sheet on which these begin; it ends with who has the last word."""
    return " ".join(["Caution.", *(hazard_line(tables, hazard) for hazard in hazards), codes_first(tables)])


def in_brief(tables: Catalogue, *hazards: Hazard) -> str:
    """The same in one line, for a sheet that has no room for more."""
    told = "; ".join(str(tables.row("shop", "caution", hazard)["brief"]) for hazard in hazards)
    return f"Caution: {told}. {codes_first(tables)}"


def in_all(tables: Catalogue) -> str:
    """What can hurt in the whole job and who has the last word, a sentence, for where no step stands beside it."""
    return str(tables.row("shop", "caution", "all")["line"])


def codes_first(tables: Catalogue) -> str:
    """Who has the last word, a sentence."""
    return str(tables.row("shop", "caution", "codes")["line"])
