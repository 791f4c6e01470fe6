"""Rules, bars and conditions that change nothing: what they say is there without them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from advisor.authoring.analysis.book import Book, Part, parts_of, without
from advisor.authoring.analysis.domains import Want
from advisor.authoring.analysis.effects import Effect, bar_effects, covered
from advisor.authoring.analysis.model import RuleFinding
from advisor.authoring.analysis.reach import words
from advisor.faults import joined
from advisor.sheets.conditions import All, Any, Condition
from advisor.sheets.rules import RuleText


def weightless(book: Book) -> Iterator[RuleFinding]:
    """Duplicates, rules without effect, bars without effect, and conditions without effect."""
    idle: set[str] = set()
    for kind, rules in sorted(book.by_kind.items()):
        twins = dict(_duplicates(book, rules))
        for later, twin in twins.items():
            idle.add(later)
            yield _duplicate(book, later, twin)
        # The later of two that cover one another is told, and counts for nothing from then on.
        for rule in sorted(rules, key=lambda each: (each.at is None, each.at), reverse=True):
            if rule.id in idle or rule.id in book.dead:
                continue
            others = [each for each in rules if each.id not in idle | {rule.id} | book.dead]
            by = _all_covered(book, kind, rule, others)
            if by is not None:
                idle.add(rule.id)
                yield RuleFinding(
                    "rule-without-effect",
                    rule.id,
                    f"all that rule {rule.id} concludes is there already whenever it fires{_by(by)}",
                    "drop it, or correct the condition that has slipped; its reason can stand in the other "
                    "rule",
                    book.place(rule, "when"),
                )
                continue
            yield from _bars(book, kind, rule, others)
            yield from _conditions(book, kind, rule, others)


# ---- duplicates ----


def _duplicates(book: Book, rules: Sequence[RuleText]) -> Iterator[tuple[str, str]]:
    """Pairs of rules with the same condition, whatever its order, and the same conclusions."""
    seen: dict[tuple[object, ...], str] = {}
    for rule in sorted(rules, key=lambda each: (each.at is None, each.at)):
        key = (_normal(rule.condition), frozenset(book.effects[rule.id]))
        if key in seen:
            yield rule.id, seen[key]
        else:
            seen[key] = rule.id


def _normal(condition: Condition) -> object:
    """A condition without the order of its parts."""
    if isinstance(condition, All) and len(condition.parts) == 1:
        return _normal(condition.parts[0])
    if isinstance(condition, Any) and len(condition.parts) == 1 and condition.number == 1:
        return _normal(condition.parts[0])
    if isinstance(condition, All):
        return "all", frozenset(map(_normal, condition.parts))
    if isinstance(condition, Any) and condition.number == 1:
        return "any", frozenset(map(_normal, condition.parts))
    if isinstance(condition, Any):
        return "count", condition.number, tuple(sorted(map(repr, map(_normal, condition.parts))))
    return condition


def _duplicate(book: Book, rule: str, twin: str) -> RuleFinding:
    by_id = {each.id: each for each in book.whole.rules}
    return RuleFinding(
        "rule-duplicate",
        rule,
        f"rule {rule} has the condition and the conclusions of rule {twin} ({by_id[twin].at})",
        "drop one, and put both reasons and sources into the other",
        by_id[rule].at,
    )


# ---- conclusions ----


def _all_covered(book: Book, kind: str, rule: RuleText, others: Sequence[RuleText]) -> list[str] | None:
    """The rules that make all conclusions of a rule idle; None where one of them is not."""
    by: dict[str, None] = {}
    for effect in book.effects[rule.id]:
        found = _covered(book, kind, rule.id, book.live[rule.id], effect, others)
        if found is None:
            return None
        by.update(dict.fromkeys(found))
    return list(by)


def _covered(
    book: Book, kind: str, name: str, condition: Condition, effect: Effect, others: Sequence[RuleText]
) -> list[str] | None:
    """The rules of which one makes an effect idle wherever the condition holds; None where there are none."""
    if covered(effect, book.always[kind]):
        return []
    by = [each for each in others if covered(effect, book.effects[each.id])]
    question = "whether its conclusions are there already"
    if not by or not book.implies(kind, condition, [each.condition for each in by], name, question):
        return None
    return _fewest(
        by, lambda few: book.implies(kind, condition, [each.condition for each in few], name, question)
    )


def _fewest(rules: Sequence[RuleText], enough: Callable[[Sequence[RuleText]], bool]) -> list[str]:
    """Few of some rules that are enough all together: one where one is, otherwise none to spare."""
    single = next((each for each in rules if enough([each])), None)
    if single is not None:
        return [single.id]
    left = list(rules)
    for each in rules:
        fewer = [other for other in left if other is not each]
        if enough(fewer):
            left = fewer
    return [each.id for each in left]


def _bars(book: Book, kind: str, rule: RuleText, others: Sequence[RuleText]) -> Iterator[RuleFinding]:
    """Bars that are idle although the rule concludes something else of its own."""
    for index, bar in enumerate(rule.then.bar):
        by: dict[str, None] = {}
        for effect in bar_effects(bar):
            found = _covered(book, kind, rule.id, book.live[rule.id], effect, others)
            if found is None:
                break
            by.update(dict.fromkeys(found))
        else:
            yield RuleFinding(
                "bar-without-effect",
                rule.id if len(rule.then.bar) == 1 else f"{rule.id}: bar {index + 1}",
                f"the bar of rule {rule.id} on {joined(bar.answers)} is there already whenever the rule "
                f"fires{_by(by)}",
                "drop the bar, unless its reason is to be read beside the other",
                book.place(rule, "then", "bar", index),
            )


def _by(by: Sequence[str] | dict[str, None]) -> str:
    named = list(by)
    if not named:
        return ", since the kind of part itself asks for it"
    return f", by rule {named[0]}" if len(named) == 1 else f", by rules {joined(named, 'or')}"


# ---- conditions ----


@dataclass(frozen=True, slots=True)
class IdlePart:
    """A condition inside a rule's that changes nothing, with the whole before and after it is dropped."""

    part: Part
    before: Condition
    after: Condition
    by: tuple[str, ...]
    """The rules that conclude the same where it is not so; none where the rule itself stays the same."""


