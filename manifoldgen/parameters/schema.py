"""The JSON Schema of the parameter file, for editors (completion, hints, red underlines)."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

from manifoldgen.parameters.job import Parameters

FILE = "schema.json"


def json_schema() -> dict[str, Any]:
    """The schema, made from the models (JSON Schema 2020-12)."""
    schema = Parameters.model_json_schema(by_alias=True)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "parameter file of a turbo manifold",
    }


def committed() -> str:
    """The text of the schema that ships with the package; a test holds it equal to `json_schema()`."""
    return (files("manifoldgen.parameters") / FILE).read_text("utf-8")


def text() -> str:
    """The schema as it is written to the file."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=False, sort_keys=True) + "\n"
