"""A case laid on the items of its engine: places, moments, what cancels what, and what contradicts what."""

from __future__ import annotations

import itertools
import random
from decimal import Decimal
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from advisor.faults import Faults
from advisor.sheets.bench import Bench, BenchItem
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from tests.decide import small


@cache
def rules() -> RuleSet:
    with TemporaryDirectory() as folder:
        return small.ruleset(Path(folder))


def bench(*entries: str, rest: str = "", by: RuleSet | None = None) -> Bench:
    """The bench of bench entries, each the inside of a mapping, and of further sections."""
    text = "bench:\n" + "".join(f"  - {{{entry}}}\n" for entry in entries) if entries else ""
    case, document = small.case(text + rest)
    by = by or rules()
    return lay_out(small.engine(by), case, by, document)


def seen(laid: Bench, kind: str, finding: str) -> dict[str, str | None]:
    """By place of a kind: the extent of a finding; items that nobody looked at are left out."""
    return {
        item.key.where: item.findings[finding].extent
        for item in laid.items
        if item.key.kind == kind and finding in item.findings
    }


def item(laid: Bench, kind: str, where: str = "", tag: str = "", origin: str = "fitted") -> BenchItem:
    (found,) = [
        each
        for each in laid.items
        if (each.key.kind, each.key.where, each.key.tag, each.key.origin) == (kind, where, tag, origin)
    ]
    return found


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("all", "1 upper, 1 lower, 2 upper, 2 lower, 3 upper, 3 lower"),
        ("1 to 2", "1 upper, 1 lower, 2 upper, 2 lower"),
        ("3 lower", "3 lower"),
        ("3", "3 upper, 3 lower"),
        ("lower", "1 lower, 2 lower, 3 lower"),
        ("2 to 3 upper", "2 upper, 3 upper"),
        ("1 upper to lower", "1 upper, 1 lower"),
        ("1 to 3 lower, 2", "1 lower, 2 upper, 2 lower, 3 lower"),
        ("1 , 3 upper", "1 upper, 1 lower, 3 upper"),
        ("2 to 2 upper", "2 upper"),
    ],
)
def test_places_as_people_write_them(text: str, places: str) -> None:
    laid = bench(f"part: half_shell, place: '{text}', findings: {{scoring: light}}")
    assert ", ".join(seen(laid, "half_shell", "scoring")) == places


def test_every_item_of_the_engine_lies_on_the_bench_though_nobody_speaks_of_it() -> None:
    laid = bench()
    kinds = [each.key.kind for each in laid.items]
    assert {kind: kinds.count(kind) for kind in kinds} == {
        "shaft": 1, "shaft_journal": 3, "half_shell": 6, "gasket": 1, "lever": 1,
    }  # fmt: skip
    assert all(each.opened and not each.findings and not each.readings for each in laid.items)


def test_a_later_moment_goes_over_an_earlier_one_however_the_lines_stand() -> None:
    moments = {"strip": "none", "clean": "line", "running": "none"}
    entries = [
        f"part: shaft, moment: {moment}, findings: {{crack: {word}}}" for moment, word in moments.items()
    ]
    for order in itertools.permutations(entries):
        assert seen(bench(*order), "shaft", "crack") == {"": "line"}


def test_an_earlier_moment_is_no_contradiction_and_the_same_twice_is_none() -> None:
    same = "part: shaft, findings: {crack: none}"
    assert seen(bench(same, same), "shaft", "crack") == {"": "none"}


def test_otherwise_none_speaks_for_every_other_finding_but_not_for_what_cleaning_destroys() -> None:
    laid = bench("part: shaft, otherwise: none")
    assert {name: each.extent for name, each in item(laid, "shaft").findings.items()} == {"crack": "none"}
    laid = bench("part: shaft, moment: strip, otherwise: none")
    assert {name: each.extent for name, each in item(laid, "shaft").findings.items()} == {
        "crack": "none",
        "debris": "none",
    }


