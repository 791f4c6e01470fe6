"""The chain behind one verdict as a tree: each rule with what it used, down to what was seen and measured.

A step that several branches lead to is told once; later branches refer to it by its number.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Citation, Decision, EvidenceLine, Reason, Step, TaskToDo, Verdict


@dataclass(frozen=True, slots=True)
class Used:
    """A piece of evidence that a rule used; a concern with the steps that concluded it.

    `concluded_by` holds each step whole the first time, and the number of one told already after that.
    """

    line: EvidenceLine
    concluded_by: tuple[Told | int, ...] = ()


@dataclass(frozen=True, slots=True)
class Told:
    """A rule that fired, told in full. `number` counts the steps of one explanation from 1."""

    number: int
    rule: str
    item: int
    """Index of the item's verdict in the decision."""
    part: str
    place: str
    certain: bool
    because: str
    cites: tuple[Citation, ...]
    differs: str
    at: str
    concludes: tuple[str, ...]
    uses: tuple[Used, ...]


@dataclass(frozen=True, slots=True)
class Needed:
    """Evidence that had to be there before the verdict could stand, and is."""

    because: str
    cites: tuple[Citation, ...]
    uses: tuple[Used, ...]
    at: str


Branch: TypeAlias = Told | Needed | int


@dataclass(frozen=True, slots=True)
class Why:
    """One verdict with everything behind it."""

    verdict: Verdict
    reasons: tuple[Branch, ...]
    """What the verdict rests on: rules, and evidence that was asked for."""
    possible: tuple[Branch, ...]
    """For a verdict that does not stand yet: rules that may fire and need not."""
    tasks: tuple[Branch, ...]
    """The rules behind the tasks, where they are not told above."""
    concerns: tuple[Branch, ...]
    """Other rules that fired for certain on this item."""


def why(decision: Decision, index: int, rules: RuleSet) -> Why:
    """Why the verdict of this index in `decision` is what it is."""
    return _Teller(decision, rules).why(index)


class _Teller:
    """Tells the steps of one explanation, numbering them as they come."""

    def __init__(self, decision: Decision, rules: RuleSet) -> None:
        self._decision = decision
        self._bars = {rule.id for rule in rules.rules if rule.then.bar or rule.then.require}
        self._steps = {(step.rule, step.item): step for step in decision.steps}
        self._concluding: dict[tuple[str, int], list[Step]] = {}
        for step in decision.steps:
            for concern in step.concludes:
                self._concluding.setdefault((concern, step.item), []).append(step)
        self._numbers: dict[tuple[str, int], int] = {}

    def why(self, index: int) -> Why:
        verdict = self._decision.verdicts[index]
        own = [step for step in self._decision.steps if step.item == index]
        reasons = tuple(self._reason(reason, index) for reason in verdict.reasons)
        possible: tuple[Branch, ...] = ()
        if verdict.verdict == "undecided":
            possible = self._untold(step for step in own if not step.certain and step.rule in self._bars)
        tasks = self._untold(self._of_tasks(verdict.tasks, own))
        concerns = self._untold(step for step in own if step.certain)
        return Why(verdict, reasons, possible, tasks, concerns)

    @staticmethod
    def _of_tasks(tasks: Sequence[TaskToDo], own: Sequence[Step]) -> Iterable[Step]:
        named = {task.rule for task in tasks}
        return (step for step in own if step.certain and step.rule in named)

    def _untold(self, steps: Iterable[Step]) -> tuple[Branch, ...]:
        return tuple(self._step(step) for step in steps if (step.rule, step.item) not in self._numbers)

    def _reason(self, reason: Reason, index: int) -> Branch:
        step = self._steps.get((reason.rule, index))
        # A rule that asked for evidence gives its own reason for that, and shows what was found.
        if step is None or step.because != reason.because:
            return Needed(reason.because, reason.cites, self._uses(reason.evidence), reason.at)
        return self._step(step)

    def _step(self, step: Step) -> Told | int:
        key = (step.rule, step.item)
        if key in self._numbers:
            return self._numbers[key]
        number = self._numbers[key] = len(self._numbers) + 1
        return Told(
            number,
            step.rule,
            step.item,
            step.part,
            step.place,
            step.certain,
            step.because,
            step.cites,
            step.differs,
            step.at,
            step.concludes,
            self._uses(step.uses),
        )

    def _uses(self, lines: Iterable[EvidenceLine]) -> tuple[Used, ...]:
        return tuple(Used(line, self._below(line)) for line in lines)

    def _below(self, line: EvidenceLine) -> tuple[Told | int, ...]:
        if line.kind != "concern":
            return ()
        steps = self._concluding.get((line.name, line.item), ())
        # What is certain rests on certain steps; the others only might have concluded it too.
        return tuple(self._step(step) for step in steps if step.certain or not line.certain)
