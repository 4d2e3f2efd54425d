"""In which order the joints are welded: found backwards, from the finished manifold to its pieces.

With every joint closed, those that can be reached as things stand are opened: they are welded last. What
then falls apart leaves room for the next ones, and so on; the list backwards is the order of welding.
Taking parts away never takes reach away, so this finds an order wherever one exists. That a part can be
brought to its place past the others is not looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Link:
    """A joint as the order sees it: its id and the set of groups it holds together, as bits."""

    id: str
    hosts: int


@dataclass(frozen=True)
class WeldStages:
    """Stages in the order of welding.

    stages : ids by stage.  closed : for each stage the ids that are held, tacked or welded, while it is made:
    its own and those of all stages before it.  stuck : ids that no order reaches in full.
    """

    stages: tuple[tuple[str, ...], ...]
    closed: tuple[tuple[str, ...], ...]
    stuck: tuple[str, ...] = ()


@dataclass
class _Rounds:
    stages: list[tuple[str, ...]] = field(default_factory=list)
    closed: list[tuple[str, ...]] = field(default_factory=list)
    stuck: list[str] = field(default_factory=list)


def components(links: Iterable[Link]) -> dict[int, int]:
    """The set of groups that hang together with each group, given the closed joints."""
    found: list[int] = []
    for link in links:
        apart = [c for c in found if not c & link.hosts]
        joined = link.hosts
        for c in found:
            if c & link.hosts:
                joined |= c
        found = [*apart, joined]
    return {i: c for c in found for i in range(c.bit_length()) if c >> i & 1}


def together(links: Sequence[Link]) -> Callable[[Link], int]:
    """What hangs together with a joint's own pieces, given the closed joints."""
    parts = components(links)
    return lambda link: next(
        (parts[i] for i in range(link.hosts.bit_length()) if link.hosts >> i & 1 and i in parts), link.hosts
    )


def plan(
    links: Sequence[Link],
    full: Callable[[str, int], bool],
    *,
    share: Callable[[str, int], float],
    before: Mapping[str, Iterable[str]] | None = None,
    rather_before: Mapping[str, Iterable[str]] | None = None,
    rescue: Callable[[str, int], bool] = lambda _name, _present: False,
) -> WeldStages:
    """The order of welding.

    Parameters
    ----------
    links : all joints.
    full : whether a joint can be finished with a set of groups present.
    share : how much of it can be reached, 0 to 1.
    before : joints that have to be welded before others: ``{first: (later, …)}``; no circles.
    rather_before : the same as a wish, dropped where nothing else is left to open.
    rescue : whether a joint has a way out. Where nothing can be finished, those that have one are opened, or
        else the one reached best; they count as stuck.
    """
    rounds = _Rounds()
    closed = list(links)
    must = {k: frozenset(v) for k, v in (before or {}).items()}
    wish = {k: frozenset(v) for k, v in (rather_before or {}).items()}
    while closed:
        hangs = together(closed)
        left = {link.id for link in closed}
        allowed = [j for j in closed if not must.get(j.id, frozenset()) & left]
        ready = [j for j in allowed if full(j.id, hangs(j))]
        opened = [j for j in ready if not wish.get(j.id, frozenset()) & left] or ready
        if not opened:
            opened = [j for j in allowed if rescue(j.id, hangs(j))]
            opened = opened or [max(allowed or closed, key=lambda j: share(j.id, hangs(j)))]
            rounds.stuck += [j.id for j in opened]
        rounds.stages.append(tuple(j.id for j in opened))
        rounds.closed.append(tuple(j.id for j in closed))
        closed = [j for j in closed if j not in opened]
    return WeldStages(tuple(reversed(rounds.stages)), tuple(reversed(rounds.closed)), tuple(rounds.stuck))