@pytest.mark.parametrize("word", ["lost", "could not be judged", "not looked at"])
def test_otherwise_none_takes_nothing_off_that_was_said(word: str) -> None:
    said = f"part: shaft, moment: strip, findings: {{crack: {word}}}"
    for entries in ((said, "part: shaft, otherwise: none"), ("part: shaft, otherwise: none", said)):
        crack = item(bench(*entries), "shaft").findings["crack"]
        assert (crack.extent, crack.state) == (None, word)
    deep = bench(
        "part: half_shell, place: '1', moment: strip, findings: {scoring: deep}",
        "part: half_shell, otherwise: none",
    )
    assert seen(deep, "half_shell", "scoring")["1 upper"] == "deep"
    assert seen(deep, "half_shell", "scoring")["2 upper"] == "none"


def test_six_different_facts_stay_six() -> None:
    laid = bench(
        "part: half_shell, place: 1 upper, findings: {scoring: none}",
        "part: half_shell, place: 1 lower, findings: {scoring: light}",
        "part: half_shell, place: 2 upper, findings: {scoring: not looked at}",
        "part: half_shell, place: 2 lower, findings: {scoring: could not be judged}",
        "part: half_shell, place: 3 upper, findings: {scoring: lost}",
        "part: half_shell, place: 3 lower, opened: no",
    )
    found = [each.findings["scoring"] for each in laid.items if each.key.kind == "half_shell"]
    assert [(each.extent, each.state) for each in found] == [
        ("none", None),
        ("light", None),
        (None, "not looked at"),
        (None, "could not be judged"),
        (None, "lost"),
        (None, "not opened"),
    ]
    assert not item(laid, "half_shell", "3 lower").opened


@pytest.mark.parametrize("turned", [False, True])
def test_what_is_opened_later_was_opened_and_what_ran_unopened_was_not(turned: bool) -> None:
    def laid(*entries: str) -> BenchItem:
        return item(bench(*(reversed(entries) if turned else entries)), "shaft")

    assert laid("part: shaft, moment: strip, opened: no", "part: shaft, findings: {crack: none}").opened
    closed = laid("part: shaft, moment: running, findings: {crack: none}", "part: shaft, opened: no")
    assert not closed.opened
    assert closed.findings["crack"].state == "not opened"


def test_items_whose_place_is_lost_stand_for_those_they_were_mixed_up_from() -> None:
    laid = bench(
        "part: half_shell, place: unknown, tag: A, from_among: '1 upper, 3 upper', findings: {scoring: deep}",
        "part: half_shell, place: unknown, tag: B, from_among: '1 upper, 3 upper', findings: {scoring: none}",
        "part: half_shell, place: '2', findings: {scoring: light}",
    )
    shells = [each for each in laid.items if each.key.kind == "half_shell"]
    assert [(each.key.where, each.key.tag) for each in shells] == [
        ("1 lower", ""),
        ("2 upper", ""),
        ("2 lower", ""),
        ("3 lower", ""),
        ("unknown", "A"),
        ("unknown", "B"),
    ]
    assert shells[4].candidates == {("1", "upper"), ("3", "upper")}
    index = laid.items.index(shells[4])
    linked = [laid.items[other].key.where for other in laid.links["runs_on"][index]]
    assert linked == ["1", "3"], "it may have run on either"


def test_two_entries_with_one_tag_are_of_one_item() -> None:
    laid = bench(
        "part: half_shell, place: unknown, tag: A, from_among: upper, findings: {scoring: deep}",
        "part: half_shell, place: unknown, tag: A, findings: {particles: few}",
        *(f"part: half_shell, place: unknown, tag: {tag}, from_among: upper" for tag in "BC"),
    )
    lost = item(laid, "half_shell", "unknown", "A")
    assert lost.candidates == {("1", "upper"), ("2", "upper"), ("3", "upper")}
    assert [each.extent for each in lost.findings.values()] == ["deep", "few"]


def test_a_place_whose_item_was_mixed_up_may_have_no_entry_of_its_own() -> None:
    lost = [
        f"part: half_shell, place: unknown, tag: {tag}, from_among: '1', findings: {{scoring: none}}"
        for tag in "AB"
    ]
    for own, fault in (("1 upper", True), ("2 upper", False), ("all", False)):
        entries = [f"part: half_shell, place: {own}, findings: {{scoring: deep}}", *lost]
        for order in (entries, entries[::-1]):
            if fault:
                with pytest.raises(Faults, match="place-mixed-up"):
                    bench(*order)
            else:
                assert item(bench(*order), "half_shell", "unknown", "A").opened


