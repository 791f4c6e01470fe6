"""The chain behind a verdict: nothing left out, nothing told twice, and every end a piece of evidence."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import pytest

import advisor
from advisor.explain.why import Branch, Needed, Told, Why, why
from advisor.reports.alike import judged
from advisor.reports.paper import Paper
from advisor.reports.tree import tree
from advisor.verdicts.model import Decision
from tests.cli.rig import DEMO, build


@pytest.fixture(scope="module", params=["rig", "demo"])
def told(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Decision, advisor.RuleSet]:
    if request.param == "demo":
        rules = advisor.load_rules()
        return advisor.decide_file(DEMO, rules), rules
    rig = build(tmp_path_factory.mktemp("rig"))
    rules = advisor.load_rules(rig.rules)
    return advisor.decide_file(rig.case, rules), rules


def branches(found: Why) -> Iterator[Branch]:
    """Every branch of the tree, from the top."""
    waiting: list[Branch] = [*found.reasons, *found.possible, *found.tasks, *found.concerns, *found.further]
    while waiting:
        branch = waiting.pop(0)
        yield branch
        if not isinstance(branch, int):
            waiting += [step for used in branch.uses for step in used.concluded_by]


def everything(told: tuple[Decision, advisor.RuleSet]) -> Iterator[tuple[int, Why]]:
    decision, rules = told
    for index in range(len(decision.verdicts)):
        yield index, why(decision, index, rules)


def test_each_step_is_told_once_and_each_reference_has_its_step(
    told: tuple[Decision, advisor.RuleSet],
) -> None:
    for _, found in everything(told):
        steps = [branch for branch in branches(found) if isinstance(branch, Told)]
        numbers = Counter(step.number for step in steps)
        assert set(numbers.values()) <= {1}
        assert sorted(numbers) == list(range(1, len(steps) + 1))
        assert len({(step.rule, step.item) for step in steps}) == len(steps)
        assert {branch for branch in branches(found) if isinstance(branch, int)} <= set(numbers)


def test_every_step_is_one_of_the_decision_with_all_that_it_used(
    told: tuple[Decision, advisor.RuleSet],
) -> None:
    decision, _ = told
    steps = {(step.rule, step.item): step for step in decision.steps}
    for _, found in everything(told):
        for branch in branches(found):
            if isinstance(branch, Told):
                step = steps[branch.rule, branch.item]
                assert branch.certain == step.certain
                assert tuple(used.line for used in branch.uses) == step.uses
                assert branch.because == step.because
                assert branch.cites == step.cites


def test_every_rule_that_fired_for_certain_on_the_item_is_told(
    told: tuple[Decision, advisor.RuleSet],
) -> None:
    decision, _ = told
    for index, found in everything(told):
        rules = {branch.rule for branch in branches(found) if isinstance(branch, Told)}
        assert {step.rule for step in decision.steps if step.item == index and step.certain} <= rules


def test_a_certain_step_rests_on_certain_ones_down_to_evidence(
    told: tuple[Decision, advisor.RuleSet],
) -> None:
    for _, found in everything(told):
        for branch in branches(found):
            if isinstance(branch, Told):
                for used in branch.uses:
                    if used.line.kind == "concern":
                        assert used.concluded_by
                    else:
                        assert not used.concluded_by
                    for step in used.concluded_by:
                        assert isinstance(step, int) or step.certain or not branch.certain


def test_reasons_of_the_verdict_are_all_there(told: tuple[Decision, advisor.RuleSet]) -> None:
    decision, _ = told
    for index, found in everything(told):
        assert len(found.reasons) == len(decision.verdicts[index].reasons)
        for branch, reason in zip(found.reasons, decision.verdicts[index].reasons, strict=True):
            if isinstance(branch, Needed):
                assert branch.because == reason.because
                assert tuple(used.line for used in branch.uses) == reason.evidence
            elif isinstance(branch, Told):
                assert branch.rule == reason.rule


def test_numbers_come_in_the_order_of_the_page(told: tuple[Decision, advisor.RuleSet]) -> None:
    _, rules = told
    for _, found in everything(told):
        lines = [line.strip() for line in tree(found, rules, Paper(80), ids=True)]
        numbers = [int(line[1 : line.index(")")]) for line in lines if line.startswith("(")
                   and line[1 : line.find(")")].isdigit()]  # fmt: skip
        assert numbers == sorted(numbers)
        assert numbers == list(range(1, len(numbers) + 1))


def test_an_undecided_verdict_says_what_is_still_possible_and_what_to_look_at(
    told: tuple[Decision, advisor.RuleSet],
) -> None:
    decision, rules = told
    for index, found in everything(told):
        verdict = decision.verdicts[index]
        text = " ".join(" ".join(tree(found, rules, Paper(80))).split())
        for ask in verdict.asks:
            assert " ".join(ask.says.split()) in text
        if not judged(verdict, rules):
            assert "NOT JUDGED" in text
            assert "UNDECIDED" not in text
        elif verdict.verdict == "undecided" and verdict.possible:
            assert "UNDECIDED" in text
            assert all(answer in text for answer in verdict.possible)
        if verdict.verdict != "undecided":
            assert found.possible == ()


@pytest.mark.parametrize("width", [30, 80])
def test_no_line_is_longer_than_the_paper(told: tuple[Decision, advisor.RuleSet], width: int) -> None:
    _, rules = told
    for _, found in everything(told):
        for line in tree(found, rules, Paper(width), ids=True):
            # A word that is longer than the paper, such as the name of a file, is not cut.
            assert len(line) <= width or len(line.split()) == 1, line
