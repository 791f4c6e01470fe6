"""The pages of the rules and the bibliography say what the rule sets say, all of it, and nothing else."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from advisor.authoring.bibliography import bibliography
from advisor.authoring.rule_pages import INDEX, RulePages, anchor, source_heading, told
from tests.docs.rules import DOCS, RULESETS, of, pages, stray
from tests.docs.source import ROOT

WRITE = "run: python -m tests.docs.rules"


def headings(text: str) -> list[str]:
    return re.findall(r"^#+ (.+)$", text, re.MULTILINE)


def test_every_rule_set_with_rules_of_its_own_has_its_pages() -> None:
    assert {path.parent.name for path in ROOT.glob("rulesets/*/ruleset.yaml")} == set(RULESETS)


def test_the_pages_are_as_the_rules_are() -> None:
    found = {path: path.read_text("utf-8") if path.is_file() else "" for path in pages()}
    stale = [str(path.relative_to(ROOT)) for path, text in pages().items() if found[path] != text]
    assert stale == [], WRITE
    assert stray() == [], WRITE


@pytest.mark.parametrize("name", RULESETS)
def test_every_rule_has_a_section_of_its_own(name: str) -> None:
    counted = Counter(heading for text in of(name).pages().values() for heading in headings(text))
    assert [rule.id for rule in of(name).ruleset.rules if counted[rule.id] != 1] == []


@pytest.mark.parametrize("path", sorted(pages()), ids=lambda path: path.relative_to(DOCS).as_posix())
def test_no_two_headings_of_a_page_are_linked_to_by_one_name(path: Path) -> None:
    counted = Counter(map(anchor, headings(pages()[path])))
    assert [name for name, number in counted.items() if number > 1] == []


@pytest.mark.parametrize("name", RULESETS)
def test_a_section_tells_reason_sources_and_differences(name: str) -> None:
    whole = of(name)
    for page, rules in whole.by_page.items():
        sections = dict(
            re.findall(r"^### (\S+)\n(.*?)(?=^##|\Z)", whole.pages()[page], re.MULTILINE | re.DOTALL)
        )
        for rule in rules:
            section = sections[rule.id]
            assert told(rule.because.rstrip(".")) in section, rule.id
            assert told(rule.differs.rstrip(".")) in section, rule.id
            for cite in rule.cite:
                assert f"#{anchor(source_heading(name, cite.source))})" in section, rule.id
                assert told(cite.where) in section, rule.id
                assert cite.row in section, rule.id
            for line in ("**Then:**", "**Fires on:**", "**Holds off on:**"):
                assert section.count(line) == 1, rule.id
            assert section.count("**When") == 1, rule.id
            own = set(rule.cautions) - set(whole.ruleset.vocabulary.kinds[rule.for_].cautions)
            assert [key for key in own if f"(#caution-{key.replace('_', '-')})" not in section] == [], rule.id


@pytest.mark.parametrize("name", RULESETS)
def test_the_index_counts_every_rule(name: str) -> None:
    counts = re.findall(r"^\|[^|]*(?:\\\|[^|]*)*\| (\d+) \|", of(name).pages()[INDEX], re.MULTILINE)
    assert sum(map(int, counts)) == len(of(name).ruleset.rules)


@pytest.mark.parametrize("name", RULESETS)
def test_the_bibliography_has_every_source_once_and_nothing_that_is_not_cited(name: str) -> None:
    chapter = bibliography(of(name), "rules")
    wanted = {source_heading(name, key) for key in of(name).ruleset.sources}
    assert Counter(headings(chapter))[f"Rule set `{name}`"] == 1
    assert sorted(headings(chapter)[1:]) == sorted(wanted)
    assert "Cited by nothing yet" not in chapter
    for rule in of(name).ruleset.rules:
        for cite in rule.cite:
            entry = chapter.split(f"### {source_heading(name, cite.source)}\n")[1].split("\n### ")[0]
            assert f"#{rule.id})" in entry or re.search(r"\d+ on \[", entry), rule.id


def test_a_rule_that_was_changed_is_noticed() -> None:
    whole = of("gearbox")
    first = whole.files.rules[0][0].rules[0]
    model, document = whole.files.rules[0]
    other = model.model_copy(
        update={"rules": [first.model_copy(update={"because": "It is so."}), *model.rules[1:]]}
    )
    files = replace(whole.files, rules=((other, document), *whole.files.rules[1:]))
    stale = RulePages(whole.ruleset, files, whole.bibliography, whole.table)
    page = next(page for page, rules in whole.by_page.items() if first in rules)
    assert stale.pages()[page] != whole.pages()[page]
    assert "It is so." in stale.pages()[page]