def test_a_second_hand_part_lies_beside_the_fitted_one_and_is_no_part_of_the_engine() -> None:
    laid = bench(
        "part: shaft_journal, place: '2', origin: second-hand, tag: shelf, findings: {heat: blue}",
        "part: shaft_journal, place: '2', findings: {heat: none}",
        "part: half_shell, place: 2 upper, findings: {scoring: none}",
    )
    other = item(laid, "shaft_journal", "2", "shelf", "second-hand")
    assert other.findings["heat"].extent == "blue"
    assert other.properties == {}
    assert item(laid, "shaft_journal", "2").findings["heat"].extent == "none"
    assert laid.items.index(other) not in laid.links["carries"]
    shell = laid.items.index(item(laid, "half_shell", "2 upper"))
    assert [laid.items[each].key.origin for each in laid.links["runs_on"][shell]] == ["fitted"]


FULL = "front x: 59.98 mm, front y: 59.98 mm, rear x: 59.98 mm, rear y: 59.98 mm"


def test_an_operation_voids_what_was_measured_before_it_and_not_after() -> None:
    def diameters(moment: str, done: str) -> object:
        values = f"{{diameter: {{values: {{{FULL}}}}}}}"
        entry = f"part: shaft_journal, place: all, moment: {moment}, readings: {values}"
        laid = bench(entry, rest=f"done: [{{operation: grind, part: shaft_journal, place: '{done}'}}]\n")
        return ["diameter" in each.readings for each in laid.items if each.key.kind == "shaft_journal"]

    assert diameters("clean", "2") == [True, False, True]
    assert diameters("running", "all") == [False, False, False]
    assert diameters("after machining", "all") == [True, True, True]


def test_an_operation_voids_what_was_seen_too_and_on_linked_items(tmp_path: Path) -> None:
    voids = (
        "voids: [diameter, heat]\n    voids_linked: [{relation: carries, kind: half_shell, voids: [scoring]}]"
    )
    by = small.ruleset(tmp_path, vocabulary=small.VOCABULARY.replace("voids: [diameter]", voids))
    laid = bench(
        "part: shaft_journal, findings: {heat: straw}, otherwise: none",
        "part: half_shell, findings: {particles: few}, otherwise: none",
        "part: half_shell, place: 2 lower, moment: after machining, findings: {scoring: light}",
        rest="done: [{operation: grind, part: shaft_journal, place: 2}]\n",
        by=by,
    )
    assert seen(laid, "shaft_journal", "heat") == {"1": "straw", "3": "straw"}
    assert seen(laid, "shaft_journal", "scoring") == dict.fromkeys("123", "none")
    scoring = seen(laid, "half_shell", "scoring")
    assert {place: scoring.get(place) for place in ("1 upper", "2 upper", "2 lower")} == {
        "1 upper": "none",
        "2 upper": None,
        "2 lower": "light",
    }
    assert seen(laid, "half_shell", "particles")["2 upper"] == "few"


BASKET = [
    f"part: shaft_journal, place: unknown, tag: {tag}, from_among: 1 to 2, findings: {{heat: straw}}, "
    f"readings: {{diameter: {{values: {{{FULL}}}}}}}"
    for tag in "AB"
]


@pytest.mark.parametrize(
    ("items", "voided"), [("place: unknown, tag: A", ["A"]), ("place: all", ["A", "B"]), ("place: '3'", [])]
)
def test_work_on_a_part_that_was_mixed_up_voids_what_was_measured_on_it(
    items: str, voided: list[str]
) -> None:
    laid = bench(*BASKET, rest=f"done: [{{operation: grind, part: shaft_journal, {items}}}]\n")
    basket = [item(laid, "shaft_journal", "unknown", tag) for tag in "AB"]
    assert [each.key.tag for each in basket if "diameter" not in each.readings] == voided


