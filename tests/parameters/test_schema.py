"""The schema that editors read is the models' own, and knows every key of a complete job."""

from __future__ import annotations

from typing import Any

from manifoldgen.parameters import json_schema
from manifoldgen.parameters.schema import committed, text
from tests.jobs import four


def test_committed_schema() -> None:
    """The file in the package equals what the models give; write it anew with ``parameters.schema.text()``."""
    assert committed() == text()


def _allowed(schema: dict[str, Any], part: dict[str, Any]) -> list[dict[str, Any]]:
    """Every plain form that a part of the schema stands for."""
    if "$ref" in part:
        return _allowed(schema, schema["$defs"][part["$ref"].rsplit("/", 1)[1]])
    forms = [
        form
        for key in ("anyOf", "oneOf", "allOf")
        for one in part.get(key, ())
        for form in _allowed(schema, one)
    ]
    return forms or [part]


def _missing(schema: dict[str, Any], forms: list[dict[str, Any]], value: object, at: str) -> list[str]:
    """Keys and lists of `value` that no form knows."""
    if isinstance(value, dict):
        found = []
        for key, inner in value.items():
            below = [f["properties"][str(key)] for f in forms if str(key) in f.get("properties", {})]
            below += [
                f["additionalProperties"] for f in forms if isinstance(f.get("additionalProperties"), dict)
            ]
            if not below:
                found.append(f"{at}.{key}")
            deeper = [form for part in below for form in _allowed(schema, part)]
            found += _missing(schema, deeper, inner, f"{at}.{key}") if below else []
        return found
    if isinstance(value, list):
        lists = [f for f in forms if f.get("type") == "array"]
        if not lists:
            return [at]
        items = [
            part
            for f in lists
            for part in (*f.get("prefixItems", ()), *([f["items"]] if f.get("items") else ()))
        ]
        forms = [form for part in items for form in _allowed(schema, part)]
        return [
            told for i, inner in enumerate(value) for told in _missing(schema, forms, inner, f"{at}[{i}]")
        ]
    return []


def test_schema_knows_every_key() -> None:
    """No key or list of the complete job is foreign to the schema."""
    schema = json_schema()

    assert _missing(schema, [schema], four(), "job") == []
    assert _missing(schema, [schema], {"tubes": {"runner": {"wal": 2}}}, "job") == ["job.tubes.runner.wal"]
