"""Ids and names are only names: pieces, joints and runs called anything give the same papers with other words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from manifoldgen.access.hands import Hands, hands
from manifoldgen.checks import examine
from manifoldgen.manifold.cut import Owner
from manifoldgen.manifold.model import Manifold
from manifoldgen.mesh.parts import draw
from manifoldgen.pieces import split
from manifoldgen.shop import lists
from manifoldgen.shop.aids import file_name
from manifoldgen.shop.bore import litres
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.worklist import csv_text
from tests import factory

BUNDLE = {"kind": "bundle", "merge_depth": 0.0, "join_depth": 0.0}


def jobs() -> dict[str, Manifold]:
    """A merge of four with a branch, two inlets, a bundle."""
    return {
        "merge": split(factory.with_branch(factory.manifold(4))),
        "two": split(factory.manifold(2)),
        "bundle": split(factory.manifold(3, **BUNDLE)),
    }


def other_names(m: Manifold) -> dict[str, str]:
    """A new name for every piece, joint and run, sorted as the old ones are: order by name may break a tie."""
    old = [*(p.id for p in m.pieces), *(j.id for j in m.joints), *(r.name for r in m.runs)]
    return {name: f"q{n:03d}" for n, name in enumerate(sorted(old))}


def renamed(m: Manifold, new: dict[str, str]) -> Manifold:
    """The same manifold with every piece, joint and run called by its new name."""

    def called(name: str) -> str:
        return new.get(name, name)

    def owner(o: Owner) -> Owner:
        return replace(o, name=called(o.name))

    def run(r):
        return replace(r, name=called(r.name))

    pieces = tuple(
        replace(
            p, id=called(p.id), part=called(p.part), owner=owner(p.owner), joints=tuple(map(called, p.joints))
        )
        for p in m.pieces
    )
    joints = tuple(
        replace(j, id=called(j.id), owner=owner(j.owner), between=tuple(map(called, j.between)))
        for j in m.joints
    )
    taken = tuple(
        replace(t, slices=tuple(replace(s, piece=called(s.piece)) for s in t.slices)) for t in m.cutting.taken
    )
    branches = tuple(replace(b, takeoff=called(b.takeoff), run=run(b.run)) for b in m.branches)
    cutting = replace(m.cutting, taken=taken, missing=tuple(map(called, m.cutting.missing)))
    return replace(
        m, runners=tuple(map(run, m.runners)), outlet=run(m.outlet), branches=branches, pieces=pieces, joints=joints,
        cutting=cutting,
    )  # fmt: skip


def papers(m: Manifold, reached: Hands | None) -> Iterator[str]:
    """What the shop is told, and what is drawn, as text."""
    shop = ShopPlan(m, reached)
    plan = shop.welding
    yield repr([(w.id, w.words, w.joins, w.stage, w.rank, w.length, w.tacks, w.prep) for w in plan.ordered])
    yield repr([(p.stage, p.pieces, p.cap, p.gas_in, p.vent, round(p.litres, 9)) for p in plan.purges])
    yield csv_text(shop.steps)
    yield lists.cut_csv(shop) + lists.joints_csv(shop) + lists.bends_csv(shop)
    yield repr([(w.name, w.pieces, w.joints, w.datum, w.marks) for w in shop.wraps])
    yield repr(shop.mill)
    yield repr([(d.part, d.piece, len(d.mesh.vertices)) for d in draw(m).drawn])
    yield repr(litres(m, [p.id for p in m.pieces], [j.id for j in m.joints]))
    yield repr([(f.name, f.message, f.do, f.parts) for f in examine(m).findings])


@pytest.mark.parametrize("name", ["merge", "two", "bundle"])
@pytest.mark.parametrize("measured", [True, False])
def test_other_names_give_the_same_papers(name: str, measured: bool) -> None:
    """With the old names put back every paper is the same, word for word."""
    m = jobs()[name]
    new = other_names(m)
    back = {v: k for k, v in new.items()} | {f"cradle-{v}": file_name(f"cradle {k}") for k, v in new.items()}
    plain = list(papers(m, hands(m) if measured else None))
    odd = renamed(m, new)
    other = list(papers(odd, hands(odd) if measured else None))

    assert {p.id for p in odd.pieces} < set(back)
    assert [re.sub(r"\b(?:cradle-)?q\d{3}\b", lambda found: back[found[0]], text) for text in other] == plain


def test_the_roles_and_owners_of_a_job() -> None:
    """Given once, by what the pieces are: a lid and a cone for a merge, a plate for a bundle, an inlet each."""
    merge, bundle = jobs()["merge"], jobs()["bundle"]
    home = Owner("collector", "A")

    assert [(p.role, p.number) for p in merge.pieces if p.owner == home] == [("lid", 1), ("cone", 2)]
    assert [(p.role, p.number) for p in bundle.pieces if p.owner == home] == [("plate", 1), ("cone", 2)]
    for m in (merge, bundle):
        assert {p.id for p in m.pieces if p.role == "inlet"} == {p.id for p in m.pieces if p.inlet}
        assert all(p.owner == m.run_of(p.owner).owner for p in m.pieces if p.path is not None)
        assert len({(p.owner, p.number) for p in m.pieces}) == len(m.pieces)
        seams = {"crotch", "inner seam", "star", "lid", "plate", "cone"}
        assert {j.id for j in m.joints if j.owner == home} == {j.id for j in m.joints if j.kind in seams}
        assert {j.owner.kind for j in m.joints if j.kind in {"butt", "flange"}} == {"runner", "outlet"} | (
            {"wastegate"} if m.branches else set()
        )
    assert [j.kind for j in bundle.joints].count("plate") == 3
    assert [j.kind for j in merge.joints].count("lid") == 1
    assert [j.owner.kind for j in merge.joints if j.kind == "saddle"] == ["wastegate"]
    assert len(ShopPlan(merge).cuts) == sum(p.role in {"tube", "inlet"} for p in merge.pieces)
