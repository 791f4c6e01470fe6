"""A part that cannot be renewed by itself: its whole stands or falls with it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from advisor.verdicts.model import Ask
from tests.decide import small
from tests.decide.deciding import decide_data, decide_text, demo_rules, on
from tests.decide.generate import cases
from tests.decide.test_verdicts import ALL_JOURNALS, SOUND_SHELLS, worn

CONDEMNED = worn(2, "59.300 mm")


def test_a_part_that_is_condemned_condemns_its_whole_with_its_reason_and_sources() -> None:
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS + CONDEMNED)
    journal, shaft = on(decision, "shaft_journal", "2"), on(decision, "shaft")
    assert (journal.verdict, shaft.verdict, shaft.ground) == ("replace", "replace", "condemned")
    (reason,) = shaft.reasons
    assert reason.kind == "part"
    assert reason.because.startswith("Journal 2 is condemned and cannot be renewed by itself.")
    assert "Worn beyond its limit." in reason.because
    assert [cite.source for cite in reason.cites] == ["made_up"]
    assert [(line.part, line.place, line.name) for line in reason.evidence] == [
        ("shaft_journal", "2", "wear")
    ]
    assert reason.at
    assert {v.course.answer for v in decision.verdicts if v.part == "shaft_journal"} == {"replace"}


def test_a_part_that_is_only_to_be_worked_on_leaves_its_whole_alone() -> None:
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.900 mm"))
    assert on(decision, "shaft_journal", "2").verdict == "recondition"
    assert on(decision, "shaft").verdict == "reuse"


def test_a_part_that_may_still_be_condemned_leaves_its_whole_open_and_is_asked_for() -> None:
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.700 mm"))
    journal, shaft = on(decision, "shaft_journal", "2"), on(decision, "shaft")
    assert journal.possible == ("recondition", "replace")
    assert shaft.possible == ("reuse", "replace")
    assert set(shaft.asks) >= set(journal.asks) != set()
    assert any("journal 2" in note for note in shaft.notes)


def test_what_else_condemns_a_whole_ends_the_asking() -> None:
    text = ALL_JOURNALS.replace("crack: none", "crack: line") + SOUND_SHELLS + worn(2, "59.700 mm")
    shaft = on(decide_text(text), "shaft")
    assert (shaft.verdict, shaft.asks) == ("replace", ())
    assert [reason.rule for reason in shaft.reasons] == ["shaft-cracked"]


def test_a_part_that_was_not_opened_leaves_its_whole_open_and_is_named() -> None:
    text = ALL_JOURNALS.replace("place: all", "place: 1, 2") + SOUND_SHELLS
    shaft = on(decide_text(text + "  - {part: shaft_journal, place: 3, opened: no}\n"), "shaft")
    assert (shaft.verdict, shaft.possible) == ("undecided", ("reuse", "replace"))
    assert [note for note in shaft.notes if "journal 3 (not opened)" in note]
    assert not [note for note in shaft.notes if "nothing more can be looked at" in note]


def test_a_part_of_which_no_rule_speaks_holds_nothing_up_and_is_named(tmp_path: Path) -> None:
    links = 'links: [{of: shaft_journal, to: shaft, integral: "true"}'
    vocabulary = small.VOCABULARY.replace(links, f'{links}, {{of: lever, to: shaft, integral: "true"}}')
    assert vocabulary != small.VOCABULARY
    rules = small.ruleset(tmp_path, vocabulary=vocabulary)
    shaft = on(decide_text(ALL_JOURNALS + SOUND_SHELLS, rules, small.engine(rules)), "shaft")
    assert shaft.verdict == "reuse"
    assert [note for note in shaft.notes if "not judged: lever" in note]


def test_it_goes_up_through_a_whole_that_is_itself_a_part(tmp_path: Path) -> None:
    links = 'links: [{of: shaft_journal, to: shaft, integral: "true"}'
    vocabulary = small.VOCABULARY.replace(links, f'{links}, {{of: shaft, to: gasket, integral: "true"}}')
    rules = small.ruleset(tmp_path, vocabulary=vocabulary)
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS + CONDEMNED, rules, small.engine(rules))
    gasket = on(decision, "gasket")
    assert gasket.ground == "condemned", "as a matter of course it would be routine"
    assert "Shaft is condemned" in gasket.reasons[0].because
    assert "Worn beyond its limit" in gasket.reasons[0].because


@settings(max_examples=60)
@given(cases())
def test_no_whole_is_kept_whose_part_is_to_be_replaced(data: dict[str, Any]) -> None:
    decision = decide_data(data)
    shaft = on(decision, "shaft")
    journals = [verdict for verdict in decision.verdicts if verdict.part == "shaft_journal"]
    if not shaft.opened:
        return
    if any(journal.verdict == "replace" for journal in journals):
        assert shaft.possible == ("replace",)
    elif any("replace" in journal.possible for journal in journals):
        assert "replace" in shaft.possible
    if shaft.course.answer in ("reuse", "recondition"):
        assert all(journal.course.answer != "replace" for journal in journals)


def test_of_the_crankshaft_only_what_is_a_separate_piece_may_be_renewed_by_itself() -> None:
    wholes = [each for each in demo_rules().vocabulary.relations.values() if each.whole]
    links = [link for relation in wholes for link in relation.links]
    one_piece = {link.of for link in links if link.to == "crankshaft" and link.integral}
    assert one_piece == {"main_journal", "crank_pin", "thrust_face"}
    assert not [link for link in links if link.of == "crank_gallery_plug" and link.integral]


def test_why_no_size_serves_is_a_reason_with_its_numbers() -> None:
    journal = on(decide_text(ALL_JOURNALS + SOUND_SHELLS + CONDEMNED), "shaft_journal", "2")
    rule, work = journal.reasons
    assert (rule.rule, work.kind) == ("journal-worn", "work")
    assert work.because == (
        "Not possible: grind to undersize. No listed size cleans it up: shaft journal 2 measures 59.300 mm "
        "at worst, and 0.050 mm must come off to clean it up; the last listed size is 59.500 mm (-0.500 mm)."
    )


def test_a_size_that_was_indicated_is_told_where_it_is_beyond_the_last() -> None:
    told = (
        "\ncleans_up: [{part: shaft_journal, place: 2, operation: grind, size: 59.400 mm, by: the grinder}]\n"
    )
    journal = on(decide_text(told + ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.700 mm")), "shaft_journal", "2")
    assert journal.verdict == "replace"
    assert "shaft journal 2 would have to come to 59.400 mm; the last listed" in journal.reasons[-1].because


STRAIGHTENED = """
  - id: shaft-debris
    for: shaft
    when: {finding: debris, at_least: metal}
    then: {bar: {answers: reuse, mend: straighten}}
    because: flakes come off a bent shaft
    cite: [{source: made_up}]
    examples: {fires: [{debris: metal}], holds: [{}]}