def test_work_voids_what_may_be_linked(tmp_path: Path) -> None:
    voids = "voids: [diameter]\n    voids_linked: [{relation: carries, kind: half_shell, voids: [scoring]}]"
    by = small.ruleset(tmp_path, vocabulary=small.VOCABULARY.replace("voids: [diameter]", voids))
    shells = [
        f"part: half_shell, place: unknown, tag: {tag}, from_among: '1', findings: {{scoring: none}}"
        for tag in "CD"
    ]
    done = "done: [{{operation: grind, part: shaft_journal, {}}}]\n"
    kept = [f"part: half_shell, place: '{place}', findings: {{scoring: none}}" for place in "23"]
    known = bench(*shells, *kept, rest=done.format("place: 1"), by=by)
    assert list(seen(known, "half_shell", "scoring")) == ["2 upper", "2 lower", "3 upper", "3 lower"]
    unknown = bench(*BASKET, *shells, *kept, rest=done.format("place: unknown, tag: B"), by=by)
    assert list(seen(unknown, "half_shell", "scoring")) == ["3 upper", "3 lower"], "it may carry 1 or 2"


def test_everything_else_is_told_of_mixed_up_parts_too() -> None:
    laid = bench(
        *BASKET,
        *(f"part: half_shell, place: unknown, tag: {tag}, from_among: '3'" for tag in "CD"),
        rest="""
found_sizes:
  - {part: shaft_journal, place: unknown, tag: A, size: -0.25 mm, read_on: the web}
cleans_up:
  - {part: shaft_journal, operation: grind, size: 59.62 mm, by: Ann}
causes:
  - {concern: dirty_oil, part: half_shell, place: unknown, tag: D, state: found, by: Bob, because: seen}
  - {concern: dirty_oil, part: half_shell, place: 1 to 2, state: ruled out, by: Bob, because: not there}
risks:
  - {part: shaft_journal, place: unknown, tag: B, answer: reuse, by: Ann, because: no other to be had}
""",
    )
    journals = {each.key.tag: each for each in laid.items if each.key.kind == "shaft_journal"}
    assert {tag: each.found_size for tag, each in journals.items()} == {
        "": None,
        "A": Decimal("-0.25"),
        "B": None,
    }
    assert [list(each.cleans_up) for each in journals.values()] == [["grind"]] * 3
    found = [laid.items[index].key.tag for (_, index), cause in laid.causes.items() if cause.state == "found"]
    assert found == ["D"]
    assert len(laid.causes) == 5
    assert [laid.items[index].key.tag for index in laid.risks] == ["B"]


def test_one_entry_cannot_stand_for_several_parts() -> None:
    for fewer in (
        ["part: half_shell, place: unknown"],
        ["part: half_shell, place: unknown, from_among: '2 lower, 3 lower'"],
        ["part: half_shell, place: unknown, tag: A, from_among: '1'"] * 2,
    ):
        with pytest.raises(Faults, match="mixed-up-number"):
            bench(*fewer)
    other = "part: half_shell, place: unknown, origin: second-hand, tag: shelf"
    assert item(bench(other), "half_shell", "unknown", "shelf", "second-hand").opened


def test_positions_of_one_reading_may_stand_in_two_entries() -> None:
    halves = [
        "part: shaft_journal, place: '1', readings: {diameter: {values: {front x: 59.98 mm}}}",
        "part: shaft_journal, place: '1', readings: {diameter: {values: {rear y: [59.97 mm, 59.96 mm]}}}",
    ]
    for order in (halves, halves[::-1]):
        values = item(bench(*order), "shaft_journal", "1").readings["diameter"].values
        assert {position: len(each) for position, each in values.items()} == {"front x": 1, "rear y": 2}


@pytest.mark.parametrize(
    ("words", "state"),
    [
        (("lost", "lost", "lost", "lost"), "lost"),
        (("lost", "could not be measured", "lost", "lost"), "could not be judged"),
        (("could not be measured", "lost", "lost", "lost"), "could not be judged"),
        (("lost", "lost", "lost"), "not looked at"),
        (("lost", "not looked at", "could not be measured", "lost"), "not looked at"),
    ],
)
def test_what_can_still_be_measured_is_not_out_of_reach(words: tuple[str, ...], state: str) -> None:
    positions = ("front x", "front y", "rear x", "rear y")
    pairs = list(zip(positions, words, strict=False))
    for order in (pairs, pairs[::-1]):
        values = ", ".join(f"{position}: {word}" for position, word in order)
        laid = bench(f"part: shaft_journal, place: '1', readings: {{diameter: {{values: {{{values}}}}}}}")
        assert item(laid, "shaft_journal", "1").readings["diameter"].state == state


