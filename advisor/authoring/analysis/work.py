"""Requirements that nothing meets or that hold nothing up, and operations that do not do what they should."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from advisor.authoring.analysis.book import Book
from advisor.authoring.analysis.gaps import unjudged
from advisor.authoring.analysis.model import RuleFinding
from advisor.faults import Position, joined
from advisor.sheets.conditions import (
    All,
    Any,
    Condition,
    Found,
    HasConcern,
    Stands,
)
from advisor.sheets.rules import RuleText
from advisor.sheets.vocabulary import Evidence, Formula, Operation


def requirements(book: Book) -> Iterator[RuleFinding]:
    """A finding for each piece of evidence that cannot be had, or that no answer of the kind waits for."""
    vocabulary = book.whole.vocabulary
    for kind, declared in vocabulary.kinds.items():
        for index, evidence in enumerate(declared.evidence):
            at = _evidence_place(book, kind, index)
            yield from _requirement(book, kind, f"{kind}: {evidence.subject}", evidence, at)
    for rule in book.whole.rules:
        for index, evidence in enumerate(rule.then.require):
            at = book.place(rule, "then", "require", index)
            yield from _requirement(book, rule.for_, f"{rule.id}: {evidence.subject}", evidence, at)


def _evidence_place(book: Book, kind: str, index: int) -> Position | None:
    for model, document in book.files.vocabulary:
        if kind in model.kinds:
            return document.positions["kinds", kind, "evidence", index]
    return None


def _requirement(
    book: Book, kind: str, subject: str, evidence: Evidence, at: Position | None
) -> Iterator[RuleFinding]:
    vocabulary = book.whole.vocabulary
    answers = vocabulary.kinds[kind].answers
    if not set(evidence.before) & set(answers):
        better = [answer for answer in answers if answer != "replace"]
        yield RuleFinding(
            "requirement-idle",
            subject,
            f"{evidence.subject} is wanted before {joined(evidence.before, 'or')}, and {kind} is never to "
            f"anything but {joined(answers, 'or')}",
            f"name {joined(better, 'or')} under `before`, or drop it" if better else "drop it",
            at,
        )
    if evidence.dimension is None:
        return
    dimension = vocabulary.dimensions[evidence.dimension]
    why = [_not_to_be_had(book, kind, formula) for formula in dimension.formulas]
    if all(why):
        told = "; ".join(dict.fromkeys(why)) or "it has no formula"
        yield RuleFinding(
            "requirement-never-met",
            subject,
            f"{evidence.subject} of {kind} can never be worked out: {told}",
            "give it a formula whose readings can be taken, or ask for other evidence",
            at,
        )


def _not_to_be_had(book: Book, kind: str, formula: Formula) -> str:
    """Why the readings of a formula cannot be taken on any engine; empty where they can."""
    vocabulary = book.whole.vocabulary
    if formula.reading is not None:
        return _not_read(book, kind, formula.reading)
    for source in (formula.outer, formula.inner):
        assert source is not None  # the model holds that a formula has a reading or both of these
        of = kind
        for relation, other in source.on.items():
            of = other
            links = vocabulary.relations[relation].links
            if not any(link.of == kind and link.to == other for link in links):
                return f"{relation} does not link {kind} to {other}"
            if _always_several(book, kind, other, relation):
                return f"{relation} links several {other} to one {kind}, and one is wanted"
        why = _not_read(book, of, source.reading)
        if why:
            return why
    return ""


def _always_several(book: Book, kind: str, other: str, relation: str) -> bool:
    """Whether every item is linked to several: an axis with words of its own is left open on each link."""
    vocabulary = book.whole.vocabulary
    links = [
        link
        for link in vocabulary.relations[relation].links
        if (link.of, link.to) == (kind, other) and not link.listed and link.next_to is None
    ]
    return bool(links) and all(
        any(
            axis not in link.by and len(vocabulary.axes[axis].values) > 1
            for axis in vocabulary.kinds[other].axes
        )
        for link in links
    )


def _not_read(book: Book, kind: str, name: str) -> str:
    reading = book.whole.vocabulary.readings[name]
    if kind not in reading.kinds:
        return f"{name} is not read on {kind}"
    serving = [
        each for each in reading.instruments if book.whole.instruments[each].measures == reading.quantity
    ]
    if reading.instruments and not serving:
        return f"no instrument of {name} measures a {reading.quantity.replace('_', ' ')}"
    return ""


# ---- operations ----


def operations(book: Book) -> Iterator[RuleFinding]:
    """A finding for each kind on which an operation remedies nothing, or leaves its reason standing."""
    for name, operation in book.whole.vocabulary.operations.items():
        for kind in operation.kinds:
            if kind not in unjudged(book) and kind in book.whole.judged_kinds:
                yield from _operation(book, name, operation, kind)
        if operation.repair_size and not operation.voids:
            yield RuleFinding(
                "operation-voids-nothing",
                name,
                f"{name} brings a part to another size, and voids no reading taken before it",
                "name the readings and findings of the worked surface under `voids`",
                book.declared("operations", name),
            )


def _operation(book: Book, name: str, operation: Operation, kind: str) -> Iterator[RuleFinding]:
    needing = [
        rule
        for rule in book.by_kind.get(kind, ())
        if rule.id not in book.dead and any(name in bar.mend for bar in rule.then.bar)
    ]
    at = book.declared("operations", name)
    if not needing:
        yield RuleFinding(
            "operation-mends-nothing",
            f"{kind}: {name}",
            f"no bar on {kind} that can come up is mended by {name}",
            f"name it under `mend` of a bar, or take {kind} from its kinds",
            at,
        )
        return
    if not operation.voids and operation.repair_size:
        return
    for rule in needing:
        kept = list(dict.fromkeys(_kept(book, operation, rule)))
        if kept:
            yield RuleFinding(
                "operation-keeps-its-reason",
                f"{name}: {rule.id}",
                f"{name} mends the bar of rule {rule.id}, and when it is done {joined(kept)} still counts",
                f"name it under `voids` of {name}, so that it is looked at again",
                at,
            )


def _kept(book: Book, operation: Operation, rule: RuleText) -> Iterator[str]:
    """What on the item itself may still make a rule fire when an operation has voided what it touches."""
    voided = set(operation.voids)
    left = _left(book, rule.for_, rule.condition, voided, frozenset())
    if left is None:
        return
    yield from left


def _left(
    book: Book, kind: str, condition: Condition, voided: set[str], under: frozenset[str]
) -> list[str] | None:
    """The item's own evidence on which a condition may still rest; None where it cannot hold any more.

    Whatever is not the item's own is not for the work to take away, and counts as gone.
    """
    match condition:
        case All(parts):
            each = [_left(book, kind, part, voided, under) for part in parts]
            if any(left is None for left in each):
                return None
            return [name for left in each if left is not None for name in left]
        case Any(parts, number):
            standing = [
                left for part in parts if (left := _left(book, kind, part, voided, under)) is not None
            ]
            return list(chain.from_iterable(standing)) if len(standing) >= number else None
        case HasConcern(concern):
            if concern in under:
                return None
            inner = Any(tuple(book.concluded.get((kind, concern), ())))
            return _left(book, kind, inner, voided, under | {concern})
        case Found(finding, lowest, _):
            if finding in voided:
                return None
            return [finding] if lowest != "none" else []
        case Stands(dimension, _, outcomes):
            if _worked_anew(book, dimension, voided):
                return None
            return [dimension] if "inside" not in outcomes else []
    return []


def _worked_anew(book: Book, dimension: str, voided: set[str]) -> bool:
    """Whether every way of working a dimension out takes a reading that is void."""
    formulas = book.whole.vocabulary.dimensions[dimension].formulas
    return all(
        any(
            name in voided
            for name in (
                formula.reading,
                *(source.reading for source in (formula.outer, formula.inner) if source is not None),
            )
        )
        for formula in formulas
    )
