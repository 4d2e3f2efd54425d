"""The assembly: every part by its name and in a plain colour, a run's pieces under it."""

from __future__ import annotations

from collections.abc import Mapping

import cadquery as cq

from manifoldgen.manifold.model import Manifold

Colour = tuple[float, float, float]  # red, green, blue, 0 … 1

PLATE = (0.42, 0.44, 0.47)
TUBES = ((0.72, 0.73, 0.75), (0.63, 0.65, 0.68))  # neighbours differ
COLLECTOR = (0.80, 0.76, 0.68)
OUTLET = (0.70, 0.69, 0.64)
BRANCH = (0.60, 0.67, 0.70)


def assembled(
    name: str,
    parts: Mapping[str, cq.Shape],
    pieces: Mapping[str, cq.Shape],
    looks: Mapping[str, Colour],
    of: Mapping[str, str] | None = None,
) -> cq.Assembly:
    """Parts and pieces as one tree.

    looks : the parts' colours.  of : the part each piece belongs to; a part with pieces holds them in its place, others hold their shape.
    """
    tree = cq.Assembly(name=name)
    for part, shape in parts.items():
        mine = [piece for piece, whole in (of or {}).items() if whole == part and piece in pieces]
        colour = cq.Color(*looks[part])
        if not mine:
            tree.add(shape, name=part, color=colour)
            continue
        under = cq.Assembly(name=part, color=colour)
        for piece in mine:
            under.add(pieces[piece], name=piece, color=colour)
        tree.add(under)
    return tree


def colours(m: Manifold) -> dict[str, Colour]:
    """The colour of every part by its name."""
    return {
        **{f.name: PLATE for f in m.flanges},
        **{r.name: TUBES[r.number % len(TUBES)] for r in m.runners},
        **{m.part_name(c): COLLECTOR for c in m.collectors},
        m.outlet.name: OUTLET,
        **{b.run.name: BRANCH for b in m.branches},
    }
