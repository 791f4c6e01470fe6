"""Words that were renamed, and files written with newer words, are told as such."""

from __future__ import annotations

import pytest

from advisor.faults import Faults
from advisor.sheets.engine_check import check_engine
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import parse
from tests.decide import small


@pytest.fixture(scope="module")
def renamed(tmp_path_factory: pytest.TempPathFactory) -> RuleSet:
    """The small rule set, in which two words had other names before."""
    words = small.VOCABULARY + "renamed: {old_shell: older_shell, older_shell: half_shell, smear: scoring}\n"
    return small.ruleset(tmp_path_factory.mktemp("rules"), vocabulary=words)


def test_a_renamed_word_is_told_with_its_present_name(renamed: RuleSet) -> None:
    case, document = small.case("bench: [{part: old_shell, place: 1, findings: {smear: light}}]\n")
    with pytest.raises(Faults) as raised:
        lay_out(small.engine(renamed), case, renamed, document)
    assert [str(fault) for fault in raised.value.faults] == [
        "case.yaml:4:16: old_shell is called half_shell now; expected half_shell; "
        "run `advisor migrate` on this file [word-renamed]"
    ]


def test_newer_words_are_refused(renamed: RuleSet) -> None:
    text = small.ENGINE.replace("ruleset: trial\n", "ruleset: trial\nvocabulary_version: 2\n")
    with pytest.raises(
        Faults, match=r"engine.yaml:4:21: this file was written with version 2 .*\[newer-words\]"
    ):
        check_engine(parse(text, "engine.yaml"), renamed)
    case, document = small.case("vocabulary_version: 3\n")
    with pytest.raises(Faults, match="newer-words"):
        lay_out(small.engine(renamed), case, renamed, document)


def test_the_present_words_pass(renamed: RuleSet) -> None:
    case, document = small.case(
        "vocabulary_version: 1\nbench: [{part: half_shell, place: 1, otherwise: none}]\n"
    )
    assert lay_out(small.engine(renamed), case, renamed, document).items
