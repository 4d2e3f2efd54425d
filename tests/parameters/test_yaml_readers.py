"""The file means the same to every YAML reader: the common one of Python reads by YAML 1.1, the loader by 1.2."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

import manifoldgen as mg
from manifoldgen.catalogue import STANDARD
from manifoldgen.catalogue.tables import FILES
from manifoldgen.errors import ParameterError
from manifoldgen.parameters import json_schema, load_text
from manifoldgen.parameters.starter import ORDERS, Answers, starter
from tests.jobs import FOUR, problems

JOBS = Path(__file__).parents[2] / "cq_scripts" / "jobs"
TEXTS = {
    **{path.stem: path.read_text("utf-8") for path in sorted(JOBS.glob("*.yaml"))},
    **{f"starter-{n}": starter(f"starter-{n}", Answers(n)) for n in ORDERS},
}
# what YAML 1.1 calls a bool (yaml.org/type/bool.html, 2005-01-18); Python's reader leaves y and n alone
BOOL_1_1 = re.compile("y|yes|n|no|true|false|on|off", re.IGNORECASE)


def numbers(value: object) -> Any:
    """Everything an assembled part holds but the places (`where`), as plain values that can be compared."""
    if is_dataclass(value) and not isinstance(value, type):
        held = {f.name: numbers(getattr(value, f.name)) for f in fields(value) if f.name != "where"}
        return type(value).__name__, held
    if isinstance(value, dict):
        return {key: numbers(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [numbers(inner) for inner in value]
    return value.tolist() if isinstance(value, np.ndarray) else value


@pytest.mark.parametrize("name", TEXTS)
def test_both_readers_give_the_same_job(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every demo job and every start: the same parameters and the same manifold, places apart."""
    monkeypatch.chdir(JOBS)  # a mapping has no file: what it names is looked for here
    ours, theirs = load_text(TEXTS[name], JOBS / "job.yaml"), mg.load(yaml.safe_load(TEXTS[name]))

    assert theirs.model_dump() == ours.model_dump()
    assert numbers(mg.assemble(theirs)) == numbers(mg.assemble(ours))


@pytest.mark.parametrize("written", ["off", "false"])
def test_the_old_name_of_takeoff(written: str) -> None:
    """`off`, and the false that other readers make of it, is refused with its new name and nothing else."""
    text = FOUR.replace("takeoff:", f"{written}:")
    line = text[: text.index(f"  {written}: {{run")].count("\n") + 1
    told = "'off' is now called 'takeoff' (most YAML readers take a bare off for false): rename the key"

    assert problems(text) == (f"job.yaml:{line}:3: wastegate.{written}: {told}",)
    with pytest.raises(ParameterError) as caught:
        mg.load(yaml.safe_load(text))
    assert caught.value.problems == (f"wastegate.false: {told}",)


def test_the_old_name_of_end_tolerance() -> None:
    """`limits.fit_up` is refused with its new name and nothing else; under the new name the file is read."""
    told = "'fit_up' is now called 'end_tolerance' (fit-up, in the trade, is gap and step at a joint): rename the key"
    text = FOUR.replace("limits: {", "limits: {fit_up: 0.1, ")
    line = text[: text.index("limits: {")].count("\n") + 1

    assert problems(text) == (f"job.yaml:{line}:10: limits.fit_up: {told}",)
    renamed = load_text(text.replace("fit_up", "end_tolerance"), Path("job.yaml"))
    assert renamed.limits.end_tolerance == 0.1


def test_other_keys_called_false_are_only_unknown() -> None:
    """A key that no reader can have made of an old name is told as it stands."""
    raw = yaml.safe_load(FOUR)
    raw["tubes"] = {**raw["tubes"], False: 1}
    with pytest.raises(ParameterError) as caught:
        mg.load(raw)

    assert caught.value.problems == ("tubes.false: unknown key 'false'",)


def words(part: object) -> Iterator[str]:
    """Every word that a schema lets stand bare in a file: keys, choices and defaults."""
    if isinstance(part, dict):
        yield from part.get("properties", ())
        for key in ("enum", "const", "default"):
            found = part.get(key, ())
            yield from (w for w in (found if isinstance(found, list) else [found]) if isinstance(w, str))
    for inner in part.values() if isinstance(part, dict) else part if isinstance(part, list) else ():
        yield from words(inner)


def test_no_word_of_the_file_is_something_else_to_another_reader() -> None:
    """Keys, choices, names of tables and rates read as the text they are, whichever YAML is spoken."""
    tables = {name: STANDARD.file(name).tables for name in FILES}
    named = {*FILES, *(t for held in tables.values() for t in held)}
    named |= {row for held in tables["rates"].values() for row in held}
    spoken = {*words(json_schema()), *named} - {"", "304"}  # a bare 304 is taken for the text
    changed = {word for word in spoken if yaml.safe_load(word) != word or BOOL_1_1.fullmatch(word)}

    assert {"takeoff", "firing", "auto", "all-metal-lock", "saw_bend"} <= spoken
    assert changed == {"y"}  # the bench axis of a survey's angle; a reader that minds takes +y