def idle_parts(book: Book, kind: str, rule: RuleText, others: Sequence[RuleText]) -> Iterator[IdlePart]:
    """Conditions of a rule without which it comes to the same; later ones first, each dropped once told."""
    condition = book.live[rule.id]
    gone: list[Part] = list(book.shut[rule.id])
    dropped = list(gone)
    for part in reversed(parts_of(rule)):
        if _inside_or_around(part, gone):
            continue
        left = without(condition, _moved(part.steps, dropped))
        same = _same(book, kind, rule.id, condition, left)
        by = [] if same else _same_with_others(book, kind, rule, condition, left, others)
        if not same and not by:
            continue
        yield IdlePart(part, condition, left, tuple(by))
        gone.append(part)
        if part.steps:
            dropped.append(part)
            condition = left


def _conditions(book: Book, kind: str, rule: RuleText, others: Sequence[RuleText]) -> Iterator[RuleFinding]:
    for idle in idle_parts(book, kind, rule, others):
        said = words(idle.part.condition)
        told = "the others say it already" if idle.part.steps else "it is always true"
        because = f"where it is not so, the same is there{_by(idle.by)}" if idle.by else told
        yield RuleFinding(
            "condition-without-effect",
            f"{rule.id}: {said}",
            f"rule {rule.id} comes to the same without {said}: {because}",
            "drop it, or correct the word that has slipped",
            idle.part.text.at,
        )


def _inside_or_around(part: Part, gone: Sequence[Part]) -> bool:
    """Whether a part holds, or lies in, one that is told already."""
    return any(
        part.steps[: len(other.steps)] == other.steps or other.steps[: len(part.steps)] == part.steps
        for other in gone
    )


def _moved(steps: tuple[int, ...], dropped: Sequence[Part]) -> tuple[int, ...]:
    """The way to a part once others have been dropped in front of it."""
    moved = []
    for depth, step in enumerate(steps):
        before = sum(
            len(other.steps) == depth + 1
            and other.steps[:depth] == steps[:depth]
            and other.steps[depth] < step
            for other in dropped
        )
        moved.append(step - before)
    return tuple(moved)


_READINGS: tuple[tuple[Want, Want], ...] = (("certain", "unsure"), ("possible", "ruled out"))


def _same(book: Book, kind: str, name: str, one: Condition, other: Condition) -> bool:
    """Whether two conditions hold of the same items, read as certain and as possible."""
    question = "whether each of its conditions matters"
    return book.implies(kind, one, [other], name, question) and book.implies(
        kind, other, [one], name, question
    )


def _same_with_others(
    book: Book, kind: str, rule: RuleText, one: Condition, other: Condition, others: Sequence[RuleText]
) -> list[str]:
    """The other rules that conclude the same wherever one condition holds and the other does not."""
    effects = book.effects[rule.id]
    by: dict[str, None] = {}
    question = "whether each of its conditions matters"
    for first, second in ((one, other), (other, one)):
        for holds, not_so in _READINGS:
            wants: list[tuple[Condition, Want]] = [(first, holds), (second, not_so)]
            if book.never(kind, wants, rule.id, question):
                continue
            for effect in effects:
                covering = [each for each in others if covered(effect, book.effects[each.id])]

                def enough(
                    few: Sequence[RuleText], wants: list[tuple[Condition, Want]] = wants, so: Want = not_so
                ) -> bool:
                    more = [(each.condition, so) for each in few]
                    return book.never(kind, [*wants, *more], rule.id, question)

                if not covering or not enough(covering):
                    return []
                by.update(dict.fromkeys(_fewest(covering, enough)))
    return list(by)
