"""Readings that cannot be right, and work that cannot be done: what the decision says of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from advisor.sheets.crosscheck import load_ruleset
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Verdict
from tests.decide import small
from tests.decide.deciding import decide_text, on
from tests.decide.test_verdicts import ALL_JOURNALS, SOUND_SHELLS, worn

STRIP = """
  strip:
    label: strip width
    kinds: [half_shell]
    quantity: length
    condition: dry
    how: by the scale on its sleeve
    instruments: [micrometer]
dimensions:
"""
AGREE = """
        inner: {reading: diameter, on: {runs_on: shaft_journal}}
    agree:
      - {other: {operator: value, reading: strip}, because: both are the same play}
"""

Journal = Callable[..., Verdict]


@pytest.fixture
def rules(tmp_path: Path) -> RuleSet:
    """The rig, with a micrometer whose screw may slip a turn and a second way to know the play."""
    vocabulary = small.VOCABULARY.replace("\ndimensions:\n", STRIP).replace(
        "\n        inner: {reading: diameter, on: {runs_on: shaft_journal}}\n", AGREE
    )
    small.ruleset(tmp_path, vocabulary=vocabulary)
    path = tmp_path / "instruments.yaml"
    text = path.read_text(encoding="utf-8").replace("limit: 0.005 mm,", "limit: 0.005 mm, turns: [0.5 mm],")
    path.write_text(text, encoding="utf-8")
    return load_ruleset(tmp_path)


def decided(rules: RuleSet, text: str, part: str, place: str, engine: str = small.ENGINE) -> Verdict:
    return on(decide_text(text, rules, small.engine(rules, engine)), part, place)


def coarse(size: str) -> str:
    return ALL_JOURNALS + SOUND_SHELLS + worn(1, size).replace("exact_micrometer", "micrometer")


def test_one_position_a_turn_off_is_questioned_and_asked_for_again(rules: RuleSet) -> None:
    slipped = worn(1, "59.990 mm").replace("rear y: 59.990 mm", "rear y: 59.490 mm")
    text = ALL_JOURNALS + SOUND_SHELLS + slipped.replace("exact_micrometer", "micrometer")
    journal = decided(rules, text, "shaft_journal", "1")
    (question,) = journal.questions
    assert (question.reading, question.positions, question.stamp) == ("diameter", ("rear y",), False)
    assert "that cannot be right" in question.says
    assert any(note == f"questioned: {question.says}; {question.do}" for note in journal.notes)
    assert journal.verdict == "undecided"
    assert [ask.reading for ask in journal.asks] == ["wear"]


def test_just_a_repair_step_away_the_stamp_is_asked_for(rules: RuleSet) -> None:
    text = coarse("59.501 mm").replace(
        "found_sizes: [{part: shaft_journal, size: 0 mm, read_on: the web}]", ""
    )
    (question,) = decided(rules, text, "shaft_journal", "1").questions
    assert question.stamp
    assert "stamp" in question.do


def test_nothing_is_questioned_where_nothing_is_odd(rules: RuleSet) -> None:
    assert decided(rules, coarse("59.980 mm"), "shaft_journal", "1").questions == ()


def test_two_ways_that_contradict_each_other_have_no_standing_and_both_are_named(rules: RuleSet) -> None:
    both = "{bore: {with: micrometer, value: 60.000 mm}, strip: {with: micrometer, value: %s}}"
    text = ALL_JOURNALS + SOUND_SHELLS.replace("{bore: {with: micrometer, value: 60.000 mm}}", both)
    agreeing = decided(rules, text % "0.012 mm", "half_shell", "1 upper")
    assert (agreeing.verdict, agreeing.asks) == ("reuse", ())
    shell = decided(rules, text % "0.060 mm", "half_shell", "1 upper")
    assert shell.verdict == "undecided"
    (ask,) = shell.asks
    assert "0.010 mm by fitted bore and diameter" in ask.says
    assert "0.060 mm by strip width" in ask.says


TAPER = "      - {dimension: taper, purpose: discard, at_most: 0.010 mm}\n    repair_sizes:"
WORK = small.ENGINE.replace("    repair_sizes:", TAPER, 1).replace(
    "  half_shell:\n", "    work: {grind: {needs: {taper: discard}}}\n  half_shell:\n", 1
)


def tapered(rear: str) -> str:
    """Journals ground as standard, of which the first is worn beyond its limit, and tapers."""
    head = "cleans_up: [{part: shaft_journal, operation: grind, size: 59.8 mm, by: the grinder}]"
    text = ALL_JOURNALS + SOUND_SHELLS + worn(1, "59.900 mm")
    for place in ("rear x", "rear y"):
        text = text.replace(f"{place}: 59.900 mm", f"{place}: {rear} mm")
    return head + text


@pytest.mark.parametrize(
    ("rear", "possible"),
    [("59.900", ("recondition",)), ("59.930", ("replace",)), ("59.9103", ("recondition", "replace"))],
)
def test_work_is_open_only_where_what_it_needs_is_kept(
    rules: RuleSet, rear: str, possible: tuple[str, ...]
) -> None:
    journal = decided(rules, tapered(rear), "shaft_journal", "1", WORK)
    assert journal.possible == possible
    against = [each.because for each in journal.reasons if each.kind == "work"]
    assert len(against) == (possible == ("replace",))
    if against:
        assert against == ["Not possible: grind to undersize, taper is outside its limit for discard."]
    assert [doubt.dimension for doubt in journal.doubts] == (["taper"] if len(possible) > 1 else [])
