"""The assembly: every part by its name and in a plain colour, a run's pieces under it."""

from __future__ import annotations

from collections.abc import Mapping

import cadquery as cq

PLATE = (0.42, 0.44, 0.47)
TUBES = ((0.72, 0.73, 0.75), (0.63, 0.65, 0.68))  # neighbours differ
COLLECTOR = (0.80, 0.76, 0.68)
OUTLET = (0.70, 0.69, 0.64)
BRANCH = (0.60, 0.67, 0.70)


def assembled(
    name: str,
    parts: Mapping[str, cq.Shape],
    pieces: Mapping[str, cq.Shape],
    of: Mapping[str, str] | None = None,
) -> cq.Assembly:
    """Parts and pieces as one tree.

    of : the part each piece belongs to; a part with pieces holds them in its place, others hold their shape.
    """
    tree = cq.Assembly(name=name)
    for part, shape in parts.items():
        mine = [piece for piece, whole in (of or {}).items() if whole == part and piece in pieces]
        colour = cq.Color(*colour_of(part))
        if not mine:
            tree.add(shape, name=part, color=colour)
            continue
        under = cq.Assembly(name=part, color=colour)
        for piece in mine:
            under.add(pieces[piece], name=piece, color=colour)
        tree.add(under)
    return tree


def colour_of(part: str) -> tuple[float, float, float]:
    """A part's colour, red green blue 0 … 1."""
    if part.endswith("flange"):
        return PLATE
    if part.startswith("collector"):
        return COLLECTOR
    if part == "outlet":
        return OUTLET
    if part.startswith("runner"):
        return TUBES[int(part.rsplit(maxsplit=1)[-1]) % len(TUBES)]
    return BRANCH