def test_found_sizes_clean_ups_and_causes_are_kept_with_their_items() -> None:
    laid = bench(
        rest="""
found_sizes:
  - {part: shaft_journal, place: 1 to 2, size: -0.25 mm, read_on: the web}
cleans_up:
  - {part: shaft_journal, place: '3', operation: grind, size: 59.62 mm, by: Ann}
causes:
  - {concern: dirty_oil, part: half_shell, place: 2 lower, state: ruled out, by: Bob, because: filter was new}
"""
    )
    journals = [each for each in laid.items if each.key.kind == "shaft_journal"]
    assert [each.found_size for each in journals] == [Decimal("-0.25"), Decimal("-0.25"), None]
    assert [dict(each.cleans_up) for each in journals] == [{}, {}, {"grind": Decimal("59.62")}]
    ((concern, index),) = laid.causes
    assert (concern, laid.items[index].key.where) == ("dirty_oil", "2 lower")
    assert laid.causes[concern, index].state == "ruled out"


CASE = [
    "part: half_shell, place: unknown, tag: A, from_among: '1 upper, 2 upper', findings: {scoring: deep}",
    "part: half_shell, place: unknown, tag: B, from_among: '1 upper, 2 upper', otherwise: none",
    "part: half_shell, place: lower, moment: strip, otherwise: none",
    "part: half_shell, place: 1 lower, findings: {particles: many}",
    "part: shaft_journal, place: '1', origin: second-hand, tag: x, findings: {heat: straw}",
    f"part: shaft_journal, place: all, readings: {{diameter: {{values: {{{FULL}}}}}}}",
    "part: shaft_journal, place: '2', moment: running, readings: {diameter: {values: {front x: 59.7 mm}}}",
    "part: gasket, opened: no",
    "part: shaft, moment: strip, findings: {debris: lost}",
    "part: shaft, otherwise: none",
]


def test_the_order_of_entries_changes_nothing() -> None:
    first = bench(*CASE)
    turned = list(CASE)
    for seed in range(20):
        random.Random(seed).shuffle(turned)
        again = bench(*turned)
        assert (again.links, again.sets) == (first.links, first.sets)
        for one, other in zip(first.items, again.items, strict=True):
            assert one.key == other.key
            assert (one.opened, one.candidates) == (other.opened, other.candidates)
            assert {name: (each.extent, each.state) for name, each in one.findings.items()} == {
                name: (each.extent, each.state) for name, each in other.findings.items()
            }
            assert {name: each.values for name, each in one.readings.items()} == {
                name: each.values for name, each in other.readings.items()
            }


def test_faults_stand_in_the_order_of_the_file() -> None:
    with pytest.raises(Faults) as raised:
        bench(
            "part: shaft, findings: {crack: some}",
            "part: lever, findings: {crack: none}",
            rest="found_sizes: [{part: levr, size: 0 mm, read_on: x}]\n",
        )
    lines = [fault.at.line for fault in raised.value.faults if fault.at is not None]
    assert lines == [5, 6, 7]


def refused(entry: str = "", rest: str = "", by: str = small.ENGINE) -> list[str]:
    """The codes of the faults of a case with one entry on the bench, on a sheet."""
    case, document = small.case((f"bench:\n  - {{{entry}}}\n" if entry else "") + rest)
    try:
        lay_out(small.engine(rules(), by), case, rules(), document)
    except Faults as faults:
        return [fault.code for fault in faults.faults]
    return []


@pytest.mark.parametrize(
    ("size", "furthest", "code"),
    [
        ("59.75 mm", "", ""),
        ("59.70 mm", "", ""),
        ("60.000 mm", "", ""),
        ("57.00 mm", "", ""),
        ("56.99 mm", "", "clean-up-size"),
        ("6.975 mm", "", "clean-up-size"),
        ("-0.25 mm", "", "clean-up-size"),
        ("0 mm", "", "clean-up-size"),
        ("60.25 mm", "", "wrong-side-of-new"),
        ("600 mm", "", "wrong-side-of-new"),
        ("59.30 mm", "59.25 mm", ""),
        ("59.25 mm", "59.25 mm", ""),
        ("59.20 mm", "59.25 mm", "clean-up-size"),
    ],
)
def test_a_clean_up_size_that_cannot_be_condemns_nothing(size: str, furthest: str, code: str) -> None:
    sheet = small.ENGINE
    if furthest:
        sheet = sheet.replace("stock: 0.05 mm", f"stock: 0.05 mm, furthest: {furthest}")
    entry = f"cleans_up: [{{part: shaft_journal, place: '1', operation: grind, size: {size}, by: Ann}}]\n"
    assert refused(rest=entry, by=sheet) == ([code] if code else [])


