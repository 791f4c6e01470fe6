"""The chain behind one verdict as a tree: each rule with what it used, down to what was seen and measured.

A step that several branches lead to is told once; later branches refer to it by its number. What lies deeper
than a page has room for is told after the rest in the same way, so that a chain may be of any length.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import (
    Citation,
    Decision,
    EvidenceLine,
    Reason,
    ReasonKind,
    Step,
    TaskToDo,
    Verdict,
)

LEVELS: Final = 8
"""How many steps are told one within the other before the next is told by itself."""


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
    house: str = ""


@dataclass(frozen=True, slots=True)
class Needed:
    """A reason that is no rule fired on this item; `kind` says what: evidence that was asked for, a part that
    cannot be renewed by itself, or work that cannot be done.
    """

    because: str
    cites: tuple[Citation, ...]
    uses: tuple[Used, ...]
    at: str
    kind: ReasonKind = "evidence"


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
    further: tuple[Branch, ...] = ()
    """Steps that lie deeper than `LEVELS` below those above, each told by itself."""


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
        """By step: its number, or a number below 0 while it waits to be told by itself."""
        self._count = 0
        self._waiting: list[Step] = []
        self._numbered: dict[int, int] = {}
        """By number below 0: the one that its step got in the end."""

    def why(self, index: int) -> Why:
        verdict = self._decision.verdicts[index]
        own = [step for step in self._decision.steps if step.item == index]
        reasons = tuple(self._reason(reason, index) for reason in verdict.reasons)
        possible: tuple[Branch, ...] = ()
        if verdict.verdict == "undecided":
            possible = self._untold(step for step in own if not step.certain and step.rule in self._bars)
        tasks = self._untold(self._of_tasks(verdict.tasks, own))
        concerns = self._untold(step for step in own if step.certain)
        further = tuple(self._further())
        told = (self._numbers_in(each) for each in (reasons, possible, tasks, concerns, further))
        return Why(verdict, *told)

    def _further(self) -> Iterator[Told]:
        """The steps that wait, and those that wait below them."""
        for step in self._waiting:  # it grows meanwhile
            key = (step.rule, step.item)
            waited = self._numbers.pop(key)
            told = self._step(step, 0)
            assert isinstance(told, Told)
            self._numbered[waited] = told.number
            yield told

    def _numbers_in(self, branches: tuple[Branch, ...]) -> tuple[Branch, ...]:
        """The same branches, with the numbers of steps that had to wait for theirs."""
        return tuple(map(self._with_numbers, branches)) if self._waiting else branches

    def _with_numbers(self, branch: Branch) -> Branch:
        if isinstance(branch, Needed):
            return replace(branch, uses=self._uses_with_numbers(branch.uses))
        return self._step_with_numbers(branch)

    def _step_with_numbers(self, step: Told | int) -> Told | int:
        if isinstance(step, int):
            return self._numbered.get(step, step)
        return replace(step, uses=self._uses_with_numbers(step.uses))

    def _uses_with_numbers(self, uses: tuple[Used, ...]) -> tuple[Used, ...]:
        return tuple(
            replace(used, concluded_by=tuple(map(self._step_with_numbers, used.concluded_by)))
            for used in uses
        )

    @staticmethod
    def _of_tasks(tasks: Sequence[TaskToDo], own: Sequence[Step]) -> Iterable[Step]:
        named = {task.rule for task in tasks}
        return (step for step in own if step.certain and step.rule in named)

    def _untold(self, steps: Iterable[Step]) -> tuple[Branch, ...]:
        return tuple(self._step(step, 0) for step in steps if (step.rule, step.item) not in self._numbers)

    def _reason(self, reason: Reason, index: int) -> Branch:
        step = self._steps.get((reason.rule, index))
        # A rule that asked for evidence gives its own reason for that, and shows what was found.
        if step is None or step.because != reason.because:
            kind: ReasonKind = "evidence" if reason.kind == "rule" else reason.kind
            return Needed(reason.because, reason.cites, self._uses(reason.evidence, 0), reason.at, kind)
        return self._step(step, 0)

    def _step(self, step: Step, level: int) -> Told | int:
        key = (step.rule, step.item)
        if key in self._numbers:
            return self._numbers[key]
        if level == LEVELS:
            self._waiting.append(step)
            self._numbers[key] = -len(self._waiting)
            return -len(self._waiting)
        self._count += 1
        self._numbers[key] = number = self._count
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
            self._uses(step.uses, level),
            step.house,
        )

    def _uses(self, lines: Iterable[EvidenceLine], level: int) -> tuple[Used, ...]:
        return tuple(Used(line, self._below(line, level)) for line in lines)

    def _below(self, line: EvidenceLine, level: int) -> tuple[Told | int, ...]:
        if line.kind != "concern":
            return ()
        steps = self._concluding.get((line.name, line.item), ())
        # What is certain rests on certain steps; the others only might have concluded it too.
        return tuple(self._step(step, level + 1) for step in steps if step.certain or not line.certain)
