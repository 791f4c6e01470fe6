"""Rules in plain language: what a condition asks, and what follows, as one says it at the bench.

Nothing here knows a case. Every word comes from the vocabulary of the rule set;
`advisor.verdicts.words` tells the facts of one case.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import assert_never

from advisor.faults import joined
from advisor.sheets.conditions import (
    Absent,
    All,
    Any,
    Condition,
    EvidenceIs,
    Found,
    HasConcern,
    HasProperty,
    LayoutIs,
    Leaf,
    Origin,
    PlaceUnknown,
    Related,
    Stands,
)
from advisor.sheets.rules import Bar, Conclusion
from advisor.sheets.vocabulary import NONE, Evidence, VocabularyFile
from advisor.verdicts.words import plain, short_label


@dataclass(frozen=True, slots=True)
class Said:
    """A condition in words: a clause, or a heading such as "any of these" over several of them."""

    text: str
    parts: tuple[Said, ...] = ()

    def line(self) -> str:
        """The whole in one line; what stands under a heading is held together by brackets."""
        if not self.parts:
            return self.text
        return f"{self.text} ({'; '.join(part.line() for part in self.parts)})"


def condition(tree: Condition, vocabulary: VocabularyFile) -> Said:
    """A condition in words.

    An `all` or `any` over one thing says no more than that thing. Raises `KeyError` for a word that is not in
    the vocabulary.
    """
    match tree:
        case All(()):
            return Said("always")
        case All((part,)) | Any((part,)):
            return condition(part, vocabulary)
        case All(parts):
            return Said("all of these", tuple(condition(part, vocabulary) for part in parts))
        case Any(parts, number):
            head = "any of these" if number == 1 else f"at least {number} of these"
            return Said(head, tuple(condition(part, vocabulary) for part in parts))
        case _:
            return Said(clause(tree, vocabulary))


def clause(leaf: Leaf | Related | Absent, vocabulary: VocabularyFile) -> str:
    """One thing that is asked, in words."""
    match leaf:
        case Related(leaf=inner):
            return f"{_on(leaf, vocabulary)}: {fact(inner, vocabulary)}"
        case Absent(HasConcern(concern)):
            return f"nothing points to {vocabulary.concerns[concern].label}"
        case Absent(Related() as related):
            assert isinstance(related.leaf, HasConcern)
            label = vocabulary.concerns[related.leaf.concern].label
            return f"nothing points to {label} {_on(related, vocabulary, 'any')}"
        case Absent():
            raise AssertionError(leaf)
        case _:
            return fact(leaf, vocabulary)


def fact(leaf: Leaf, vocabulary: VocabularyFile) -> str:
    """What is asked of one item, in words."""
    match leaf:
        case Found(name, lowest, highest):
            return _found(name, lowest, highest, vocabulary)
        case Stands(name, purpose, outcomes):
            where = "outside" if len(outcomes) > 1 else next(iter(outcomes))
            return f"{vocabulary.dimensions[name].label} {where} the limit for {purpose}"
        case HasConcern(concern):
            return f"another rule tells of {vocabulary.concerns[concern].label}"
        case HasProperty(name, value):
            return f"{plain(name)}: {plain(value)}"
        case PlaceUnknown():
            return "nobody knows its place any more"
        case Origin(origin):
            return f"it is {origin}" if origin != "fitted" else "it was fitted when the work began"
        case EvidenceIs(name, purpose, state):
            if name in vocabulary.findings:
                return f"{vocabulary.findings[name].label}: {state}"
            return f"{vocabulary.dimensions[name].label}, against the limit for {purpose}: {state}"
        case LayoutIs(key, value):
            return f"{vocabulary.layout[key].label}: {plain(value)}"
    assert_never(leaf)


def _found(name: str, lowest: str, highest: str | None, vocabulary: VocabularyFile) -> str:
    """A finding between two extents, with what one sees or feels of the extent that decides."""
    finding = vocabulary.findings[name]
    scale = list(finding.extents)
    if highest is None or highest == scale[-1]:
        if lowest == NONE:
            return f"{finding.label}: looked for"
        more = "" if lowest == scale[-1] else " or further"
        return f"{finding.label}: {plain(lowest)}{more} ({finding.extents[lowest]})"
    if highest == NONE:
        return f"{finding.label}: looked for, and not there"
    if lowest == highest:
        return f"{finding.label}: just {plain(lowest)} ({finding.extents[lowest]})"
    if lowest == NONE:
        return f"{finding.label}: no further than {plain(highest)} ({finding.extents[highest]})"
    return f"{finding.label}: from {plain(lowest)} to {plain(highest)} ({finding.extents[lowest]})"


def _on(related: Related, vocabulary: VocabularyFile, one: str = "a") -> str:
    """Which linked items a condition speaks of."""
    kind = short_label(vocabulary.kinds[related.kind].label)
    number = {None: "every", 1: one}.get(related.number, f"at least {related.number} times a")
    article = "an" if number == "a" and kind[:1].lower() in "aeiou" else number
    return f"on {article} {linked(related.relation, kind, vocabulary)}"


def linked(relation: str, kind: str, vocabulary: VocabularyFile) -> str:
    """A kind, by its label, as what an item is linked to by a relation."""
    if relation == "anywhere":
        return f"{kind} anywhere"
    if relation == "in_set":
        return f"{kind} of the same set"
    return f"{kind} that it {vocabulary.relations[relation].label}"


def conclusions(then: Conclusion, vocabulary: VocabularyFile) -> Iterator[str]:
    """What follows, by sentences: what is ruled out, wanted first, told to other rules, to be done."""
    for bar in then.bar:
        yield _bar(bar, vocabulary)
    for evidence in then.require:
        yield wanted(evidence, vocabulary)
    concerns = [vocabulary.concerns[name] for name in then.concern]
    if told := [each.label for each in concerns if not each.cause]:
        yield f"Told to other rules: {'; '.join(told)}."
    if causes := [each.label for each in concerns if each.cause]:
        yield f"A cause to be found, ruled out or accepted by name: {'; '.join(causes)}."
    for name in then.task:
        task = vocabulary.tasks[name]
        also = ", with one that is replaced too" if task.also_when_replaced else ""
        yield f"To do{also}: {_stopped(task.label)}"


def _bar(bar: Bar, vocabulary: VocabularyFile) -> str:
    ruled_out = joined(bar.answers).capitalize()
    verb = "are" if len(bar.answers) > 1 else "is"
    how = ", as a matter of course" if bar.ground == "routine" else ""
    text = f"{ruled_out} {verb} ruled out{how}."
    if bar.mend:
        work = "; or ".join(vocabulary.operations[name].label for name in bar.mend)
        text += f" What takes the reason away: {_stopped(work)}"
    return text


def wanted(evidence: Evidence, vocabulary: VocabularyFile) -> str:
    """Evidence that must be there before an answer, as a sentence."""
    label = (
        vocabulary.findings[evidence.finding].label
        if evidence.finding is not None
        else vocabulary.dimensions[evidence.subject].label
    )
    text = f"Wanted before {joined(evidence.before, 'or')}: {label}. {_stopped(evidence.because)}"
    if evidence.safe_side is not None:
        text += f" Where it can never be had: {evidence.safe_side}."
    return text


def _stopped(text: str) -> str:
    text = text.strip()
    return text if text[-1:] in {".", "!", "?"} else f"{text}."