@pytest.mark.parametrize(
    ("size", "code"),
    [("-0.25 mm", ""), ("0 mm", ""), ("0.25 mm", "wrong-side-of-new"), ("-59.75 mm", "repair-size-far")],
)
def test_a_found_size_is_a_difference(size: str, code: str) -> None:
    rest = f"found_sizes: [{{part: shaft_journal, size: {size}, read_on: web}}]\n"
    assert refused(rest=rest) == ([code] if code else [])


READS = "readings: {diameter: {values: {front x: 59.98 mm}}}"


@pytest.mark.parametrize(
    ("entry", "journals", "code"),
    [
        (f"part: shaft_journal, {READS}", 3, "place-left-out"),
        (f"part: shaft_journal, place: '', {READS}", 3, "place-left-out"),
        (f"part: shaft_journal, {READS}", 1, ""),
        (f"part: shaft_journal, place: all, {READS}", 3, ""),
        (f"part: shaft_journal, place: '2', {READS}", 3, ""),
        (f"part: shaft_journal, origin: new, tag: x, {READS}", 3, "place-left-out"),
        ("part: shaft_journal, findings: {heat: straw}", 3, ""),
    ],
)
def test_a_measurement_says_of_which_item_it_is(entry: str, journals: int, code: str) -> None:
    sheet = small.ENGINE.replace("journal: 3", f"journal: {journals}")
    assert refused(entry, by=sheet) == ([code] if code else [])


def test_what_is_no_entry_of_one_place_still_leaves_the_mixed_up_ones_alone() -> None:
    laid = bench(
        "part: half_shell, place: unknown, tag: A, from_among: '1 upper, 2 upper', otherwise: none",
        "part: half_shell, place: unknown, tag: B, from_among: '1 upper, 2 upper', otherwise: none",
        "part: half_shell, findings: {particles: few}",
    )
    assert "1 lower" in seen(laid, "half_shell", "particles")


@pytest.mark.parametrize("size", ["0 mm", "-59.98 mm"])
def test_a_size_of_a_part_is_never_nothing_or_less(size: str) -> None:
    entry = f"part: shaft_journal, place: '1', readings: {{diameter: {{values: {{front x: {size}}}}}}}"
    assert refused(entry) == ["size-not-positive"]


def messages(entry: str) -> list[str]:
    with pytest.raises(Faults) as raised:
        bench(entry)
    return [str(fault) for fault in raised.value.faults]


@pytest.mark.parametrize(
    ("entry", "meant"),
    [
        ("part: Half shell, findings: {scoring: none}", "half_shell"),
        ("part: HALF-SHELL, findings: {scoring: none}", "half_shell"),
        ("part: half_shell, findings: {Embedded Particles: none}", "particles"),
        ("part: half_shell, findings: {embedded_particle: none}", "particles"),
        ("part: half_shell, findings: {particles: None}", "none"),
        ("part: half_shell, findings: {particles: NOT LOOKED AT}", "not looked at"),
        ("part: shaft_journal, place: '1', readings: {Diameter: {values: {front x: 60 mm}}}", "diameter"),
        ("part: shaft_journal, place: '1', readings: {diameter: {values: {y rear: 60 mm}}}", "rear y"),
    ],
)
def test_a_label_or_another_spelling_finds_its_word(entry: str, meant: str) -> None:
    (message,) = messages(entry)
    assert f'did you mean "{meant}"?' in message


def test_only_the_words_of_this_part_are_offered_and_none_can_be_declared_in_a_case() -> None:
    (message,) = messages("part: shaft, findings: {xyz: none}")
    assert "expected one of crack, debris; correct the word here [unknown-word]" in message


def test_characters_that_are_not_seen_are_written_out() -> None:
    (message,) = messages("part: half_shell, place: '1\u200b lower', findings: {scoring: none}")
    assert '"1\\u200b lower" is no place' in message
    (message,) = messages("part: half\u200b_shell, findings: {scoring: none}")
    assert '"half\\u200b_shell" is not a kind of part' in message
