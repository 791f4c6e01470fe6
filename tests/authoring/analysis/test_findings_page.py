"""docs/rule-findings.md has a section for each kind of finding, in the words of the program."""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path
from typing import Final, NamedTuple

import pytest

from advisor.authoring.analysis.book import STEPS, STEPS_IN_ALL
from advisor.authoring.analysis.codes import PAGE, SORTS
from advisor.authoring.analysis.solver import DEEPEST
from tests.authoring.analysis.planted import PLANTED
from tests.authoring.analysis.sound import found, sound

ROOT: Final = Path(__file__).resolve().parents[3]
_SECTION: Final = re.compile(
    r"### `(?P<code>[a-z-]+)`\n\n(?P<says>.+?)\n\n```text\n(?P<example>.+?)\n```\n\n"
    r"\*Why it matters:\* (?P<why>.+?)\n\n\*How grave:\* (?P<grave>.+?)\n\n"
    r"\*To mend it:\* (?P<mend>.+?)\n(?=\n#|\Z)",
    re.DOTALL,
)


class Section(NamedTuple):
    code: str
    says: str
    example: str
    why: str
    grave: str
    mend: str


def text() -> str:
    return (ROOT / PAGE).read_text("utf-8")


def sections() -> list[Section]:
    return [Section(*match.groups()) for match in _SECTION.finditer(text())]


@cache
def told() -> dict[str, set[str]]:
    """By code: what is said of each planted example."""
    said: dict[str, set[str]] = {}
    for planted in PLANTED:
        data = sound()
        planted.plant(data)
        with tempfile.TemporaryDirectory() as folder:
            for finding in found(data, Path(folder)):
                # A place in a file is none of the words.
                said.setdefault(finding.code, set()).add(re.sub(r" \(/[^)]*\)", "", finding.what))
    return said


def test_each_kind_of_finding_has_one_section() -> None:
    headings = re.findall(r"^### `(.+)`$", text(), re.MULTILINE)
    assert headings == [section.code for section in sections()]
    assert sorted(headings) == sorted(SORTS)


@pytest.mark.parametrize("section", sections(), ids=lambda section: str(section.code))
def test_a_section_says_what_the_program_says(section: Section) -> None:
    sort = SORTS[section.code]
    assert " ".join(section.why.split()) == sort.why
    assert section.grave.startswith(f"A{'n error' if sort.level == 'error' else ' remark'}")
    assert section.example in told()[section.code]


def test_its_bounds_are_those_of_the_program() -> None:
    assert DEEPEST == 3
    assert "Concerns further than three links away" in text()
    assert f"more than {STEPS:,} steps" in text()
    assert f"when {STEPS_IN_ALL:,} steps have been taken" in text()
