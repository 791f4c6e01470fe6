"""What will be done with an item and what could hurt somebody: said alike by the sheet and by the chain."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from advisor.faults import joined
from advisor.reports.paper import Paper
from advisor.schema import caution_text, sentence
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import OperationToDo, Verdict
from advisor.verdicts.words import plain


def work_of(verdict: Verdict) -> tuple[OperationToDo, ...]:
    """The work that will be done: none on an item that is replaced after all."""
    return verdict.operations if verdict.course.answer != "replace" else ()


def operation_words(operation: OperationToDo) -> str:
    """Work with the sizes that it may come to, and who does it."""
    size = f", to {joined(operation.sizes, 'or')}" if operation.sizes else ""
    return sentence(f"{operation.says}{size} ({operation.done_by})")


def course_lines(verdict: Verdict, paper: Paper, indent: int) -> Iterator[str]:
    """What will be done, where the verdict alone does not tell it."""
    course = verdict.course
    size = f", in size {course.size}" if course.size else ""
    if course.answer != verdict.verdict:
        text = f"What will be done: {course.answer.upper()}{size}; {course.ground}"
        yield from paper.wrap(
            sentence(f"{text}: {course.because}" if course.because else text), indent, hang=2
        )
    elif course.because or (course.size and not verdict.operations):
        text = f"What will be done: {course.answer}{size}"
        yield from paper.wrap(
            sentence(f"{text}; {course.because}" if course.because else text), indent, hang=2
        )


def work_lines(verdict: Verdict, paper: Paper, indent: int) -> Iterator[str]:
    """The work by name."""
    for operation in work_of(verdict):
        yield from paper.wrap(operation_words(operation), indent, mark="Work: ", hang=2)


def remark_lines(verdict: Verdict, paper: Paper, indent: int) -> Iterator[str]:
    """What is held, and what else is to be said beside the verdict."""
    for held in verdict.held if verdict.course.answer != "replace" else ():
        yield from paper.wrap(sentence(held), indent, mark="Held: ", hang=2)
    for note in verdict.notes:
        yield from paper.wrap(sentence(note), indent, mark="Note: ", hang=2)


@dataclass(slots=True)
class Cautions:
    """The cautions of a rule set, each told in full the first time and by its name after that."""

    rules: RuleSet
    told: set[str] = field(default_factory=set)

    def lines(self, verdicts: Sequence[Verdict], paper: Paper, indent: int) -> Iterator[str]:
        """The cautions that go with these verdicts."""
        keys = dict.fromkeys(key for verdict in verdicts for key in verdict.cautions)
        again = [plain(key) for key in keys if key in self.told]
        for key in keys:
            if key not in self.told:
                self.told.add(key)
                caution = caution_text(key, self.rules)
                yield from paper.wrap(caution.whole, indent, mark=f"Caution, {caution.label}: ", hang=2)
        if again:
            yield from paper.wrap(f"Caution, as told above: {', '.join(again)}.", indent, hang=2)
