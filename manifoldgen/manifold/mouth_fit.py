"""Whether a saddle can be built at a branch's mouth: one answer, for the checks that say so and the solids that build it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from manifoldgen.errors import GeometryError
from manifoldgen.manifold.collector import inlet_lead
from manifoldgen.manifold.model import Branch, Manifold
from manifoldgen.manifold.mouth import Mouth, Parent, first_straight, mouth_of, parent_of

EXACT = 1e-6  # mm: less than that is kept


@dataclass(frozen=True)
class MouthTrouble:
    """Why no saddle can be built: reason and remedy as they stand behind the branch's name; mm measured and asked."""

    reason: str
    do: str
    value: float | None = None
    limit: float | None = None


def troubles(m: Manifold, b: Branch, mouth: Mouth) -> tuple[MouthTrouble, ...]:
    """Why no saddle can be built at a mouth; empty where it can."""
    asked = m.tables.defaults("branch")
    wide = tuple(_wide(b, mouth, asked["clearly_smaller"])) or tuple(_outside(b, mouth, asked["inside"]))
    return wide or (*_room(m, b, mouth, margin_of(m)), *_short(b, mouth, margin_of(m)))


def margin_of(m: Manifold) -> float:
    """Whole tube asked between a mouth and the next weld or bend, mm."""
    return m.tables.defaults("branch")["to_weld"]


def sound_mouth(m: Manifold, b: Branch) -> Mouth:
    """The mouth of a branch that a saddle can be built at.

    Raises GeometryError with the first of its `troubles`, both sides and the missing mm.
    """
    mouth = mouth_of(m, b)
    for trouble in troubles(m, b, mouth):
        raise GeometryError(f"{trouble.reason}; {trouble.do}", b.run.name)
    return mouth


def _wide(b: Branch, mouth: Mouth, share: float) -> Iterator[MouthTrouble]:
    od, most = b.run.section.od, share * mouth.parent_od
    if od > most + EXACT:
        reason = f"its OD of {od:g} mm is not clearly smaller than the {b.takeoff} of {mouth.parent_od:.1f} mm: at most {most:.1f} mm"
        do = f"take a branch tube at least {od - most:.1f} mm smaller, or branch off a larger tube"
        yield MouthTrouble(reason, do, od, most)


def _outside(b: Branch, mouth: Mouth, inside: float) -> Iterator[MouthTrouble]:
    if mouth.beyond > EXACT - inside:
        stands = (
            f"stands {mouth.beyond:.1f} mm beyond the side"
            if mouth.beyond > 0
            else f"comes within {-mouth.beyond:.1f} mm of the outside"
        )
        missing = mouth.beyond + inside
        do = "aim it wider or take a smaller branch tube"
        if b.element is not None:
            do = f"bring wastegate.takeoff.shift {missing:.1f} mm or more nearer to 0, or take a smaller branch tube"
        reason = f"its tube {stands} of the {b.takeoff} where it begins, {inside:g} mm inside asked"
        yield MouthTrouble(reason, do, mouth.beyond, -inside)
    elif mouth.lost:
        yield _lost(b, mouth.lost)


def _lost(b: Branch, lost: tuple[float, ...]) -> MouthTrouble:
    reason = f"its wall does not leave the {b.takeoff} at {lost[0]:.0f}° to {lost[-1]:.0f}° round it"
    return MouthTrouble(reason, "take a smaller branch, less shift or a wider aim")


def _room(m: Manifold, b: Branch, mouth: Mouth, margin: float) -> Iterator[MouthTrouble]:
    """The mouth against the ends of the tube or cone that it is cut into."""
    parent = parent_of(m, b)
    if parent is None:
        c = m.collectors[0]
        low, high = c.merge_depth + margin, c.length - margin
        move = "mm {} (wastegate.takeoff.at), take a smaller tube or a longer cone"
        if (missing := mouth.last - high) > EXACT:
            reason = f"its mouth runs to {mouth.last:.1f} mm, the cone has room to {high:.1f} mm: {missing:.1f} mm missing"
            yield MouthTrouble(reason, f"move it {missing:.1f} {move.format('upstream')}", mouth.last, high)
        if (missing := low - mouth.first) > EXACT:
            reason = f"its mouth begins at {mouth.first:.1f} mm, the cone has room from {low:.1f} mm: {missing:.1f} mm missing"
            yield MouthTrouble(reason, f"move it {missing:.1f} {move.format('downstream')}", mouth.first, low)
        return
    low, high = _round_stretch(m, parent)
    do = "lengthen the straight there, aim the branch wider or shift it outwards"
    if (missing := low + margin - mouth.first) > EXACT:
        reason = f"its mouth needs {missing:.1f} mm more of the {b.takeoff} at its start"
        yield MouthTrouble(reason, do, mouth.first, low + margin)
    if (missing := mouth.last + margin - high) > EXACT:
        reason = f"its mouth needs {missing:.1f} mm more of the {b.takeoff} at its end"
        yield MouthTrouble(reason, do, mouth.last, high - margin)


def _round_stretch(m: Manifold, parent: Parent) -> tuple[float, float]:
    """Where the parent is plain tube: from the end of a formed beginning to where a collector's inlet begins, mm."""
    run = parent.run
    formed = m.head.transition_length if run.kind == "runner" and m.head.transition == "tube" else 0.0
    collector = next((c for c in m.collectors if run.number in c.order), None)
    return formed, parent.path.length - (inlet_lead(collector) if collector else 0.0)


def _short(b: Branch, mouth: Mouth, margin: float) -> Iterator[MouthTrouble]:
    straight, needed = first_straight(b), mouth.reach + margin
    if (missing := needed - straight) > EXACT:
        reason = f"its first straight ends inside the wall of the {b.takeoff}, {missing:.1f} mm short"
        do = f"lengthen it by {missing:.1f} mm or aim the branch wider"
        yield MouthTrouble(reason, do, straight, needed)
