"""Parts that nobody opened, tasks with parts that are replaced, and kinds with evidence and no rule."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Verdict
from tests.decide import small
from tests.decide.deciding import decide_text, on, small_rules
from tests.decide.test_verdicts import ALL_JOURNALS, SOUND_SHELLS

_AFTER_DIRT = """
  - id: shell-beside-dirt
    for: half_shell
    when: {finding: debris, at_least: metal, some: {anywhere: shaft}}
    then: {bar: {answers: reuse}, task: [keep_it, polish]}
    because: metal has gone through every bearing
    cite: [{source: made_up}]
    examples: {fires: [{related: [{anywhere: shaft, debris: metal}]}], holds: [{}]}
"""

_KEEP = 'tasks:\n  keep_it: {label: keep it, also_when_replaced: "true"}\n'


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> RuleSet:
    vocabulary = small.VOCABULARY.replace("tasks:\n", _KEEP)
    return small.ruleset(
        tmp_path_factory.mktemp("rules"), rules=small.RULES + _AFTER_DIRT, vocabulary=vocabulary
    )


def _closed_shell(rules: RuleSet, debris: str) -> Verdict:
    text = f"bench: [{{part: shaft, moment: strip, findings: {{debris: {debris}}}}}, " + (
        "{part: half_shell, place: 2, opened: no}]"
    )
    return on(decide_text(text, rules, small.engine(rules)), "half_shell", "2 upper")


def test_what_another_part_condemns_for_certain_is_condemned_unopened(rules: RuleSet) -> None:
    shell = _closed_shell(rules, "metal")
    assert (shell.verdict, shell.ground, shell.opened) == ("replace", "condemned", False)
    assert [reason.rule for reason in shell.reasons] == ["shell-beside-dirt"]
    assert shell.notes == ("not opened: judged by what was found on other parts",)


@pytest.mark.parametrize("debris", ["none", "not looked at"])
def test_what_nothing_condemns_for_certain_stays_open_unopened(rules: RuleSet, debris: str) -> None:
    shell = _closed_shell(rules, debris)
    assert (shell.verdict, shell.possible, shell.asks) == ("undecided", ("reuse", "replace"), ())
    assert "not opened, not judged" in shell.notes


def test_what_is_renewed_as_a_matter_of_course_stays_where_it_is_unopened() -> None:
    gasket = on(decide_text("bench: [{part: gasket, opened: no}]"), "gasket")
    assert (gasket.verdict, gasket.ground) == ("undecided", "open")


def test_a_task_is_done_with_a_replaced_part_only_where_it_says_so(rules: RuleSet) -> None:
    text = ALL_JOURNALS + SOUND_SHELLS
    sound = decide_text(text, rules, small.engine(rules))
    assert on(sound, "half_shell", "1 upper").tasks == ()
    dirty = decide_text(
        text + "  - {part: shaft, moment: strip, findings: {debris: metal}}\n", rules, small.engine(rules)
    )
    shell = on(dirty, "half_shell", "1 upper")
    assert shell.verdict == "replace"
    assert [task.task for task in shell.tasks] == ["keep_it"]


@pytest.mark.parametrize("evidence", ["dimension: reach", "finding: bent"])
def test_a_kind_that_asks_for_evidence_and_has_no_rule_is_open(tmp_path: Path, evidence: str) -> None:
    vocabulary = (
        small.VOCABULARY.replace(
            "    label: lever\n",
            "    label: lever\n    sizes: [reach_read]\n    evidence: "
            f"[{{{evidence}, before: reuse, because: it bends}}]\n",
        )
        .replace(
            "findings:\n",
            "findings:\n  bent: {label: bent, kinds: [lever], look: by eye, "
            "extents: {none: no, bent: bent}}\n",
        )
        .replace(
            "readings:\n",
            "readings:\n  reach_read: {label: reach, kinds: [lever], quantity: length, condition: clean, "
            "how: along, instruments: [micrometer]}\n",
        )
        .replace(
            "dimensions:\n",
            "dimensions:\n  reach: {label: reach, kinds: [lever], quantity: length, "
            "formulas: [{operator: below_size, reading: reach_read}]}\n",
        )
    )
    rules = small.ruleset(tmp_path, vocabulary=vocabulary)
    engine = small.engine(rules, small.ENGINE.replace("lever: {}", "lever: {new: {reach_read: 50 mm}}"))
    lever = on(decide_text("bench: []", rules, engine), "lever")
    assert (lever.verdict, lever.possible) == ("undecided", ("reuse", "replace"))
    assert any("no rule in this rule set speaks of this kind" in note for note in lever.notes)


def test_the_small_rule_set_is_as_it_was() -> None:
    """The rules above are added to it, and nothing else."""
    assert "keep_it" not in small_rules().vocabulary.tasks
