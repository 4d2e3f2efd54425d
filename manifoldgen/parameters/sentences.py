"""Problems as sentences for people: what the models refused, in shop language, with the place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from manifoldgen import units
from manifoldgen.parameters import meant
from manifoldgen.parameters.document import as_written
from manifoldgen.parameters.scalars import Misfit

Keys = tuple[str | int, ...]

_EXPECTED = {
    "model_type": "a block of keys",
    "model_attributes_type": "a block of keys",
    "dict_type": "a block of keys",
    "mapping_type": "a block of keys",
    "tuple_type": "a list",
    "string_type": "a text",
    "union_tag_not_found": "a block of keys",
    "int_type": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false",
}
_RENAMED = {  # a key that was called otherwise: the new name, and why
    ("wastegate", "off"): ("takeoff", "most YAML readers take a bare off for false"),
    ("limits", "fit_up"): ("end_tolerance", "fit-up, in the trade, is gap and step at a joint"),
}


def problems(error: ValidationError, model: type[BaseModel]) -> Iterator[tuple[Keys, str, bool]]:
    """Every problem in `error`: the keys as loc, the sentence, and whether it is about the key itself."""
    found = [(_loc(one), one) for one in error.errors(include_url=False)]
    renamed = {(*loc[:-1], _RENAMED[old][0]) for loc, _ in found if (old := _old(loc)) in _RENAMED}
    for loc, one in found:
        raised = one.get("ctx", {}).get("error")
        if one["type"] == "missing" and loc in renamed:
            continue  # it is there under its old name
        if isinstance(raised, Misfit):
            yield from ((loc + keys, sentence, False) for keys, sentence in raised.problems)
        elif loc and loc[-1] == "[key]":
            yield loc[:-1], str(raised) if raised else f"{units.named(loc[-2])} is no key here", True
        else:
            yield (
                loc,
                _sentence(one["type"], loc, one["input"], one.get("ctx", {}), model),
                one["type"] in {"extra_forbidden", "invalid_key"},
            )


def _loc(one: ErrorDetails) -> Keys:
    """Where a problem is; a key that is no text (false, 1.5) in words, as the loader writes it."""
    loc = tuple(one["loc"])
    number = isinstance(one["input"], int) and not isinstance(one["input"], bool)
    return (*loc[:-1], as_written(one["input"])) if one["type"] == "invalid_key" and not number else loc


def _old(loc: Keys) -> Keys:
    """The place, with a bare ``off`` that another reader took for false as ``off`` again."""
    return (*loc[:-1], "off") if loc[-1:] == ("false",) else loc


def _sentence(kind: str, loc: Keys, value: object, ctx: Mapping[str, Any], model: type[BaseModel]) -> str:
    if kind == "value_error":
        return str(ctx["error"])
    if kind == "missing":
        return f"'{loc[-1]}' is missing"
    if kind in {"extra_forbidden", "invalid_key"}:
        return _unknown(loc, known_keys(model, loc[:-1]))
    if kind == "literal_error":
        words = [w.strip("'\"") for w in ctx["expected"].replace(" or ", ", ").split(", ")]
        return f"{units.named(value)} is not possible: use {_either(words)}" + (
            _meant(value, words) if isinstance(value, str) else ""
        )
    if kind in _EXPECTED:
        return f"{units.named(value)} stands where {_EXPECTED[kind]} is expected"
    return f"{units.named(value)} is not possible here"


def _unknown(loc: Keys, known: set[str]) -> str:
    if (old := _old(loc)) in _RENAMED:
        new, why = _RENAMED[old]
        return f"'{old[-1]}' is now called '{new}' ({why}): rename the key"
    key = str(loc[-1])
    told = f"unknown key '{units.shown(key)}'"
    if key.isdecimal():  # {od: 42,4} reads as od: 42 and a key 4
        return f"{told}: after a decimal comma? write a point"
    if known.issuperset(meant.SHAPES) and (other := meant.shape(key)):
        return f"{told}: {other}"
    return told + _meant(key, sorted(known))


def _either(words: list[str]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " or " + words[-1]


def _meant(word: str, known: list[str]) -> str:
    close = get_close_matches(word, known, 1, 0.5)
    return f"; did you mean '{close[0]}'?" if close else ""


def known_keys(model: type[BaseModel], loc: Keys) -> set[str]:
    """The keys that the block at `loc` may have (of all its forms)."""
    blocks = {model}
    for step in loc:
        below = {
            inner
            for block in blocks
            for name, info in block.model_fields.items()
            if (info.alias or name) == step
            for inner in _blocks(info.annotation)
        }
        blocks = below or blocks  # an index, a tag or a cylinder number leads no deeper
    return {info.alias or name for block in blocks for name, info in block.model_fields.items()}


def _blocks(annotation: object) -> Iterator[type[BaseModel]]:
    """Every model inside a type."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _blocks(inner)
