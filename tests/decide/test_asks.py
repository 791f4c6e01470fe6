"""What is asked for: only what is missing, only where a verdict hangs on it, and never in vain."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from advisor.verdicts.model import Ask, Verdict
from tests.decide import small
from tests.decide.deciding import (
    ItemName,
    by_item,
    decide_data,
    decide_text,
    demo,
    demo_data,
    demo_rules,
    on,
    possible,
)
from tests.decide.generate import POSITIONS, SCALES, cases
from tests.decide.test_verdicts import ALL_JOURNALS, SOUND_SHELLS, worn

WAYS = (0, 1, 2)
"""How an ask may be answered. A size has something between: worn, and not beyond being ground."""


def answered(data: dict[str, Any], ask: Ask, how: int) -> dict[str, Any]:
    """The case of the rig with one ask answered: in the mildest way, in the harshest, or in between."""
    place = ask.place or "all"
    if ask.kind == "found size":
        return _arrived(data, place, ("0 mm", "-0.25 mm", "-0.50 mm")[how])
    if ask.kind == "worn side":
        size = ("59.990 mm", "59.760 mm", "59.200 mm")[how]
        shown = {"part": ask.part, "place": place, "operation": "grind", "size": size, "by": "the grinder"}
        return _with(data, "cleans_up", shown)
    entry: dict[str, Any] = {"part": ask.part, "place": place, "moment": "after machining"}
    if ask.place == "unknown":
        entry["tag"] = ask.tag
    if ask.kind == "finding":
        extent = SCALES[ask.reading][(0, 1, -1)[how]]
        return _with(data, "bench", {**entry, "findings": {ask.reading: extent}})
    assert ask.kind == "dimension"
    if "cannot be right" in ask.says:
        data = _arrived(data, ask.place.split()[0], "0 mm")
    if ask.reading == "play":
        bore = {"with": "micrometer", "value": ("60.000 mm", "60.080 mm", "70.000 mm")[how]}
        data = _with(data, "bench", {**entry, "readings": {"bore": bore}})
    if ask.reading in ("wear", "diameter") or "diameter" in ask.says:
        # New for what it arrived as, then worn and still to be ground, then far gone.
        arrived = Decimal(_sizes_found(data).get(ask.place.split()[0], "0 mm").removesuffix(" mm"))
        size = f"{60 + arrived - (Decimal(0), Decimal('0.1'), Decimal(2))[how]} mm"
        diameter = {"with": "exact_micrometer", "values": dict.fromkeys(POSITIONS, size)}
        journal = {"part": "shaft_journal", "moment": "after machining", "place": ask.place.split()[0]}
        data = _with(data, "bench", {**journal, "readings": {"diameter": diameter}})
    return data


def _sizes_found(data: dict[str, Any]) -> dict[str, str]:
    """By journal: the repair size it is said to have arrived with."""
    return {
        place: each["size"]
        for each in data.get("found_sizes", ())
        for place in (("1", "2", "3") if each.get("place", "all") == "all" else (each["place"],))
    }


def _arrived(data: dict[str, Any], place: str, size: str) -> dict[str, Any]:
    """The case with another size that a journal arrived with."""
    sizes = {**_sizes_found(data), **dict.fromkeys(("1", "2", "3") if place == "all" else (place,), size)}
    said = [
        {"part": "shaft_journal", "place": where, "size": each, "read_on": "the web"}
        for where, each in sorted(sizes.items())
    ]
    return {**data, "found_sizes": said}


def _with(data: dict[str, Any], section: str, entry: dict[str, Any]) -> dict[str, Any]:
    """The case with one more entry, in place of an earlier answer about the same."""

    def subject(each: dict[str, Any]) -> tuple[object, ...]:
        about = (*each.get("findings", ()), *each.get("readings", ()))
        return each["part"], each.get("place"), each.get("moment"), about

    kept = [each for each in data.get(section, []) if subject(each) != subject(entry)]
    return {**data, section: [*kept, entry]}


def in_vain(data: dict[str, Any]) -> list[tuple[str, str, Ask]]:
    """The asks of a case whose answer makes no difference anywhere, whatever all that is still open gives."""
    return [
        (verdict.part, verdict.place, ask)
        for verdict in decide_data(data).verdicts
        for ask in verdict.asks
        if not any(_differs(data, ask, by_item(decide_data(data)), rest) for rest in WAYS)
    ]


def _differs(data: dict[str, Any], ask: Ask, before: dict[ItemName, Verdict], rest: int) -> bool:
    at_once = [possible(decide_data(answered(data, ask, how))) for how in WAYS]
    if any(each != {name: verdict.possible for name, verdict in before.items()} for each in at_once):
        return True
    asking = [name for name, verdict in before.items() if ask in verdict.asks]
    in_the_end = [_settled(answered(data, ask, how), ask, asking, rest) for how in WAYS]
    if ask.kind == "found size":
        # A size that does not go with the measure is questioned until it does: there may be one answer only.
        in_the_end.append(_settled(data, ask, asking, rest))
    return any(each != in_the_end[0] for each in in_the_end)


def _settled(data: dict[str, Any], but: Ask, asking: list[ItemName], how: int) -> object:
    """What is possible once all else that these items ask for, and then ask for, is answered."""
    for _ in range(6):
        decision = decide_data(data)
        named = by_item(decision)
        asks = [
            each
            for name in asking
            if name in named
            for each in named[name].asks
            if each.reading != but.reading or each.place != but.place
        ]
        if not asks:
            break
        for each in asks:
            data = answered(data, each, how)
    return possible(decide_data(data))


def test_all_that_is_asked_about_an_empty_bench_matters() -> None:
    data: dict[str, Any] = {"bench": []}
    assert sum(len(verdict.asks) for verdict in decide_data(data).verdicts) > 10
    assert in_vain(data) == []


@settings(max_examples=20)
@given(cases())
def test_no_ask_is_in_vain(data: dict[str, Any]) -> None:
    assert in_vain(data) == []


@settings(max_examples=150)
@given(cases())
def test_only_what_is_open_asks_and_only_for_what_is_missing(data: dict[str, Any]) -> None:
    decision = decide_data(data)
    for verdict in decision.verdicts:
        if verdict.verdict != "undecided" or not verdict.opened:
            assert verdict.asks == ()
        assert len(set(verdict.asks)) == len(verdict.asks)
        for ask in verdict.asks:
            assert ask.says
            assert ask.because
            if ask.kind == "finding":
                known = [
                    entry["findings"][ask.reading]
                    for entry in data["bench"]
                    if entry["part"] == ask.part
                    and entry["place"] in (ask.place, "all")
                    and ask.reading in entry.get("findings", {})
                ]
                assert set(known) <= {"not looked at"}


@settings(max_examples=100)
@given(cases())
def test_what_hangs_and_asks_nothing_says_that_nothing_more_can_be_looked_at(data: dict[str, Any]) -> None:
    for verdict in decide_data(data).verdicts:
        if verdict.verdict == "undecided" and verdict.opened and verdict.part != "lever" and not verdict.asks:
            told = ("nothing more can be looked at", "(not opened)")
            assert any(words in note for note in verdict.notes for words in told)


def test_a_size_that_cannot_be_measured_is_asked_of_the_machine() -> None:
    text = ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.900 mm")
    text += """
  - part: shaft_journal
    place: 1
    moment: after machining
    readings: {diameter: {value: could not be measured}}
