"""Rules and conditions that can never come true, and verdicts that can never be reached."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.authoring.analysis.book import Book, inner_leaf, parts_of
from advisor.authoring.analysis.domains import Want
from advisor.authoring.analysis.model import RuleFinding
from advisor.authoring.examples import leaf_words
from advisor.faults import joined
from advisor.sheets.conditions import (
    Absent,
    All,
    Any,
    Condition,
    EvidenceIs,
    HasConcern,
    PlaceUnknown,
    Related,
    Stands,
)
from advisor.sheets.rules import Bar, RuleText
from advisor.sheets.vocabulary import ANSWERS, Answer

_DIFFERENCES = ("out_of_round", "taper")
"""Operators that give the largest of differences, which is never less than nothing."""

_CERTAIN: Want = "certain"

_MEND = {
    "recondition": "name the work under `mend` of a bar, or drop recondition from its answers",
    "replace": "see whether there is no damage past mending, and write the rule for it; replace stays among "
    "the answers of every kind",
}
"""What to do about an answer that is never reached, where it is not the usual thing."""


def unreachable(book: Book) -> Iterator[RuleFinding]:
    """Rules that never fire; in other rules, branches that are never true; standings that never are."""
    for rule in book.whole.rules:
        if rule.id in book.dead:
            yield RuleFinding(
                "rule-never-fires",
                rule.id,
                f"rule {rule.id} can never fire: {_why(book, rule.for_, [rule.condition])}",
                "correct the condition that has slipped, or drop the rule",
                book.place(rule, "when"),
            )
        else:
            yield from _shut(book, rule)
        yield from _standings(book, rule)


def _shut(book: Book, rule: RuleText) -> Iterator[RuleFinding]:
    whole = {part.steps: part.condition for part in parts_of(rule)}
    for part in book.shut[rule.id]:
        beside: list[Condition] = [part.condition]
        for depth in range(len(part.steps)):
            around = whole[part.steps[:depth]]
            if isinstance(around, All):
                beside += [each for at, each in enumerate(around.parts) if at != part.steps[depth]]
        said = words(part.condition)
        yield RuleFinding(
            "condition-never-true",
            f"{rule.id}: {said}",
            f"in rule {rule.id} this can never be true: {_why(book, rule.for_, beside)}",
            "correct it, or drop it",
            part.text.at,
        )


def _standings(book: Book, rule: RuleText) -> Iterator[RuleFinding]:
    """Standings below the limit of something that is never less than nothing."""
    for part in parts_of(rule):
        leaf = part.condition
        if isinstance(leaf, All | Any):
            continue
        _, inner = inner_leaf(leaf, rule.for_)
        if not isinstance(inner, Stands) or inner.outcomes != {"below"}:
            continue
        formulas = book.whole.vocabulary.dimensions[inner.dimension].formulas
        if formulas and all(each.operator in _DIFFERENCES for each in formulas):
            operator = formulas[0].operator
            yield RuleFinding(
                "standing-never",
                f"{rule.id}: {leaf_words(leaf)}",
                f"rule {rule.id} waits for {inner.dimension} below its limit, and {operator} is a difference "
                "that no limit holds up from below",
                "write standing: above",
                part.text.at,
            )


def words(condition: Condition) -> str:
    """A condition in words."""
    if isinstance(condition, All):
        return joined([words(part) for part in condition.parts]) or "always"
    if isinstance(condition, Any):
        listed = joined([words(part) for part in condition.parts], "or")
        return listed if condition.number == 1 else f"{condition.number} of {listed}"
    return leaf_words(condition)


def _why(book: Book, kind: str, conditions: Sequence[Condition]) -> str:
    """What stands in the way: as few conditions as cannot be true together."""
    clash = list(_flat(conditions))
    for each in list(clash):
        fewer = [other for other in clash if other is not each]
        if fewer and book.never(kind, [(other, _CERTAIN) for other in fewer], kind, "why it never is"):
            clash = fewer
    if len(clash) > 1:
        told = joined([words(each) for each in clash])
        return f"{told} cannot be so together"
    (only,) = clash
    if isinstance(only, Any):
        return f"none of {joined([words(part) for part in only.parts], 'or')} can be true"
    reason = "" if isinstance(only, All) else _alone(book, kind, only)
    return f"{words(only)} can never be true{': ' + reason if reason else ''}"


def _flat(conditions: Sequence[Condition]) -> Iterator[Condition]:
    for each in conditions:
        if isinstance(each, All) and each.parts:
            yield from _flat(each.parts)
        else:
            yield each


def _alone(book: Book, kind: str, leaf: Condition) -> str:
    """Why a single condition is never true, as far as it can be told."""
    if isinstance(leaf, All | Any):
        return ""
    asked, inner = inner_leaf(leaf, kind)
    if isinstance(leaf, Absent):
        return "a rule that always fires concludes it"
    if isinstance(inner, HasConcern):
        return f"no rule that concludes {inner.concern} about {asked} can ever fire"
    if isinstance(inner, EvidenceIs):
        return f"{inner.name} is a finding, and only a size is ever {inner.state}"
    if isinstance(leaf, Related):
        most = book.domains.most_linked(kind, leaf.relation, leaf.kind)
        if most is not None and leaf.number is not None and leaf.number > most:
            return f"{leaf.relation} links at most {most} {leaf.kind} to one {kind}"
    if isinstance(inner, PlaceUnknown):
        return f"an engine has only one {asked}, so its place is always known"
    return ""


def verdicts_never_reached(book: Book) -> Iterator[RuleFinding]:
    """Answers that a kind lists and no case ends with; only of kinds that the rules judge."""
    vocabulary = book.whole.vocabulary
    for kind in sorted(book.whole.judged_kinds):
        answers = vocabulary.kinds[kind].answers
        for answer in ANSWERS:
            if answer in answers and len(answers) > 1:
                why = _never_reached(book, kind, answer)
                if why:
                    yield RuleFinding(
                        "verdict-never-reached",
                        f"{kind}: {answer}",
                        f"{kind} is never to {answer}: {why}",
                        _MEND.get(
                            answer, f"write the rule that leads there, or drop {answer} from its answers"
                        ),
                        book.declared("kinds", kind),
                    )


def closers(book: Book, kind: str, answer: Answer) -> list[RuleText]:
    """The rules that shut an answer for a kind whenever they fire; a bar that work mends shuts reuse only."""
    reuse_first = "reuse" in book.whole.vocabulary.kinds[kind].answers

    def shuts(bar: Bar) -> bool:
        unmended = answer == "recondition" and reuse_first and "reuse" in bar.answers and not bar.mend
        return answer in bar.answers or unmended

    return [
        rule
        for rule in book.by_kind.get(kind, ())
        if rule.id not in book.dead and any(map(shuts, rule.then.bar))
    ]


def _never_reached(book: Book, kind: str, answer: Answer) -> str:
    """Why an answer is never reached; empty where it is."""
    open_to: list[tuple[Condition, Want]] = [
        (rule.condition, "ruled out") for rule in closers(book, kind, answer)
    ]
    question = f"whether {answer} can be reached"
    always = [rule for rule in book.by_kind[kind] if rule.when is None and rule.then.bar]
    if any(bar.ground == "routine" for rule in always for bar in rule.then.bar):
        # What is renewed as a matter of course says so by this very bar.
        return ""
    if answer == "reuse":
        shut = book.never(kind, open_to, kind, question)
        return "some rule always bars it" if shut else ""
    kept = book.whole.vocabulary.kinds[kind]
    evidence = [*kept.evidence, *(each for rule in book.by_kind[kind] for each in rule.then.require)]
    if any(each.safe_side == answer for each in evidence):
        return ""
    if answer == "recondition":
        ways = [
            rule
            for rule in book.by_kind[kind]
            if rule.id not in book.dead and any(bar.mend for bar in rule.then.bar)
        ]
        if "reuse" not in kept.answers:
            shut = book.never(kind, open_to, kind, question)
            return "some rule always bars it" if shut else ""
        if not ways:
            return "no bar that can come up names work that mends it"
        shut = all(book.never(kind, [(way.condition, _CERTAIN), *open_to], kind, question) for way in ways)
        return "where there is something to mend, another rule always shuts it" if shut else ""
    return _never_replaced(book, kind, kept.answers)


def _never_replaced(book: Book, kind: str, answers: Sequence[Answer]) -> str:
    """Replace is left where every milder answer is shut, or where no listed size serves any more."""
    operations = book.whole.vocabulary.operations
    milder = [answer for answer in ANSWERS if answer in answers and answer != "replace"]
    shut_by_size = any(
        operations[name].repair_size
        for rule in book.by_kind[kind]
        for bar in rule.then.bar
        for name in bar.mend
    )
    if shut_by_size:
        return ""
    wants: list[tuple[Condition, Want]] = [
        (Any(tuple(rule.condition for rule in closers(book, kind, answer))), _CERTAIN) for answer in milder
    ]
    if book.never(kind, wants, kind, "whether replace can be reached"):
        return "no damage that a rule knows rules everything else out"
    return ""
