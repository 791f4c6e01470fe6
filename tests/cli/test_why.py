"""`advisor why` and how it finds the item that is meant."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import advisor
from advisor.explain.why import LEVELS, Branch, Told, Why, why
from tests.cli.rig import CASE, Ran, Rig, build
from tests.decide import small

Run = Callable[..., Ran]


def test_the_chain_behind_a_verdict(run: Run, rig: Rig) -> None:
    done = run("why", rig.case, "shaft_journal", "3", "--rules", rig.rules)
    assert done.code == 0
    out = " ".join(done.out.split())
    assert out.startswith("Journal 3: RECONDITION")
    assert "worn beyond its limit" in out
    assert "limit from the engine sheet, p. 4" in out
    assert "half shell 3 lower: dirt in the oil, because" in out
    assert "many particles cut the journal" in out
    assert "case.yaml:9:" in out
    assert "rules.yaml:" in out
    assert "journal-worn" not in out
    assert "\x1b" not in done.out
    assert max(map(len, done.out.splitlines())) <= 80 or "/" in done.out


def test_ids_are_shown_when_asked_for(run: Run, rig: Rig) -> None:
    out = run("why", rig.case, "shaft_journal", "3", "--rules", rig.rules, "--ids").out
    assert "Rule journal-worn." in out
    assert "Rule shell-particles; concludes dirty_oil." in out


@pytest.mark.parametrize(
    ("place", "heads"),
    [
        (("3", "lower"), 1),
        (("3 lower",), 1),
        (("3",), 2),
        (("lower",), 3),
        (("1 to 2 lower",), 2),
        (("1", "to", "3", "upper,", "3", "lower"), 4),
        (("all",), 6),
        ((), 6),
        (("lower 3",), 1),
        (("Lower", "3"), 1),
        (("lower 1 to 2",), 2),
        (("lower", "3,", "2", "upper"), 2),
    ],
)
def test_a_place_is_written_as_in_a_case(run: Run, rig: Rig, place: tuple[str, ...], heads: int) -> None:
    done = run("why", rig.case, "half_shell", *place, "--rules", rig.rules)
    assert done.code == 0
    assert sum(line.startswith("Half shell ") for line in done.out.splitlines()) == heads


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("haf_shell", "3 lower"), 'did you mean "half_shell"?'),
        (("sha",), "sha may be shaft (shaft), journal (shaft_journal); write more of its name"),
        (("  ",), "this engine has no part"),
        (
            ("piston",),
            "the rules judge shaft, shaft_journal, half_shell, gasket; `advisor start` lists every",
        ),
        (("foo",), "this engine has no part foo; the rules judge shaft"),
        (("half_shell", "3 lowr"), 'did you mean "3 lower"?'),
        (("half_shell", "9 lower"), "its places are 1 upper, 1 lower"),
        (("half_shell", "3 to 1"), "its places are"),
        (("half_shell", "3,"), "its places are"),
        (("gasket", "2"), "leave the place out"),
    ],
)
def test_a_part_or_place_that_is_not_there(run: Run, rig: Rig, words: tuple[str, ...], hint: str) -> None:
    done = run("why", rig.case, *words, "--rules", rig.rules)
    assert done.code == 2
    assert hint in done.err
    assert done.out == ""


def test_an_unopened_part(run: Run, rig: Rig) -> None:
    out = run("why", rig.case, "lever", "--rules", rig.rules).out
    assert out.startswith("Lever: NOT JUDGED")
    assert "not opened, not judged." in out


def test_json_of_the_chain(run: Run, rig: Rig) -> None:
    whole = json.loads(run("why", rig.case, "half-shell", "3", "--rules", rig.rules, "--json").out)
    assert whole["case"] == "a trial case"
    assert [each["verdict"]["place"] for each in whole["why"]] == ["3 upper", "3 lower"]
    lower = whole["why"][1]
    assert lower["reasons"][0]["rule"] == "shell-particles"
    assert lower["reasons"][0]["uses"][0]["line"]["name"] == "particles"


@pytest.mark.parametrize(
    "words", [("Half shell", "3 lower"), ("HALF", "3", "lower"), ("shell", "lower", "3")]
)
def test_a_part_is_named_by_its_label_or_any_words_of_it(run: Run, rig: Rig, words: tuple[str, ...]) -> None:
    exact = run("why", rig.case, "half_shell", "3 lower", "--rules", rig.rules)
    assert run("why", rig.case, *words, "--rules", rig.rules) == exact


def test_a_tag_stands_for_the_place_or_for_all(run: Run, tmp_path: Path) -> None:
    mixed = "  - {part: half_shell, place: unknown, tag: basket A, from_among: 3 upper}\n"
    case = CASE.replace("place: 1, 2, 3 upper", "place: 1, 2 upper").replace(
        "  - part: lever\n", mixed + "  - part: lever\n"
    )
    rig = build(tmp_path / "mixed", case)
    for words in (("basket a",), ("half shell", "tag", "Basket A"), ("half_shell", "unknown")):
        done = run("why", rig.case, *words, "--rules", rig.rules)
        assert done.out.startswith("Half shell place unknown, tag basket A: REPLACE"), done
    shown = run("decide", rig.case, "--rules", rig.rules, "--part", "basket A", "--part", "gasket", "--json")
    assert [each["part"] for each in json.loads(shown.out)["verdicts"]] == ["half_shell", "gasket"]
    missing = run("why", rig.case, "half_shell", "basket B", "--rules", rig.rules)
    assert missing.code == 2
    assert "its tags are basket A" in missing.err


def test_what_will_be_done_stands_under_the_verdict(run: Run, rig: Rig) -> None:
    out = " ".join(run("why", rig.case, "half_shell", "1 upper", "--rules", rig.rules).out.split())
    head = out[: out.index("Because:")]
    assert head.startswith("Half shell 1 upper: UNDECIDED: reuse or replace")
    assert "What will be done: REPLACE" in head
    assert "goes with its set: the shells: they are renewed as a set" in head
    out = " ".join(run("why", rig.case, "shaft_journal", "3", "--rules", rig.rules).out.split())
    head = out[: out.index("Because:")]
    assert "Ground: as it is it cannot be reused." in head
    assert "condemned" not in head
    assert "Caution, sparks: Grinding throws sparks." in head
    assert head.index("Caution, sparks") < head.index("Work: grind to undersize, to -0.250 mm or -0.500 mm")
    assert "Held: size between" in head


def test_a_caution_is_told_in_full_once_in_an_answer(run: Run, rig: Rig) -> None:
    out = " ".join(run("why", rig.case, "shaft_journal", "--rules", rig.rules).out.split())
    assert out.count("Grinding throws sparks.") == 1


def test_no_evidence_stands_twice_under_one_rule(run: Run, tmp_path: Path) -> None:
    rules = small.RULES.replace(
        "when: {finding: particles, at_least: many}",
        "when: {all: [{finding: particles, at_least: few}, {finding: particles, at_least: many}]}",
    )
    rig = build(tmp_path / "twice")
    (rig.rules / "rules.yaml").write_text(rules, encoding="utf-8")
    out = run("why", rig.case, "half_shell", "3 lower", "--rules", rig.rules).out
    assert out.count("embedded particles: many") == 1
    steps = json.loads(run("decide", rig.case, "--rules", rig.rules, "--json").out)["steps"]
    uses = next(each for each in steps if each["rule"] == "shell-particles")["uses"]
    assert [each["name"] for each in uses] == ["particles"]


def test_a_chain_of_any_length_is_told_to_its_end(run: Run, tmp_path: Path) -> None:
    length = 1100
    concerns = "".join(f"  c{number}: {{label: link {number}}}\n" for number in range(length))
    links = "".join(
        f"  - id: link-{number}\n    for: lever\n    when: {{concern: c{number - 1}}}\n"
        f"    then: {{concern: c{number}}}\n    because: link {number} follows\n"
        f"    cite: [{{source: made_up}}]\n"
        f"    examples: {{fires: [{{concerns: [c{number - 1}]}}], holds: [{{}}]}}\n"
        for number in range(1, length)
    )
    first = (
        "  - id: link-0\n    for: lever\n    when: {layout: fuel, is: diesel}\n    then: {concern: c0}\n"
        "    because: link 0 begins\n    cite: [{source: made_up}]\n"
        "    examples: {fires: [{}], holds: [{layout: {fuel: petrol}}]}\n"
        "  - id: last\n    for: lever\n    when: {concern: c1099}\n    then: {bar: {answers: reuse}}\n"
        "    because: the chain ends here\n    cite: [{source: made_up}]\n"
        "    examples: {fires: [{concerns: [c1099]}], holds: [{}]}\n"
    )
    folder = tmp_path / "long"
    small.ruleset(folder, vocabulary=small.VOCABULARY + concerns, rules=small.RULES + first + links)
    rig = build(tmp_path / "rig", CASE.replace("  - part: lever\n    opened: no\n", ""))
    done = run("why", rig.case, "lever", "--rules", folder)
    assert (done.code, done.err) == (0, "")
    out = " ".join(done.out.split())
    assert "link 0 begins" in out
    assert "Further down the chain:" in out
    assert max(map(len, done.out.splitlines())) <= 80 or "/" in done.out
    rules = advisor.load_rules(folder)
    decision = advisor.decide_file(rig.case, rules)
    (index,) = [number for number, each in enumerate(decision.verdicts) if each.part == "lever"]
    found = why(decision, index, rules)
    told = list(steps_of(found))
    assert sorted(each.number for each, _ in told) == list(range(1, length + 2))
    assert max(level for _, level in told) == LEVELS - 1
    # Each step names the next by its number, whether that is told within it or further down.
    at = {each.number: each.rule for each, _ in told}
    for each, _ in told:
        for used in each.uses:
            for step in used.concluded_by:
                rule = at[step] if isinstance(step, int) else step.rule
                assert each.rule == "last" or int(rule[5:]) == int(each.rule[5:]) - 1
    assert json.loads(run("why", rig.case, "lever", "--rules", folder, "--json").out)["why"][0]["further"]


def steps_of(found: Why) -> Iterator[tuple[Told, int]]:
    """Every step that is told, with its level."""
    waiting: list[tuple[Branch, int]] = [
        (each, 0) for each in (*found.reasons, *found.possible, *found.tasks, *found.concerns, *found.further)
    ]
    while waiting:
        branch, level = waiting.pop()
        if isinstance(branch, Told):
            yield branch, level
        if not isinstance(branch, int):
            waiting += [(step, level + 1) for used in branch.uses for step in used.concluded_by]
