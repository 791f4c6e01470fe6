"""The examples of a rule: they are run, and each way of being wrong is found at its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.authoring.check import Checked, Examiner
from advisor.authoring.examples import RESERVED, Ran, leaf_words, run_examples
from advisor.faults import Fault
from advisor.sheets.conditions import leaves
from advisor.sheets.rules import ConditionText
from advisor.sheets.ruleset import merge, read_files
from tests.decide import small


def ran(folder: Path, rules: str = small.RULES) -> Ran:
    small.ruleset(folder, rules=rules)
    files = read_files(folder)
    whole, _ = merge(files)
    return run_examples(whole, files)


def with_examples(rule: str, examples: str) -> str:
    """The small rules with the examples of one rule exchanged."""
    head, found, tail = small.RULES.partition(f"  - id: {rule}\n")
    before, _, after = tail.partition("    examples: ")
    rest = after.split("\n", 1)[1]
    assert found
    return f"{head}{found}{before}    examples: {examples}\n{rest}"


def one(ran: Ran) -> Fault:
    (fault,) = ran.faults
    return fault


def test_the_small_rules_hold_their_own_examples(tmp_path: Path) -> None:
    done = ran(tmp_path)
    assert done.faults == ()
    assert done.rules == 11
    assert done.fires >= done.rules
    assert done.holds >= done.rules


@pytest.mark.parametrize(
    ("rule", "examples"),
    [
        ("shell-particles", "{fires: [{particles: few}], holds: [{particles: none}]}"),
        ("journal-worn", "{fires: [{wear: in doubt discard}], holds: [{}]}"),
        ("journal-worn", "{fires: [{wear: above reassembly}], holds: [{}]}"),
        ("journal-worn", "{fires: [{wear: below discard}], holds: [{}]}"),
        ("journal-worn", "{fires: [{missing: {wear: lost}}], holds: [{}]}"),
        ("shell-mixed-up", "{fires: [{particles: many}], holds: [{}]}"),
        ("gasket-always", "{fires: [{layout: {fuel: petrol}}], holds: [{layout: {fuel: petrol}}]}"),
        ("journal-under-dirt", "{fires: [{related: [{carries: half_shell}]}], holds: [{}]}"),
        ("journal-under-dirt", "{fires: [{concerns: [dirty_oil]}], holds: [{}]}"),
        ("shaft-sound", "{fires: [{concerns: [suspect]}], holds: [{crack: line}]}"),
    ],
)
def test_an_example_that_does_not_make_its_rule_fire_is_found(
    tmp_path: Path, rule: str, examples: str
) -> None:
    fault = one(ran(tmp_path, with_examples(rule, examples)))
    assert fault.code == "example-does-not-fire"
    assert rule in fault.what
    assert fault.at is not None
    text = (tmp_path / "rules.yaml").read_text(encoding="utf-8").splitlines()
    assert text[fault.at.line - 1][fault.at.col - 1 :].startswith(("{", "particles"))
    assert "fires" in text[fault.at.line - 1]


@pytest.mark.parametrize(
    ("rule", "examples"),
    [
        ("shell-particles", "{fires: [{particles: many}], holds: [{particles: many}]}"),
        # Held off for certain is wanted: an example that leaves it open does not hold.
        ("shell-particles", "{fires: [{particles: many}], holds: [{missing: {particles: not looked at}}]}"),
        ("journal-worn", "{fires: [{wear: above discard}], holds: [{wear: in doubt discard}]}"),
        ("shell-mixed-up", "{fires: [{place: unknown}], holds: [{place: unknown}]}"),
        ("gasket-always", "{fires: [{}], holds: [{}]}"),
        ("shaft-sound", "{fires: [{}], holds: [{concerns: [sound_shaft]}]}"),
    ],
)
def test_an_example_on_which_its_rule_may_fire_is_found(tmp_path: Path, rule: str, examples: str) -> None:
    fault = one(ran(tmp_path, with_examples(rule, examples)))
    assert fault.code == "example-fires"
    assert rule in fault.what


@pytest.mark.parametrize(
    ("example", "code", "word"),
    [
        ("{partickles: many}", "unknown-word", "particles"),
        ("{particles: lots}", "unknown-word", "many"),
        ("{wear: above discard}", "not-of-this-kind", "wear"),
        ("{play: over discard}", "example-standing", "above"),
        ("{play: discard}", "example-standing", "above"),
        ("{concerns: [dirty_oyl]}", "unknown-word", "dirty_oil"),
        ("{concerns: dirty_oil}", "wrong-shape", "list"),
        ("{made: {steel: yes}}", "unknown-word", "property"),
        ("{place: 3}", "unknown-word", "unknown"),
        ("{origin: found}", "unknown-word", "fitted"),
        ("{missing: {particles: gone}}", "unknown-word", "lost"),
        ("{missing: {crack: lost}}", "unknown-word", "particles"),
        ("{layout: {fuel: coal}}", "unknown-word", "diesel"),
        ("{layout: {wheels: four}}", "unknown-word", "fuel"),
        ("{related: [{runs_on: shaft}]}", "relation-links-nothing", "shaft"),
        ("{related: [{runs_on: journal}]}", "unknown-word", "shaft_journal"),
        ("{related: [{rides_on: shaft_journal}]}", "example-no-relation", "rides_on"),
        ("{related: [{anywhere: shaft_journal, layout: {fuel: diesel}}]}", "example-nested", "layout"),
        ("{related: shaft_journal}", "wrong-shape", "list"),
        ("{related: [{in_set: gasket}]}", "relation-links-nothing", "gasket"),
    ],
)
def test_an_unknown_word_in_an_example_is_a_fault_with_its_place(
    tmp_path: Path, example: str, code: str, word: str
) -> None:
    done = ran(
        tmp_path, with_examples("shell-particles", f"{{fires: [{{particles: many}}], holds: [{example}]}}")
    )
    fault = next(fault for fault in done.faults if fault.code == code)
    assert word in str(fault)
    assert fault.at is not None
    assert fault.at.file.endswith("rules.yaml")


def test_what_an_example_leaves_out_was_looked_for_and_is_not_there(tmp_path: Path) -> None:
    rules = (
        small.RULES
        + """
  - id: nothing-there
    for: half_shell
    when:
      all:
        - {finding: particles, is: none}
        - {finding: scoring, is: none}
        - {dimension: play, against: reassembly, standing: inside}
        - {concern: dirty_oil, some: {in_set: half_shell}}
        - {origin: fitted}
    then: {task: polish}
    because: a test
    cite: [{source: made_up}]
    examples:
      fires: [{related: [{in_set: half_shell, concerns: [dirty_oil]}]}]
      holds: [{related: [{in_set: half_shell}]}, {origin: new}, {missing: {scoring: lost}}]
