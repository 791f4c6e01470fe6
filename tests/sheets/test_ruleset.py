"""A rule set from its folder: merged, checked, and the same whole whatever the order of its lines."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
import yaml

from advisor.faults import Faults
from advisor.sheets.crosscheck import load_ruleset
from advisor.sheets.rule_check import check_own_places
from advisor.sheets.ruleset import RuleSet, read_files
from tests.decide import small


def written(folder: Path, **files: str) -> Path:
    """The small rule set in a folder, with other text for some of its files."""
    small.ruleset(folder)
    for name, text in files.items():
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
    return folder


def loaded(folder: Path, **files: str) -> RuleSet:
    return load_ruleset(written(folder, **files))


def codes(folder: Path, **files: str) -> list[str]:
    with pytest.raises(Faults) as raised:
        loaded(folder, **files)
    return [fault.code for fault in raised.value.faults]


def test_a_rule_set_holds_what_its_files_say(tmp_path: Path) -> None:
    rules = loaded(tmp_path)
    assert (rules.name, rules.version, rules.title) == ("trial", "1.2.3", "A trial")
    assert [rule.id for rule in rules.rules] == sorted(rule.id for rule in rules.rules)
    assert list(rules.vocabulary.kinds) == ["shaft", "shaft_journal", "half_shell", "gasket", "lever"]
    assert rules.judged_kinds == {"shaft", "shaft_journal", "half_shell", "gasket"}


def test_the_order_of_rules_and_of_words_does_not_show_in_the_digest(tmp_path: Path) -> None:
    """A finding's extents are the one mapping whose order means something, and they are left as they are."""
    first = loaded(tmp_path / "first")
    for seed in range(3):
        vocabulary, rules = (
            yaml.load(text, Loader=yaml.BaseLoader) for text in (small.VOCABULARY, small.RULES)
        )
        shuffle = random.Random(seed).shuffle
        shuffle(rules["rules"])
        for section in ("kinds", "findings", "readings", "dimensions", "concerns"):
            entries = list(vocabulary[section].items())
            shuffle(entries)
            vocabulary[section] = dict(entries)
        turned = loaded(
            tmp_path / str(seed),
            vocabulary=yaml.safe_dump(vocabulary, sort_keys=False),
            rules=yaml.safe_dump(rules, sort_keys=False),
        )
        assert turned.digest == first.digest


def test_what_a_rule_set_says_shows_in_its_digest(tmp_path: Path) -> None:
    digests = {
        loaded(tmp_path / str(number), rules=small.RULES.replace(*change)).digest
        for number, change in enumerate(
            [("", ""), ("many particles cut", "particles cut"), ("at_least: blue", "at_least: straw")]
        )
    }
    assert len(digests) == 3


def test_a_rule_set_is_read_back_from_its_record(tmp_path: Path) -> None:
    more = (
        small.RULES
        + """
limits:
  - {part: shaft_journal, dimension: taper, purpose: discard, cite: [{source: made_up}], because: x,
     at_most: {ratio: "0.0005", size: diameter}, band: diameter, over: 2 in}
"""
    )
    rules = loaded(tmp_path, rules=more)
    again = RuleSet.of_record(rules.record(), rules.order)
    assert again == rules
    assert again.digest == rules.digest


def test_assemblies_add_their_links_to_a_relation_that_all_share(tmp_path: Path) -> None:
    manifest = small.MANIFEST.replace("[vocabulary.yaml]", "[vocabulary.yaml, more.yaml]")
    more = "format: 1\nrelations:\n  has: {label: has, links: [{of: lever, to: gasket}]}\n"
    links = loaded(tmp_path, ruleset=manifest, more=more).vocabulary.relations["has"].links
    assert [(each.of, each.to) for each in links] == [("shaft", "shaft_journal"), ("lever", "gasket")]


def test_faults_of_all_files_are_told_together(tmp_path: Path) -> None:
    found = codes(
        tmp_path,
        vocabulary=small.VOCABULARY.replace("consequence: mild", "consequence: mld", 1),
        rules=small.RULES.replace("source: made_up", "source: nobody", 1),
        cautions=small.CAUTIONS.replace("source: made_up", "source: nobody", 1),
    )
    assert found == ["unknown-word"] * 3


def test_faults_of_shape_in_two_files_are_told_together(tmp_path: Path) -> None:
    found = codes(tmp_path, cautions="format: 1\n", sources="format: 2\nsources: {}\n")
    assert sorted(found) == ["missing-key", "unknown-format"]


GUARD = """
  - id: shell-mixed-up
    for: half_shell
    when: {place: unknown}
"""


@pytest.mark.parametrize(
    ("when", "guards"),
    [
        ("{place: unknown}", True),
        ("{any: [{place: unknown}, {finding: scoring, is: deep}]}", True),
        ("{all: [{place: unknown}]}", True),
        ("{all: []}", True),
        ("{count: 2, of: [{place: unknown}, {place: unknown}, {finding: scoring, is: deep}]}", True),
        ("{all: [{place: unknown}, {finding: scoring, is: deep}]}", False),
        ("{count: 2, of: [{place: unknown}, {finding: scoring, is: deep}]}", False),
        ("{origin: second-hand}", False),
    ],
)
def test_a_part_with_a_place_of_its_own_is_barred_where_that_is_lost(
    tmp_path: Path, when: str, guards: bool
) -> None:
    changed = small.RULES.replace(GUARD, GUARD.replace("{place: unknown}", when))
    assert changed != small.RULES or when == "{place: unknown}"
    if guards:
        loaded(tmp_path, rules=changed)
    else:
        assert codes(tmp_path, rules=changed) == ["own-place-unguarded"]


def test_a_task_alone_guards_nothing(tmp_path: Path) -> None:
    changed = small.RULES.replace(
        "when: {place: unknown}\n    then: {bar: {answers: reuse}}",
        "when: {place: unknown}\n    then: {task: polish}",
    )
    assert codes(tmp_path, rules=changed) == ["own-place-unguarded"]


def test_a_kind_that_no_rule_judges_needs_no_guard(tmp_path: Path) -> None:
    vocabulary = small.VOCABULARY.replace("    label: lever\n", '    label: lever\n    own_place: "true"\n')
    folder = written(tmp_path, vocabulary=vocabulary)
    assert check_own_places(load_ruleset(folder), read_files(folder)) == []


def test_bands_that_meet_do_not_overlap(tmp_path: Path) -> None:
    """A band reaches from over, which is left out, to up_to, which is in it; units do not matter."""
    line = (
        "  - {{part: shaft_journal, dimension: taper, purpose: discard, at_most: {{plus: 0.1 mm}}, "
        "band: diameter, {}, cite: [{{source: made_up}}], because: x}}\n"
    )

    def limits(*bands: str) -> str:
        return small.RULES + "limits:\n" + "".join(line.format(band) for band in bands)

    rules = loaded(tmp_path / "a", rules=limits("up_to: 2 in", "over: 50.8 mm, up_to: 3 in", "over: 76.2 mm"))
    assert len(rules.limits) == 3
    assert codes(tmp_path / "b", rules=limits("up_to: 2 in", "over: 50.79 mm")) == ["limit-overlap"]
    assert codes(tmp_path / "c", rules=limits("up_to: 1 in", "up_to: 0.5 in")) == ["limit-overlap"]
