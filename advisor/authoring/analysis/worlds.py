"""From what a search proposes to a small world, and what the plain evaluator makes of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from advisor.authoring.analysis.book import Book
from advisor.authoring.analysis.domains import NOT_GIVEN, NOT_WANTED, Key
from advisor.authoring.analysis.model import Witness, WitnessItem
from advisor.authoring.analysis.solver import ENGINE, Made, Model
from advisor.chain.plain import PreparedRules, evaluate, prepare
from advisor.chain.ready import plain_rules
from advisor.chain.world import Extent, Item, Standing, World
from advisor.sheets.conditions import OUTCOMES, STATES, Outcome, State
from advisor.sheets.vocabulary import PURPOSES, Answer
from advisor.verdicts.answers import Barred, open_answers


def witness_of(book: Book, model: Model, says: str) -> Witness:
    """The mildest case in a model: of each variable the first value that it may have."""
    layout = {
        key[1]: book.domains.named("", key, mask)[0]
        for (item, key), mask in model.values.items()
        if item == ENGINE
    }
    items = tuple(
        _item(book, number, made, model) for number, made in enumerate(model.items) if made.same_as is None
    )
    return Witness(says, items, layout)


def _item(book: Book, number: int, made: Made, model: Model) -> WitnessItem:
    chosen = {
        key: book.domains.named(made.kind, key, mask)[0]
        for (item, key), mask in model.values.items()
        if item == number
    }
    return WitnessItem(
        kind=made.kind,
        findings={
            key[1]: "not looked at" if value == NOT_WANTED else value
            for key, value in chosen.items()
            if key[0] == "finding"
        },
        standings={(key[1], key[2]): value for key, value in chosen.items() if key[0] == "standing"},
        properties={key[1]: value for key, value in chosen.items() if key[0] == "property"},
        place_unknown=chosen.get(("place",)) == "unknown",
        origin=chosen.get(("origin",), "fitted"),
        # The items of a shadow are those of the item that it shadows; those stand in front.
        linked_to=made.of,
        relation=made.relation,
        number=made.number,
    )


def with_value(witness: Witness, key: Key, value: str) -> Witness:
    """The same case, but for one finding or standing of its first item."""
    first = witness.items[0]
    if key[0] == "finding":
        changed = replace(first, findings={**first.findings, key[1]: value})
    else:
        changed = replace(first, standings={**first.standings, (key[1], key[2]): value})
    return replace(witness, items=(changed, *witness.items[1:]))


@dataclass(frozen=True)
class Trier:
    """Tries witness cases with the plain evaluator, over the whole rule set."""

    book: Book

    @cached_property
    def _prepared(self) -> PreparedRules:
        whole = self.book.whole
        return prepare(plain_rules(whole.rules), whole.on_suspicion)

    def verdict(self, witness: Witness) -> Answer | None:
        """The answer on the first item, all evidence being there and all work feasible; None while open."""
        kind = witness.items[0].kind
        firings = evaluate(self._prepared, self.world(witness))
        bars = [
            Barred(frozenset(bar.answers), tuple(bar.mend), (number, 0, True) in firings)
            for number, rule in enumerate(self.book.whole.rules)
            if rule.for_ == kind and (number, 0, False) in firings
            for bar in rule.then.bar
        ]
        possible = open_answers(self.book.whole.vocabulary.kinds[kind].answers, bars, [], {}).possible
        return possible[0] if len(possible) == 1 else None

    def fires(self, witness: Witness) -> frozenset[str]:
        """The ids of the rules that fire for certain on the first item."""
        firings = evaluate(self._prepared, self.world(witness))
        return frozenset(
            rule.id for number, rule in enumerate(self.book.whole.rules) if (number, 0, True) in firings
        )

    def world(self, witness: Witness) -> World:
        """The items of a witness, those that there are several of as often as that."""
        vocabulary = self.book.whole.vocabulary
        first_of: dict[int, int] = {}
        items: list[Item] = []
        links: dict[str, dict[int, tuple[int, ...]]] = {}
        for number, told in enumerate(witness.items):
            first_of[number] = len(items)
            for _ in range(told.number):
                if told.linked_to is not None:
                    to = links.setdefault(told.relation, {})
                    whose = first_of[told.linked_to]
                    to[whose] = (*to.get(whose, ()), len(items))
                items.append(self._item(told))
        layout = {name: each.values[0] for name, each in vocabulary.layout.items()}
        scales = {name: tuple(finding.extents) for name, finding in vocabulary.findings.items()}
        return World(tuple(items), links, scales, {**layout, **witness.layout})

    def _item(self, told: WitnessItem) -> Item:
        vocabulary = self.book.whole.vocabulary
        findings = {
            name: Extent(0, 0) for name, each in vocabulary.findings.items() if told.kind in each.kinds
        }
        for name, word in told.findings.items():
            extents = list(vocabulary.findings[name].extents)
            if word in extents:
                findings[name] = Extent(extents.index(word), extents.index(word))
            else:
                findings[name] = Extent(0, len(extents) - 1, _state(word))
        standings: dict[tuple[str, str], Standing] = {
            (name, purpose): Standing(frozenset(("inside",)))
            for name, each in vocabulary.dimensions.items()
            if told.kind in each.kinds
            for purpose in PURPOSES
        }
        for key, word in told.standings.items():
            outcome = _outcome(word)
            standings[key] = (
                Standing(frozenset((outcome,))) if outcome else Standing(frozenset(OUTCOMES), _state(word))
            )
        made = vocabulary.kinds[told.kind].properties
        given: dict[str, str | None] = {name: values[0] for name, values in made.items() if values}
        given |= {name: None if word == NOT_GIVEN else word for name, word in told.properties.items()}
        return Item(told.kind, findings, standings, given, told.place_unknown, told.origin)


def _outcome(word: str) -> Outcome | None:
    return next((outcome for outcome in OUTCOMES if outcome == word), None)


def _state(word: str) -> State:
    return next(state for state in STATES if state == word)