"""
    )
    assert ran(tmp_path, rules).faults == ()


def test_a_property_left_out_is_none_that_the_rule_asks_for(tmp_path: Path) -> None:
    rules = (
        small.RULES
        + """
  - id: hard-skin
    for: shaft
    when: {any: [{property: treatment, is: nitrided}, {property: treatment, is: none}]}
    then: {task: polish}
    because: a test
    cite: [{source: made_up}]
    examples: {fires: [{made: {treatment: nitrided}}, {made: {treatment: none}}], holds: [{}]}
"""
    )
    assert ran(tmp_path, rules).faults == ()


def test_number_of_related_items_counts(tmp_path: Path) -> None:
    rules = (
        small.RULES
        + """
  - id: two-hot-journals
    for: shaft
    when: {finding: heat, at_least: blue, some: {has: shaft_journal, at_least: 2}}
    then: {task: polish}
    because: a test
    cite: [{source: made_up}]
    examples:
      fires: [{related: [{has: shaft_journal, heat: blue}, {has: shaft_journal, heat: blue}]}]
      holds: [{related: [{has: shaft_journal, heat: blue}, {has: shaft_journal, heat: straw}]}]
"""
    )
    assert ran(tmp_path, rules).faults == ()


def test_check_runs_the_examples_of_a_rule_set(tmp_path: Path) -> None:
    small.ruleset(tmp_path, rules=with_examples("shell-particles", "{fires: [{}], holds: [{}]}"))
    (checked,) = Examiner().check([str(tmp_path)])
    assert [fault.code for fault in checked.faults] == ["example-does-not-fire"]
    assert "particles at least many" in checked.faults[0].mend


def test_every_example_of_the_rule_set_that_comes_with_the_program_holds() -> None:
    folder = Path(__file__).parents[2] / "rulesets" / "engine"
    (checked,) = Examiner().check([str(folder)])
    assert [str(fault) for fault in checked.faults] == []
    assert isinstance(checked, Checked)
    assert "examples that fire" in checked.says


@pytest.mark.parametrize(
    ("condition", "words"),
    [
        ({"finding": "heat", "at_least": "blue"}, "heat at least blue"),
        ({"finding": "heat", "is": "none"}, "heat is none"),
        ({"finding": "heat", "at_most": "straw"}, "heat at most straw"),
        ({"finding": "heat", "at_least": "straw", "at_most": "blue"}, "heat at least straw and at most blue"),
        ({"dimension": "wear", "against": "new", "standing": "outside"}, "wear above or below new"),
        ({"concern": "hot", "every": {"has": "pin"}}, "concern hot on every pin (has)"),
        ({"concern": "hot", "some": {"has": "pin", "at_least": "2"}}, "concern hot on at least 2 pin (has)"),
        ({"absent": {"concern": "hot"}}, "no concern hot"),
        ({"place": "unknown"}, "place unknown"),
        ({"origin": "new"}, "origin new"),
        ({"property": "skin", "is": "hard"}, "skin is hard"),
        ({"layout": "fuel", "is": "gas"}, "layout fuel is gas"),
        ({"evidence": "heat", "is": "lost"}, "evidence heat is lost"),
    ],
)
def test_a_part_of_a_condition_is_told_in_words(condition: dict[str, object], words: str) -> None:
    (leaf,) = leaves(ConditionText.model_validate(condition).tree)
    assert leaf_words(leaf) == words


def test_every_key_of_an_example_is_documented() -> None:
    page = (Path(__file__).parents[2] / "docs" / "rule-language.md").read_text(encoding="utf-8")
    section = page[page.index("## Examples") :]
    assert all(f"| `{key}` |" in section for key in RESERVED)