"""
    text = "\ndone: [{operation: grind, part: shaft_journal, place: 1}]" + text
    journal = on(decide_text(text), "shaft_journal", "2")
    assert journal.possible == ("recondition", "replace")
    assert [(ask.kind, ask.place) for ask in journal.asks] == [("worn side", "1")]


def test_it_asks_about_a_related_item_where_the_answer_hangs_on_that() -> None:
    text = (ALL_JOURNALS + SOUND_SHELLS).replace("bore: {with: micrometer, value: 60.000 mm}", "")
    text = text.replace("readings: {}", "")
    shell = on(decide_text(text.replace("    readings: {}\n", "")), "half_shell", "2 upper")
    assert [(ask.reading, ask.part, ask.place) for ask in shell.asks] == [("play", "half_shell", "2 upper")]


def test_where_evidence_is_lost_it_asks_whether_it_is_wanted_at_all(tmp_path: Path) -> None:
    extra = """
  - id: journal-straw
    for: shaft_journal
    when: {finding: heat, at_least: straw}
    then: {require: {finding: scoring, before: reuse, because: heat may have torn it, safe_side: replace}}
    because: straw is warm
    cite: [{source: made_up}]
    examples: {fires: [{heat: straw}], holds: [{}]}
"""
    rules = small.ruleset(tmp_path, rules=small.RULES.rstrip("\n") + "\n" + extra)
    sheet = small.engine(rules)
    lost = (ALL_JOURNALS + SOUND_SHELLS).replace("scoring: none}\n\n", "scoring: lost}\n\n")
    for heat, left, asks in (
        ("none", ("reuse",), []),
        ("straw", ("replace",), []),
        ("not looked at", ("reuse", "replace"), ["heat"]),
    ):
        journal = on(
            decide_text(lost.replace("heat: none", f"heat: {heat}"), rules, sheet), "shaft_journal", "1"
        )
        assert (journal.possible, [ask.reading for ask in journal.asks]) == (left, asks)


@pytest.fixture(scope="module")
def demo_asks() -> list[tuple[Verdict, Ask]]:
    decision = decide_data(demo_data(), demo_rules(), demo().sheet)
    return [(verdict, ask) for verdict in decision.verdicts for ask in verdict.asks]


MEASURED = {"piston_protrusion": "0.43 mm"}
"""Of readings that the demo asks for: a size as it should be."""


def _answers(ask: Ask) -> Iterator[dict[str, Any]]:
    """What may come of an ask, as keys of an entry on the bench: best and worst, and of a size the best."""
    vocabulary = demo_rules().vocabulary
    if ask.kind == "finding":
        scale = list(vocabulary.findings[ask.reading].extents)
        yield from ({"findings": {ask.reading: extent}} for extent in (scale[0], scale[-1]))
        return
    positions = vocabulary.readings[ask.reading].positions()
    values = dict.fromkeys(positions, MEASURED[ask.reading])
    yield {"readings": {ask.reading: {"limit_of_error": "0.01 mm", "values": values}}}


def test_every_ask_of_the_demo_matters(demo_asks: list[tuple[Verdict, Ask]]) -> None:
    assert demo_asks, "the demo is to show an undecided part with a clear ask"
    before = possible(decide_data(demo_data(), demo_rules(), demo().sheet))
    for _, ask in demo_asks:
        after = []
        for answer in _answers(ask):
            entry = {"part": ask.part, "place": ask.place or "all", "moment": "after machining"}
            bench = [*demo_data()["bench"], {**entry, **answer}]
            after.append(possible(decide_data({**demo_data(), "bench": bench}, demo_rules(), demo().sheet)))
        answers = [before, *after] if len(after) == 1 else after
        assert answers[0] != answers[1], f"{ask.reading} of {ask.part} {ask.place} makes no difference"
        assert before in after or all(each != before for each in after)


def test_no_settled_item_of_the_demo_asks() -> None:
    decision = decide_data(demo_data(), demo_rules(), demo().sheet)
    assert not [v for v in decision.verdicts if v.asks and v.verdict != "undecided"]