"""
BEYOND_WORK = """
  - id: shaft-crack-line
    for: shaft
    when: {finding: crack, at_least: line}
    then: {bar: {answers: reuse}}
    because: a line may be a crack
    cite: [{source: made_up}]
    examples: {fires: [{crack: line}], holds: [{}]}
"""


FLAKES = "  - {part: shaft, moment: strip, findings: {debris: metal}}\n"


def _with_work(folder: Path, *rules: str) -> Any:
    vocabulary = small.VOCABULARY
    text = small.RULES.rstrip("\n")
    if BEYOND_WORK in rules:
        # In place of the rule that rules work out altogether.
        start, end = text.index("  - id: shaft-cracked"), text.index("  - id: shaft-sound")
        text = text[:start] + text[end:]
    return small.ruleset(folder, rules=text + "\n" + "".join(rules), vocabulary=vocabulary)


def test_work_that_mends_only_some_of_it_is_told_as_such(tmp_path: Path) -> None:
    rules = _with_work(tmp_path, STRAIGHTENED, BEYOND_WORK)
    bench = ALL_JOURNALS.replace("crack: none", "crack: line") + SOUND_SHELLS + FLAKES
    shaft = on(decide_text(bench, rules, small.engine(rules)), "shaft")
    assert (shaft.verdict, shaft.ground) == ("replace", "condemned")
    assert shaft.reasons[-1].because == "No work takes all of it away. This alone would not: straighten."


def test_where_a_rule_rules_work_out_it_says_so_itself(tmp_path: Path) -> None:
    rules = _with_work(tmp_path, STRAIGHTENED)
    bench = ALL_JOURNALS.replace("crack: none", "crack: line") + SOUND_SHELLS + FLAKES
    shaft = on(decide_text(bench, rules, small.engine(rules)), "shaft")
    assert {reason.kind for reason in shaft.reasons} == {"rule"}


def test_before_it_goes_away_it_is_looked_at_for_what_the_same_visit_should_mend(tmp_path: Path) -> None:
    rules = (
        small.RULES.rstrip("\n")
        + """
  - id: journal-scored
    for: shaft_journal
    when: {finding: scoring, at_least: deep}
    then: {bar: {answers: reuse, mend: [%s]}}
    because: a deep score cuts the shell
    cite: [{source: made_up}]
    examples: {fires: [{scoring: deep}], holds: [{}]}
"""
    )
    vocabulary = small.VOCABULARY.replace(
        "kinds: [shaft]\n    done_by", "kinds: [shaft, shaft_journal]\n    done_by"
    )
    bench = ALL_JOURNALS.replace(", scoring: none", "") + SOUND_SHELLS + worn(2, "59.900 mm")
    for work, seen, held in (
        ("straighten", bench, True),
        ("straighten", bench.replace("heat: none}", "heat: none, scoring: none}"), False),
        ("grind", bench, False),
    ):
        trial = small.ruleset(tmp_path / f"{work}{held}", rules=rules % work, vocabulary=vocabulary)
        journal = on(decide_text(seen, trial, small.engine(trial)), "shaft_journal", "2")
        assert journal.verdict == "recondition"
        looks = [text for text in journal.held if "look at: scoring" in text]
        assert len(looks) == held, (work, journal.held)
        assert all("a deep score cuts the shell" in text for text in looks)


@pytest.mark.parametrize("state", ["not looked at", "lost", "could not be judged"])
def test_what_was_written_down_as_not_known_is_not_known(state: str) -> None:
    text = ALL_JOURNALS.replace("scoring: none}", f"scoring: {state}}}") + SOUND_SHELLS
    assert on(decide_text(text), "shaft_journal", "1").not_looked_at == ("scoring",)


def test_an_ask_for_a_whole_names_the_part() -> None:
    shaft = on(decide_text("bench: []"), "shaft")
    about: set[tuple[str, str]] = {(ask.part, ask.place) for ask in _asks(shaft.asks)}
    assert about == {("shaft", ""), *(("shaft_journal", place) for place in "123")}


def _asks(asks: tuple[Ask, ...]) -> tuple[Ask, ...]:
    assert len(set(asks)) == len(asks)
    return asks
