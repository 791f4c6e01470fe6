"""The schemas for editors: kept fresh, open to all that ships, and closed to what they can see is wrong.

An editor reads YAML by the rules of YAML itself. It is played here by PyYAML with the core schema of YAML 1.2
(section 10.3.2), in which `yes` is text, and `true` and `1` are not.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from advisor.authoring.schemas import file_name, schemas
from advisor.sheets.filekind import MODELS, kind_of
from advisor.sheets.text import load
from tests.bad.loading import HERE as BAD
from tests.cli.conftest import run  # noqa: F401  a fixture
from tests.docs.source import ROOT

KEPT = ROOT / "docs" / "schema"
MADE = schemas()
VALIDATORS = {name: jsonschema.Draft202012Validator(schema) for name, schema in MADE.items()}


class CoreLoader(yaml.SafeLoader):
    """YAML 1.2 with its core schema."""


CoreLoader.yaml_implicit_resolvers = {}
for tag, pattern, first in (
    ("null", r"~|null|Null|NULL|", "~nN\0"),
    ("bool", r"true|True|TRUE|false|False|FALSE", "tTfF"),
    ("int", r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+", "-+0123456789"),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", "-+0123456789."),
):
    CoreLoader.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(f"^(?:{pattern})$"), list(first))

SHIPPED = [
    *sorted((ROOT / "rulesets").rglob("*.yaml")),
    *sorted((ROOT / "cases_demo").rglob("*.yaml")),
]


def errors(name: str, text: str) -> list[str]:
    """What an editor would underline in a file."""
    found = VALIDATORS[name].iter_errors(yaml.load(text, Loader=CoreLoader))
    return [f"{'/'.join(map(str, each.absolute_path))}: {each.message[:200]}" for each in found]


@pytest.mark.parametrize("name", MADE)
def test_the_schemas_in_the_documentation_are_the_present_ones(name: str) -> None:
    kept = (KEPT / name).read_text(encoding="utf-8")
    assert kept == json.dumps(MADE[name], indent=2, ensure_ascii=False) + "\n", (
        "run: advisor rules schema --in docs/schema"
    )


def test_there_is_one_for_every_kind_of_file_and_no_other() -> None:
    assert {file_name(kind) for kind, _ in MODELS} == set(MADE)
    assert {path.name for path in KEPT.glob("*.json")} == {*MADE, "decision.json"}


@pytest.mark.parametrize("name", MADE)
def test_each_is_a_schema(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(MADE[name])


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_what_ships_is_taken(path: Path) -> None:
    assert errors(file_name(kind_of(load(path))), path.read_text("utf-8")) == []


SEEN = {
    "unknown-key",
    "missing-key",
    "unknown-word",
    "bad-name",
    "bad-rule-id",
    "wrong-shape",
    "wrong-length",
}
"""Faults that can be seen in a file by itself; words that another file declares are told apart below."""

FOLDERS = {
    "rules": "rules.json",
    "vocabulary": "vocabulary.json",
    "manifest": "rule-set.json",
    "sources": "bibliography.json",
    "cautions": "cautions.json",
    "instruments": "instruments.json",
    "tests": "tests.json",
}


def broken() -> dict[str, list[str]]:
    """By broken file of the collection: the messages it gives."""
    found: dict[str, list[str]] = {}
    for folder in FOLDERS:
        lines: list[str] = []
        for line in (BAD / folder / "expected.txt").read_text("utf-8").splitlines():
            if line.startswith("  "):
                lines.append(line[2:])
            elif line:
                lines = found[f"{folder}/{line}"] = []
    return found


def refusable(messages: list[str]) -> bool:
    """Whether some message is of a kind that a schema can see: not a word that another file declares."""
    return any(
        message.rsplit("[", 1)[1].rstrip("]") in SEEN and "is not a" not in message.split(";")[0]
        for message in messages
    )


REFUSED = [name for name, messages in broken().items() if refusable(messages)]


def test_enough_broken_files_can_be_seen_by_a_schema() -> None:
    assert len(REFUSED) > 12


@pytest.mark.parametrize("name", REFUSED)
def test_a_broken_file_is_refused(name: str) -> None:
    text = (BAD / name).read_text("utf-8")
    assert errors(FOLDERS[name.partition("/")[0]], text)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("instruments.json", "format: 1\ninstruments: {m: {label: a, limit: 0.005, cite: [{source: s}]}}"),
        ("case.json", "format: 1\ncase: x\nengine_sheet: e.yaml\nhours: 1200"),
        ("case.json", "format: 2\ncase: x\nengine_sheet: e.yaml"),
        ("case.json", "format: 1\ncase:\nengine_sheet: e.yaml"),
        ("rule-set.json", "format: 1\nname: Two Words\nversion: 1.0.0\ntitle: t\nvocabulary: []\nrules: []\n"
         "sources: s\ncautions: c\ninstruments: i"),
    ],
)  # fmt: skip
def test_a_bare_number_an_empty_key_and_another_format_are_refused(name: str, text: str) -> None:
    assert errors(name, text)


def test_a_single_entry_may_stand_for_a_list() -> None:
    rule = """
format: 1
rules:
  - id: a-rule
    for: part
    then: {bar: {answers: reuse, mend: grind}, concern: worn}
    because: it is so
    cite: [{source: s}]
    examples: {fires: [{}], holds: [{}]}
"""
    assert errors("rules.json", rule) == []
    assert errors("rules.json", rule.replace("answers: reuse", "answers: scrap"))


def test_the_command_writes_them_and_writes_them_anew(run: Any, tmp_path: Path) -> None:  # noqa: F811
    done = run("rules", "schema", "--in", "lesson")
    assert done.code == 0
    assert "# yaml-language-server: $schema=lesson/rules.json" in done.out
    assert {path.name: json.loads(path.read_text()) for path in (tmp_path / "lesson").iterdir()} == MADE
    kept = tmp_path / "lesson" / "rules.json"
    kept.write_text(json.dumps({"title": "Rebuild decision advisor: of an earlier version"}))
    assert run("rules", "schema", "--in", "lesson").code == 0
    assert json.loads(kept.read_text()) == MADE["rules.json"]


@pytest.mark.parametrize("theirs", ["{}", "notes of mine", '{"title": 3}', "[]"])
def test_no_other_file_is_written_over(run: Any, tmp_path: Path, theirs: str) -> None:  # noqa: F811
    (tmp_path / "schema").mkdir()
    (tmp_path / "schema" / "tests.json").write_text(theirs)
    done = run("rules", "schema")
    assert done.code == 2
    assert "was not written by this command" in done.err
    assert [path.name for path in (tmp_path / "schema").iterdir()] == ["tests.json"]
    assert (tmp_path / "schema" / "tests.json").read_text() == theirs


def test_a_file_is_no_folder(run: Any, tmp_path: Path) -> None:  # noqa: F811
    (tmp_path / "schema").write_text("")
    assert run("rules", "schema").code == 2
