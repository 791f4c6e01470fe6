"""Every broken file is refused in the words beside it, and every fault code has such a file.

A folder holds the broken files of one sort, and an `expected.txt`: the name of a file, and below it,
indented, what its user is told. What is too large to keep, or is no file at all, is made here.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest

from advisor.faults import Faults
from advisor.sheets.case import CaseSheet
from advisor.sheets.crosscheck import load_ruleset
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import load
from advisor.sheets.validate import validate
from tests.bad.loading import HERE, LOADERS, faults_of, told, write_ruleset
from tests.docs.source import source

SHEETS = HERE.parents[1] / "advisor" / "sheets"


def expected() -> dict[Path, list[str]]:
    """By broken file: the messages that its user reads."""
    found: dict[Path, list[str]] = {}
    for folder in LOADERS:
        lines: list[str] = []
        for line in (HERE / folder / "expected.txt").read_text(encoding="utf-8").splitlines():
            if line.startswith("  "):
                lines.append(line[2:])
            elif line:
                lines = found[HERE / folder / line] = []
    return found


EXPECTED = expected()


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> RuleSet:
    """The rule set in which the broken files stand, and which is sound without them."""
    return load_ruleset(write_ruleset(tmp_path_factory.mktemp("sound")))


def test_every_broken_file_has_its_messages() -> None:
    assert {path for folder in LOADERS for path in (HERE / folder).glob("*.yaml")} == EXPECTED.keys()


@pytest.mark.parametrize("path", EXPECTED, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_a_broken_file_is_refused_in_these_words(path: Path, tmp_path: Path, rules: RuleSet) -> None:
    faults = faults_of(path, tmp_path, rules)
    assert faults is not None, f"{path.name} was taken as sound"
    assert told(faults, tmp_path, path.parent) == EXPECTED[path]


def test_every_message_names_a_place() -> None:
    without = [line for lines in EXPECTED.values() for line in lines if line.split(": ")[0].count(":") != 2]
    assert without == []


def size(path: Path) -> None:
    path.write_text("a: " + "x" * (2 * 1024 * 1024), encoding="utf-8")


def values(path: Path) -> None:
    path.write_text("[" + "x," * 200_000 + "]", encoding="utf-8")


def long_text(path: Path) -> None:
    path.write_text("note: " + "x" * 20_001, encoding="utf-8")


def many_faults(path: Path) -> None:
    keys = "\n".join(f"mystery_{number}: 1" for number in range(501))
    path.write_text(f"format: 1\ncase: a trial\nengine_sheet: engine.yaml\n{keys}\n", encoding="utf-8")


MADE: Mapping[Callable[[Path], None], str] = {
    size: "{name}:1:1: the file is too large; expected at most 2,097,152 bytes; "
    "split it into several files [file-too-large]",
    values: "{name}:1:400000: the file holds too many keys and values; expected at most 200,000; "
    "split it [too-many-values]",
    long_text: "{name}:1:7: this text has 20,001 characters; expected at most 20,000 [text-too-long]",
    many_faults: "{name}:504:1: more than 500 faults; the others are not listed; mend these first, "
    "then run it again [too-many-faults]",
    Path.mkdir: '"{name}" is a folder; expected the name of a file [not-a-file]',
}
"""By what makes it: what is told of a file that cannot be kept here."""


@pytest.mark.parametrize("make", MADE, ids=lambda make: make.__name__)
def test_what_cannot_be_kept_as_a_file_is_refused_too(make: Callable[[Path], None], tmp_path: Path) -> None:
    path = tmp_path / "made.yaml"
    make(path)
    with pytest.raises(Faults) as raised:
        validate(CaseSheet, load(path))
    assert told(raised.value, tmp_path)[-1] == MADE[make].format(name="made.yaml")


def test_a_name_that_no_file_can_have_is_refused() -> None:
    with pytest.raises(Faults) as raised:
        load("case\0.yaml")
    told_of = 'the file "case\\x00.yaml" could not be read: its name is not a file name [not-readable]'
    assert str(raised.value) == told_of


def codes() -> Iterator[str]:
    """Every fault code that stands in the source of `advisor.sheets`, wherever a fault is made."""
    for path in SHEETS.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            # A code comes first, or after the path; `_named` is given that of the reader it makes.
            places = {"Fault": (0,), "FaultError": (0,), "fault": (0, 1), "_named": (3,)}.get(name, ())
            given = [node.args[place] for place in places if place < len(node.args)]
            texts = [each.value for each in given if isinstance(each, ast.Constant)]
            yield from (text for text in texts[:1] if isinstance(text, str))


def test_every_fault_code_is_met_by_a_broken_file() -> None:
    lines = [line for each in EXPECTED.values() for line in each]
    met = {line.rsplit("[", 1)[1].rstrip("]") for line in [*lines, *MADE.values()]} | {"not-readable"}
    found = set(codes())
    assert len(found) > 100, "the search for codes finds too few to be right"
    assert found - met == set()


NOT_OF_A_FILE: Mapping[str, str] = {
    "engine-limit": "hangs on how large rule set and case are; tests/chain/test_size_limits.py",
    "engine-missing": "hangs on what is installed; tests/bad/test_missing_engine.py",
    "no-tests": "a folder without tests; tests/authoring/test_cases.py",
    "too-many-tests": "hangs on how many files there are; tests/authoring/test_cases.py",
    "no-rule-set": "a file with no rule set around it; tests/cli/test_check.py",
    "rules-at-fault": "a sound file beside a broken rule set; tests/cli/test_check.py",
    "unknown-file": "any file at all; tests/cli/test_check.py",
    "file-not-listed": "what was asked of `advisor rules new`; tests/authoring/test_scaffold_entries.py",
    "name-taken": "what was asked of `advisor rules new`; tests/authoring/test_scaffold_entries.py",
    "no-place-for-entry": "a file that is sound; tests/authoring/test_scaffold_entries.py",
    "nothing-to-build-on": "a rule set that is sound; tests/authoring/test_scaffold_entries.py",
}
"""Codes told of no single broken file, each with why, and with where it is met."""

RULE_SET_SIDE = re.compile(r"advisor/(authoring/(cases|scaffold|examples|check)|chain/ready|files)\w*\.py:")
"""The modules beside `advisor/sheets` that refuse what an author has written."""


def test_every_code_told_of_a_rule_set_is_met() -> None:
    met = {line.rsplit("[", 1)[1].rstrip("]") for lines in EXPECTED.values() for line in lines}
    met |= {line.rsplit("[", 1)[1].rstrip("]") for line in MADE.values()}
    side = {each.code for each in source().raised if RULE_SET_SIDE.match(each.where)}
    assert len(side) > 20
    assert side - met == {code for code in NOT_OF_A_FILE if code in side}
    assert NOT_OF_A_FILE.keys() - side == set(), "no longer told by these modules"


def test_each_code_met_elsewhere_is_met_there() -> None:
    for code, why in NOT_OF_A_FILE.items():
        path = HERE.parents[1] / why.rpartition("; ")[2]
        assert code in path.read_text(encoding="utf-8"), f"{path} says nothing of {code}"
