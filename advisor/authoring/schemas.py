"""JSON Schemas of the files that people write, made from the models, for editors that check while one types.

An editor reads YAML by its own rules: to it `1` is a number and `true` a truth value, where this program
reads text. So a schema takes what an editor would make of text that this program takes; a size, which is
never a bare number, stays text. What hangs on other files, such as whether a word is declared, only `advisor
check` can say.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from advisor.sheets.filekind import CALLED, MODELS
from advisor.sheets.vocabulary import OneOrMany

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"

_DECIMAL: Final = re.compile(r"\d+\.\d+")
_BOTH_WAYS: Final = {"yes": True, "no": False, "true": True, "false": False}


class _Generator(GenerateJsonSchema):
    """Lets a single entry stand where a list of them may, as the models do."""

    def function_before_schema(self, schema: core_schema.BeforeValidatorFunctionSchema) -> JsonSchemaValue:
        made = super().function_before_schema(schema)
        if schema["function"]["function"] is OneOrMany.func and made.get("type") == "array":
            return {"anyOf": [made["items"], made]}
        return made


def schemas() -> dict[str, dict[str, Any]]:
    """By file name: the schema of each kind of file that people write."""
    return {file_name(kind): schema_of(model, CALLED[kind]) for kind, model in MODELS}


def file_name(kind: str) -> str:
    """The file that holds the schema of a kind of file."""
    return f"{kind.replace(' ', '-')}.json"


def schema_of(model: type[BaseModel], called: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of one kind of file, which is `called` so."""
    made = _typed(model.model_json_schema(mode="validation", schema_generator=_Generator))
    assert isinstance(made, dict)
    return {"$schema": DIALECT, "title": f"Rebuild decision advisor: {called}", **made}


def _typed(node: Any) -> Any:
    """A schema as an editor can use it: without what says nothing, and open to its reading of YAML."""
    if isinstance(node, list):
        return [_typed(each) for each in node]
    if not isinstance(node, Mapping):
        return node
    made = {
        key: ({name: _typed(each) for name, each in value.items()} if key in _NAMED else _typed(value))
        for key, value in node.items()
        # The default of a key that is left out helps nobody who types, nor does a title made from the key.
        if key not in ("default", "title")
    }
    if "anyOf" in made:
        return _choice(made)
    return _as_read(made)


_NAMED: Final = ("properties", "$defs")
"""Keys of a schema below which the keys are names."""


def _choice(made: dict[str, Any]) -> dict[str, Any]:
    # Nothing may be left empty: a key that is not wanted is left out.
    branches = [each for each in made["anyOf"] if each.get("type") != "null"]
    if len(branches) == 1:
        rest = {key: value for key, value in made.items() if key != "anyOf"}
        return {**branches[0], **rest}
    return {**made, "anyOf": branches}


def _as_read(made: dict[str, Any]) -> dict[str, Any]:
    """One plain value as an editor reads it."""
    if "const" in made:
        word = made.pop("const")
        made.pop("type", None)
        return {**made, "enum": [word, *_read(word)]}
    if "enum" in made:
        words = made["enum"]
        made.pop("type", None)
        return {**made, "enum": [*words, *(each for word in words for each in _read(word))]}
    if made.get("type") == "boolean":
        made.pop("type")
        return {**made, "enum": [True, False, "yes", "no"]}
    if made.get("type") == "string":
        return {**made, "type": _types(made)}
    return made


def _read(word: str) -> list[object]:
    """What an editor may make of a word beside text."""
    if word.isdigit():
        return [int(word)]
    return [_BOTH_WAYS[word]] if word in _BOTH_WAYS else []


def _types(made: Mapping[str, Any]) -> str | list[str]:
    examples = [str(each) for each in made.get("examples", ())]
    if examples and all(each.isdigit() for each in examples):
        return ["string", "integer"]
    if examples and all(_DECIMAL.fullmatch(each) for each in examples):
        return ["string", "number"]
    # A name has a pattern and begins with a letter; a size, a time and a sum of money have their units.
    if "pattern" in made or "examples" in made:
        return "string"
    return ["string", "number", "boolean"]
