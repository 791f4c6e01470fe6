"""Verdicts that get milder as a finding gets worse, or as a size gets further from its limit.

For every two neighbouring extents of a finding, and for inside and outside of a limit, a case is looked for
in which an answer is shut at the better of the two and open at the worse, all else being equal. What the
search proposes is tried with the plain evaluator before it is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from advisor.authoring.analysis.book import Book
from advisor.authoring.analysis.domains import Key
from advisor.authoring.analysis.model import RuleFinding, Witness
from advisor.authoring.analysis.reach import closers
from advisor.authoring.analysis.solver import Goal, Made, Model
from advisor.authoring.analysis.worlds import Trier, with_value, witness_of
from advisor.sheets.conditions import (
    Absent,
    All,
    Any,
    Condition,
    Found,
    HasConcern,
    Leaf,
    Outcome,
    Related,
    Stands,
)
from advisor.sheets.rules import RuleText
from advisor.sheets.vocabulary import ANSWERS, Answer

_BEYOND: tuple[Outcome, ...] = ("above", "below")


def milder_when_worse(book: Book) -> Iterator[RuleFinding]:
    """A finding for each kind and each step to something worse that makes some verdict milder."""
    trier = Trier(book)
    for kind in sorted(book.whole.judged_kinds):
        for key, better, worse in _steps(book, kind):
            found = _step(book, trier, kind, key, better, worse)
            if found is not None:
                yield found


def _steps(book: Book, kind: str) -> Iterator[tuple[Key, str, str]]:
    """Each step from something to the next worse: the variable, and its values before and after."""
    asked: dict[Key, None] = {}
    for rule in book.by_kind[kind]:
        for leaf, _ in _asked(book, kind, rule.condition, frozenset()):
            asked[_key(leaf)] = None
    for key in asked:
        if key[0] == "finding":
            for better, worse in pairwise(book.whole.vocabulary.findings[key[1]].extents):
                yield key, better, worse
        else:
            for outcome in _BEYOND:
                yield key, "inside", outcome


def _step(book: Book, trier: Trier, kind: str, key: Key, better: str, worse: str) -> RuleFinding | None:
    answers = book.whole.vocabulary.kinds[kind].answers
    for answer in ANSWERS[:-1]:
        if answer not in answers:
            continue
        shutting = closers(book, kind, answer)
        for rule in shutting:
            if not _may_fall(book, rule, key, better, worse):
                continue
            model = _model(book, kind, rule, shutting, answer, key, better, worse)
            if not isinstance(model, Model):
                continue
            before = with_value(witness_of(book, model, ""), key, better)
            after = with_value(before, key, worse)
            one, other = trier.verdict(before), trier.verdict(after)
            if one is not None and other is not None and ANSWERS.index(other) < ANSWERS.index(one):
                return _found(book, kind, rule, key, (before, one), (after, other))
    return None


def _found(
    book: Book,
    kind: str,
    rule: RuleText,
    key: Key,
    before: tuple[Witness, Answer],
    after: tuple[Witness, Answer],
) -> RuleFinding:
    def told(case: Witness) -> str:
        first = case.items[0]
        if key[0] == "finding":
            return f"{key[1]} {first.findings[key[1]]}"
        return f"{key[1]} {first.standings[key[1], key[2]]} {key[2]}"

    (one, harsh), (other, mild) = before, after
    better, worse = told(one), told(other)
    return RuleFinding(
        "milder-when-worse",
        f"{kind}: {better} to {worse}",
        f"{kind} is to {harsh} with {better} and only to {mild} with {worse}, all else being equal: rule "
        f"{rule.id} no longer fires and none that is as strict does",
        "let the rule reach further (`at_least` in place of `is`), or write one for what is worse",
        book.place(rule, "when"),
        (
            Witness(f"{harsh}, with {better}", one.items, one.layout),
            Witness(f"only {mild}, with {worse}", other.items, other.layout),
        ),
    )


def _model(
    book: Book,
    kind: str,
    rule: RuleText,
    shutting: Sequence[RuleText],
    answer: Answer,
    key: Key,
    better: str,
    worse: str,
) -> Model | bool | None:
    """A case that shuts the answer by a rule at the better value, and by none at the worse."""
    items = [Made(kind), Made(kind, same_as=0, but=key)]
    goals = [
        Goal(0, rule.condition, "certain"),
        Goal(0, _is(key, better), "certain"),
        Goal(1, _is(key, worse), "certain"),
        *(Goal(1, each.condition, "ruled out") for each in shutting),
    ]
    if answer == "recondition" and "reuse" in book.whole.vocabulary.kinds[kind].answers:
        # Otherwise reuse is open, and it is no matter that recondition is not.
        against = closers(book, kind, "reuse")
        goals.append(Goal(0, Any(tuple(each.condition for each in against)), "certain"))
    return book.model_of(items, goals, rule.id, "whether its verdict gets milder as things get worse")


def _key(leaf: Leaf) -> Key:
    if isinstance(leaf, Found):
        return "finding", leaf.finding
    assert isinstance(leaf, Stands)
    return "standing", leaf.dimension, leaf.purpose


def _is(key: Key, value: str) -> Leaf:
    if key[0] == "finding":
        return Found(key[1], value, value)
    return Stands(key[1], key[2], frozenset(each for each in ("inside", *_BEYOND) if each == value))


def _may_fall(book: Book, rule: RuleText, key: Key, better: str, worse: str) -> bool:
    """Whether some condition of a rule on that variable can stop holding on the step."""
    kind = rule.for_
    for leaf, absent in _asked(book, kind, rule.condition, frozenset()):
        if _key(leaf) != key:
            continue
        _, certain = book.domains.allowed(kind, leaf, "certain")
        _, at_better = book.domains.allowed(kind, _is(key, better), "certain")
        _, at_worse = book.domains.allowed(kind, _is(key, worse), "certain")
        falls = certain & at_better and not certain & at_worse
        rises = certain & at_worse and not certain & at_better
        if rises if absent else falls:
            return True
    return False


def _asked(
    book: Book, kind: str, condition: Condition, under: frozenset[str], *, absent: bool = False
) -> Iterator[tuple[Leaf, bool]]:
    """The findings and standings of the item itself that a condition hangs on, and whether on their absence.

    Concerns are followed into the rules that conclude them; related items are other items.
    """
    match condition:
        case All(parts) | Any(parts):
            for part in parts:
                yield from _asked(book, kind, part, under, absent=absent)
        case Absent(of):
            yield from _asked(book, kind, of, under, absent=not absent)
        case HasConcern(concern):
            if concern not in under:
                for each in book.concluded.get((kind, concern), ()):
                    yield from _asked(book, kind, each, under | {concern}, absent=absent)
        case Related():
            return
        case Found() | Stands():
            yield condition, absent
