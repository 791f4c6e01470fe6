"""Words that are declared and that nothing in the rule set uses."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from advisor.authoring.analysis.book import Book, inner_leaf
from advisor.authoring.analysis.gaps import unjudged
from advisor.authoring.analysis.model import RuleFinding
from advisor.sheets.conditions import Absent, HasConcern, HasProperty, LayoutIs, Related, leaves
from advisor.sheets.ground import MATERIAL
from advisor.sheets.vocabulary import Cite, Dimension, Formula

_DROP = "use it where it was meant to be used, or drop it"


def unused(book: Book) -> Iterator[RuleFinding]:
    """A finding for each word that nothing uses.

    Findings and dimensions are told among the gaps, since a case shows what comes of them. Words for kinds
    that no rule judges yet are left out: those kinds are told by themselves.
    """
    yield from _readings(book)
    yield from _concerns(book)
    yield from _plain(book)
    yield from _asked_of_engines(book)
    yield from _in_smaller_files(book)


def _readings(book: Book) -> Iterator[RuleFinding]:
    vocabulary = book.whole.vocabulary
    used = {
        name
        for dimension in vocabulary.dimensions.values()
        for formula in (*dimension.formulas, *_agreements(dimension))
        for name in (
            formula.reading,
            formula.over,
            *(source.reading for source in (formula.outer, formula.inner) if source is not None),
        )
    }
    sizes = {size for kind in vocabulary.kinds.values() for size in kind.sizes}
    for name, reading in vocabulary.readings.items():
        if name not in used | sizes and not unjudged(book).issuperset(reading.kinds):
            yield _unused(book, "readings", "unused-reading", name, f"nothing is worked out from {name}")


def _agreements(dimension: Dimension) -> Iterator[Formula]:
    """The formulas of the other ways to know a dimension."""
    for each in dimension.agree:
        yield from (formula for formula in (each.other, each.one, each.least) if formula is not None)


def _concerns(book: Book) -> Iterator[RuleFinding]:
    asked = {
        inner.concern
        for rule in book.whole.rules
        for leaf in leaves(rule.condition)
        for _, inner in [inner_leaf(leaf, rule.for_)]
        if isinstance(inner, HasConcern)
    }
    concluded = {concern for rule in book.whole.rules for concern in rule.then.concern}
    # A suspicion says why evidence is wanted, and that is what it is for.
    suspicions = {concern for rule in book.whole.rules if rule.then.require for concern in rule.then.concern}
    for name, concern in book.whole.vocabulary.concerns.items():
        if name not in concluded:
            yield _unused(book, "concerns", "unused-concern", name, f"no rule concludes {name}")
        elif name not in asked | suspicions and not concern.cause:
            what = f"no rule asks for {name}, and it is no cause to be found"
            yield _unused(book, "concerns", "unused-concern", name, what)


def _plain(book: Book) -> Iterator[RuleFinding]:
    whole, vocabulary = book.whole, book.whole.vocabulary
    tasks = {task for rule in whole.rules for task in rule.then.task}
    kinds = vocabulary.kinds.values()
    uses: Sequence[tuple[str, str, set[str], str]] = (
        ("tasks", "unused-task", tasks, "no rule gives the task {}"),
        ("consequences", "unused-consequence", {kind.consequence for kind in kinds}, "no kind has {}"),
        (
            "axes",
            "unused-axis",
            {axis for kind in kinds for axis in kind.axes},
            "no kind has places on the axis {}",
        ),
        ("relations", "unused-relation", _relations(book), "nothing asks what {} links"),
    )
    for section, sort, used, what in uses:
        for name in getattr(vocabulary, section):
            if name not in used:
                yield _unused(book, section, sort, name, what.format(name))


def _relations(book: Book) -> set[str]:
    """Relations that conditions, formulas or operations follow, or that make parts of a whole."""
    vocabulary = book.whole.vocabulary
    used = {name for name, relation in vocabulary.relations.items() if relation.whole}
    for rule in book.whole.rules:
        for leaf in leaves(rule.condition):
            inner = leaf.of if isinstance(leaf, Absent) else leaf
            if isinstance(inner, Related):
                used.add(inner.relation)
    for dimension in vocabulary.dimensions.values():
        for formula in dimension.formulas:
            for source in (formula.outer, formula.inner):
                used.update(source.on if source is not None else ())
    for operation in vocabulary.operations.values():
        used.update(operation.renews, (linked.relation for linked in operation.voids_linked))
    # While some of the kinds that it links have no rules, nobody can say.
    open_kinds = unjudged(book)
    return used | {
        name
        for name, relation in vocabulary.relations.items()
        if any(open_kinds & {link.of, link.to} for link in relation.links)
    }


def _asked_of_engines(book: Book) -> Iterator[RuleFinding]:
    """What engine sheets have to say of layout and treatment, and no rule asks for."""
    layouts: set[str] = set()
    properties: set[tuple[str, str]] = set()
    for rule in book.whole.rules:
        for leaf in leaves(rule.condition):
            kind, inner = inner_leaf(leaf, rule.for_)
            if isinstance(inner, LayoutIs):
                layouts.add(inner.key)
            elif isinstance(inner, HasProperty):
                properties.add((kind, inner.property))
    vocabulary = book.whole.vocabulary
    if not unjudged(book):
        # Any kind that has no rules yet may be the one that the layout is there for.
        for name in vocabulary.layout:
            if name not in layouts:
                yield _unused(book, "layout", "unused-layout", name, f"no rule asks for the layout {name}")
    for kind, declared in vocabulary.kinds.items():
        for name in declared.properties if kind not in unjudged(book) else ():
            # What a part is made of also says how far it expands when it is measured warm.
            expands = name == MATERIAL and not vocabulary.materials.keys().isdisjoint(
                declared.properties[name]
            )
            if (kind, name) not in properties and not expands:
                yield RuleFinding(
                    "unused-property",
                    f"{kind}: {name}",
                    f"no rule asks for the {name} of {kind}",
                    _DROP,
                    book.declared("kinds", kind),
                )


def _in_smaller_files(book: Book) -> Iterator[RuleFinding]:
    whole, vocabulary = book.whole, book.whole.vocabulary
    hung_on: list[Iterable[str]] = [rule.cautions for rule in whole.rules]
    for section in (vocabulary.kinds, vocabulary.operations, vocabulary.tasks):
        entries: Mapping[str, Any] = section
        hung_on += [each.cautions for each in entries.values()]
    named = [reading.instruments for reading in vocabulary.readings.values()]
    cited = {cite.source for cite in _cites(book)}
    files = (
        ("cautions", "unused-caution", set().union(*hung_on), "the caution {} hangs on nothing"),
        ("instruments", "unused-instrument", set().union(*named), "no reading names the instrument {}"),
        ("sources", "unused-source", cited, "nothing cites {}"),
    )
    for section_name, sort, used, what in files:
        documents = [getattr(book.files, section_name), *getattr(book.files, f"more_{section_name}")]
        for name in getattr(whole, section_name):
            if name not in used:
                at = next(
                    (
                        document.key_position((section_name, name))
                        for model, document in documents
                        if name in getattr(model, section_name)
                    ),
                    None,
                )
                yield RuleFinding(sort, name, what.format(name), _DROP, at)


def _cites(book: Book) -> Iterator[Cite]:
    """Every citation in the rule set."""
    whole, vocabulary = book.whole, book.whole.vocabulary
    for rule in whole.rules:
        yield from rule.cite
        for evidence in rule.then.require:
            yield from evidence.cite
    for kind in vocabulary.kinds.values():
        for evidence in kind.evidence:
            yield from evidence.cite
    entries: list[Any] = [
        *whole.limits,
        *whole.cautions.values(),
        *whole.instruments.values(),
        *vocabulary.sets.values(),
        *vocabulary.operations.values(),
    ]
    for entry in entries:
        yield from entry.cite


def _unused(book: Book, section: str, sort: str, name: str, what: str) -> RuleFinding:
    return RuleFinding(sort, name, what, _DROP, book.declared(section, name))
