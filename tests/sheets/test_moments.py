"""What was seen at one moment and what was said at another: a later look counts, a later shrug does not."""

from __future__ import annotations

import pytest

from advisor.sheets.bench import BenchItem
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from tests.decide import small


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> RuleSet:
    return small.ruleset(tmp_path_factory.mktemp("rules"))


def _item(rules: RuleSet, part: str, *entries: str) -> BenchItem:
    case, document = small.case("bench:\n" + "".join(f"  - {{part: {part}, {each}}}\n" for each in entries))
    bench = lay_out(small.engine(rules), case, rules, document)
    return next(item for item in bench.items if item.key.kind == part)


SHRUGS = ("not looked at", "lost", "could not be judged")


@pytest.mark.parametrize("shrug", SHRUGS)
@pytest.mark.parametrize("turned", [False, True])
def test_nobody_looking_again_takes_nothing_from_what_was_seen(
    rules: RuleSet, shrug: str, turned: bool
) -> None:
    entries = [
        "place: 1 upper, moment: strip, findings: {scoring: deep}",
        f"place: 1 upper, moment: clean, findings: {{scoring: {shrug}}}",
    ]
    seen = _item(rules, "half_shell", *(entries[::-1] if turned else entries)).findings["scoring"]
    assert (seen.extent, seen.moment) == ("deep", "strip")


@pytest.mark.parametrize("turned", [False, True])
def test_a_later_look_counts(rules: RuleSet, turned: bool) -> None:
    entries = [
        "place: 1 upper, moment: strip, findings: {scoring: deep}",
        "place: 1 upper, moment: clean, findings: {scoring: light}",
    ]
    seen = _item(rules, "half_shell", *(entries[::-1] if turned else entries)).findings["scoring"]
    assert (seen.extent, seen.moment) == ("light", "clean")


@pytest.mark.parametrize("turned", [False, True])
def test_a_reading_stays_where_nobody_could_take_it_again(rules: RuleSet, turned: bool) -> None:
    entries = [
        "place: 1 upper, moment: strip, readings: {bore: {value: 60.1 mm}}",
        "place: 1 upper, moment: clean, readings: {bore: {value: could not be measured}}",
    ]
    read = _item(rules, "half_shell", *(entries[::-1] if turned else entries)).readings["bore"]
    assert [each.text for values in read.values.values() for each in values] == ["60.1 mm"]


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_shrugs_the_later_is_told(rules: RuleSet, turned: bool) -> None:
    entries = [
        "place: 1 upper, moment: strip, findings: {scoring: could not be judged}",
        "place: 1 upper, moment: clean, findings: {scoring: lost}",
    ]
    seen = _item(rules, "half_shell", *(entries[::-1] if turned else entries)).findings["scoring"]
    assert (seen.extent, seen.state) == (None, "lost")


@pytest.mark.parametrize("turned", [False, True])
def test_what_work_has_voided_stays_void_where_it_could_not_be_taken_again(
    rules: RuleSet, turned: bool
) -> None:
    entries = [
        "place: 1, moment: clean, readings: {diameter: {values: {front x: 59.9 mm}}}",
        "place: 1, moment: after machining, readings: {diameter: {value: lost}}",
    ]
    text = "done: [{operation: grind, part: shaft_journal, place: 1}]\nbench:\n"
    text += "".join(
        f"  - {{part: shaft_journal, {each}}}\n" for each in (entries[::-1] if turned else entries)
    )
    case, document = small.case(text)
    bench = lay_out(small.engine(rules), case, rules, document)
    read = next(item for item in bench.items if item.key.kind == "shaft_journal").readings["diameter"]
    assert (dict(read.values), read.state) == ({}, "lost")
