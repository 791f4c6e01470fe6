"""Runs the examples of a rule: those that must make it fire, and those on which it must hold off.

An example is a little world of its own: one item of the rule's kind, what is known of it, and the items it
is linked to. The rule is tried on it by itself, with the plain evaluator, so a concern is there only where
the example says so. The format is set out in docs/rule-language.md under "Examples".
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeGuard, cast

from advisor.chain.plain import PlainRule, PreparedRules, evaluate, prepare
from advisor.chain.world import Extent, Item, Standing, World
from advisor.faults import Fault
from advisor.sheets.conditions import (
    OUTCOMES,
    STATES,
    Absent,
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
    State,
    leaves,
)
from advisor.sheets.crosscheck import ANYWHERE, IN_SET, Checker
from advisor.sheets.places import Document, Positions
from advisor.sheets.places import Path as Steps
from advisor.sheets.rules import Examples, RuleText
from advisor.sheets.ruleset import RuleSet, RuleSetFiles, rule_positions
from advisor.sheets.vocabulary import NONE, PURPOSES, VocabularyFile

RESERVED = ("concerns", "made", "place", "origin", "layout", "missing", "related")
"""Keys of an example that are no finding and no dimension."""

_ORIGINS = ("fitted", "new", "second-hand", "delivered")
_STANDINGS = ("inside", "in doubt", "above", "below")
_GIVEN = "concern given by the example: "
_INSIDE = Standing(frozenset(("inside",)))
_NOT_ASKED_FOR = ""
"""The value of a property that an example leaves out: none that any rule can name."""


@dataclass(frozen=True, slots=True)
class Ran:
    """What came of running the examples of a rule set."""

    rules: int
    fires: int
    holds: int
    faults: tuple[Fault, ...]


def run_examples(whole: RuleSet, files: RuleSetFiles) -> Ran:
    """Run every example of every rule. A fault for each that does not do as it says, and for unknown words.

    The names that the rules themselves use must have been checked before.
    """
    rules = fires = holds = 0
    faults: list[Fault] = []
    for rule, document, index in rule_positions(files):
        tried = _Tried(whole, rule, document, ("rules", index, "examples"))
        faults += tried.faults()
        rules += 1
        fires += len(rule.examples.fires)
        holds += len(rule.examples.holds)
        for name, other in rule.alternatives.items():
            path: Steps = ("rules", index, "alternatives", name, "examples")
            faults += _Tried(whole, rule.following(name), document, path).faults()
            fires += len(other.examples.fires)
            holds += len(other.examples.holds)
    return Ran(rules, fires, holds, tuple(faults))


@dataclass(frozen=True, slots=True)
class ExampleWorld:
    """The little world of one example: item 0 is of the rule's kind."""

    rule: RuleText
    name: str
    """Where it stands among the rule's examples: ``fires 1``."""
    world: World
    given: tuple[PlainRule, ...]
    """Rules that conclude the concerns which the example gives."""


def example_worlds(whole: RuleSet) -> Iterator[ExampleWorld]:
    """The world of every example of every rule; examples with faults of their own are left out."""
    nowhere = Document("", {}, Positions("", {}))
    for rule in whole.rules:
        yield from _Tried(whole, rule, nowhere, ()).worlds()


def said_otherwise(
    whole: RuleSet, rule: RuleText, examples: Examples, document: Document, path: Steps
) -> tuple[Fault, ...]:
    """A fault for each of some examples that a rule does not bear out, which were written for another."""
    told = {**{name: getattr(rule, name) for name in RuleText.model_fields}, "examples": examples}
    return tuple(_Tried(whole, RuleText.model_construct(None, **told), document, path).faults())


class _Known:
    """What an example says of one item, over the ground that everything was looked for and is not there."""

    def __init__(self, vocabulary: VocabularyFile, kind: str) -> None:
        self.kind = kind
        self.findings = {
            name: Extent(0, 0) for name, finding in vocabulary.findings.items() if kind in finding.kinds
        }
        self.standings: dict[tuple[str, str], Standing] = {
            (name, purpose): _INSIDE
            for name, dimension in vocabulary.dimensions.items()
            if kind in dimension.kinds
            for purpose in PURPOSES
        }
        self.properties: dict[str, str | None] = dict.fromkeys(
            (*vocabulary.kinds[kind].properties, *(_GIVEN + concern for concern in vocabulary.concerns)),
            _NOT_ASKED_FOR,
        )


class _Tried(Checker):
    """One rule and its examples."""

    def __init__(self, whole: RuleSet, rule: RuleText, document: Document, path: Steps) -> None:
        super().__init__(whole, document)
        self._rule = rule
        self._path = path
        self._vocabulary = whole.vocabulary
        self._layout: dict[str, str] = {}
        for leaf in leaves(rule.condition):
            if isinstance(leaf, LayoutIs):
                self._layout.setdefault(leaf.key, leaf.value)

    def faults(self) -> list[Fault]:
        prepared: PreparedRules | None = None
        for key, examples in (("fires", self._rule.examples.fires), ("holds", self._rule.examples.holds)):
            for index, example in enumerate(examples):
                path = (*self._path, key, index)
                before = len(self.found)
                world = self._world(path, example)
                if len(self.found) > before or world is None:
                    continue
                prepared = prepared or prepare(self._plain(self._rule.condition))
                firings = evaluate(prepared, world)
                self._judge(path, key, (0, 0, True) in firings, (0, 0, False) in firings, world)
        return self.found

    def worlds(self) -> Iterator[ExampleWorld]:
        """The worlds of the rule's examples."""
        given = tuple(self._plain())
        for key, examples in (("fires", self._rule.examples.fires), ("holds", self._rule.examples.holds)):
            for index, example in enumerate(examples):
                before = len(self.found)
                world = self._world((*self._path, key, index), example)
                if world is not None and len(self.found) == before:
                    yield ExampleWorld(self._rule, f"{key} {index + 1}", world, given)

    def _plain(self, *conditions: Condition) -> list[PlainRule]:
        """The conditions as rules on the rule's kind, and then the rules that conclude what is given."""
        asked = {
            (kind, leaf.concern)
            for each in leaves(self._rule.condition)
            for kind, leaf in _inner(each, self._rule.for_)
            if isinstance(leaf, HasConcern)
        }
        return [PlainRule(self._rule.for_, condition, ()) for condition in conditions] + [
            PlainRule(kind, HasProperty(_GIVEN + concern, "yes"), (concern,))
            for kind, concern in sorted(asked)
        ]

    def _judge(self, path: Steps, key: str, certain: bool, possible: bool, world: World) -> None:
        rule = self._rule.id
        if key == "fires" and not certain:
            how = "may fire on this example and need not" if possible else "does not fire on this example"
            lacking = "; ".join(self._lacking(world))
            self.fault(
                path,
                "example-does-not-fire",
                f"rule {rule} {how}",
                "an example under `fires` makes it fire for certain",
                f"not certain here: {lacking}" if lacking else "correct the example or the rule",
            )
        if key == "holds" and possible:
            how = "fires" if certain else "may fire"
            self.fault(
                path,
                "example-fires",
                f"rule {rule} {how} on this example",
                "on an example under `holds` it cannot fire",
                "correct the example, or narrow the rule's condition",
            )

    def _lacking(self, world: World) -> Iterator[str]:
        """Each part of the condition that is not certain in a world, in words."""
        parts = leaves(self._rule.condition)
        firings = evaluate(prepare(self._plain(*parts)), world)
        for number, part in enumerate(parts):
            if (number, 0, True) not in firings:
                yield leaf_words(part)

    def _world(self, path: Steps, example: Mapping[str, object]) -> World | None:
        told = [self._item(path, example, self._rule.for_)]
        links: dict[str, list[int]] = {}
        related = example.get("related", ())
        if isinstance(related, dict):
            related, base = [related], (*path, "related")
        else:
            base = (*path, "related")
        if not isinstance(related, list | tuple):
            self._shape(base, "a list of related items", "related: [{relation: kind, ...}]")
            return None
        for index, each in enumerate(related):
            at = (*base, index) if isinstance(example.get("related"), list) else base
            link = self._link(at, each)
            if link is not None:
                relation, kind = link
                links.setdefault(relation, []).append(len(told))
                told.append(self._item(at, each, kind, link=relation))
        layout = dict(self._layout)
        given = example.get("layout", {})
        if self._mapping(given, (*path, "layout")):
            for key, value in given.items():
                at = (*path, "layout", key)
                if self.word(at, key, self._vocabulary.layout, "layout key"):
                    self.word(at, str(value), self._vocabulary.layout[key].values, f"value of {key}")
                layout[key] = str(value)
        scales = {name: tuple(finding.extents) for name, finding in self._vocabulary.findings.items()}
        return World(
            tuple(told),
            {relation: {0: tuple(others)} for relation, others in links.items()},
            scales,
            layout,
        )

    def _link(self, path: Steps, entry: object) -> tuple[str, str] | None:
        """Relation and kind of a related item: the first key that names a relation says both."""
        if not self._mapping(entry, path):
            return None
        relations = (*self._vocabulary.relations, IN_SET, ANYWHERE)
        relation = next((key for key in entry if key in relations), None)
        if relation is None:
            first = next(iter(entry), "")
            self.fault(
                path,
                "example-no-relation",
                "nothing says how this item is related" + (f": {first} is no relation" if first else ""),
                "a relation and a kind first, such as anywhere: kind_of_part",
                f"one of {', '.join(relations)}",
            )
            return None
        kind = str(entry[relation])
        if not self.word((*path, relation), kind, self._vocabulary.kinds, "kind of part"):
            return None
        asker = self._rule.for_
        if relation == IN_SET:
            linked = any(
                asker in each.kinds and kind in each.kinds for each in self._vocabulary.sets.values()
            )
        else:
            linked = relation == ANYWHERE or any(
                link.of == asker and link.to == kind for link in self._vocabulary.relations[relation].links
            )
        if not linked:
            self.fault(
                (*path, relation),
                "relation-links-nothing",
                f"{relation} does not link {asker} to {kind}",
                "a relation that the vocabulary gives these two kinds",
                "see `relations` in the vocabulary",
            )
            return None
        return relation, kind

    def _item(self, path: Steps, example: Mapping[str, object], kind: str, *, link: str = "") -> Item:
        """An item of an example; what it leaves out was looked for and is not there."""
        vocabulary = self._vocabulary
        known = _Known(vocabulary, kind)
        for key, value in example.items():
            at = (*path, key)
            if key == link and link:
                continue
            if key in ("related", "layout"):
                if link:
                    self.fault(
                        at,
                        "example-nested",
                        f"{key} stands inside a related item",
                        f"{key} at the top of the example",
                        "move it there",
                    )
            elif key in RESERVED:
                self._reserved(at, key, value, known)
            elif key in vocabulary.dimensions:
                self._standing(at, key, value, known)
            elif self.word(at, key, self._words_of(kind), f"word for an example about {kind}") and self.word(
                at, str(value), vocabulary.findings[key].extents, f"extent of {key}"
            ):
                position = list(vocabulary.findings[key].extents).index(str(value))
                known.findings[key] = Extent(position, position)
        return Item(
            kind=kind,
            findings=known.findings,
            standings=known.standings,
            properties=known.properties,
            place_unknown=example.get("place") == "unknown",
            origin=str(example.get("origin", "fitted")),
        )

    def _reserved(self, path: Steps, key: str, value: object, known: _Known) -> None:
        if key == "place":
            self.word(path, str(value), ("unknown",), "word for a place in an example")
        elif key == "origin":
            self.word(path, str(value), _ORIGINS, "origin")
        elif key == "concerns":
            if not isinstance(value, list):
                self._shape(path, "a list of concerns", "concerns: [name]")
                return
            names = [str(each) for each in value]
            self.words(path, names, self._vocabulary.concerns, "concern")
            known.properties.update((_GIVEN + name, "yes") for name in names)
        elif key == "made" and self._mapping(value, path):
            properties = self._vocabulary.kinds[known.kind].properties
            for name, word in value.items():
                at = (*path, name)
                if self.word(at, name, properties, f"property of {known.kind}"):
                    self.word(at, str(word), properties[name], f"value of {name}")
                    known.properties[name] = str(word)
        elif key == "missing" and self._mapping(value, path):
            for name, word in value.items():
                self._missing((*path, name), name, str(word), known)

    def _words_of(self, kind: str) -> list[str]:
        vocabulary = self._vocabulary
        findings = [name for name, each in vocabulary.findings.items() if kind in each.kinds]
        dimensions = [name for name, each in vocabulary.dimensions.items() if kind in each.kinds]
        return [*findings, *dimensions, *RESERVED]

    def _missing(self, path: Steps, name: str, word: str, known: _Known) -> None:
        words = [*known.findings, *dict.fromkeys(dimension for dimension, _ in known.standings)]
        if not self.word(path, name, words, f"finding or dimension of {known.kind}"):
            return
        if not self.word(path, word, STATES, "way in which evidence is missing"):
            return
        state = cast("State", word)
        if name in known.findings:
            last = len(self._vocabulary.findings[name].extents) - 1
            known.findings[name] = Extent(0, last, state)
        else:
            for purpose in PURPOSES:
                known.standings[name, purpose] = Standing(frozenset(OUTCOMES), state)

    def _standing(self, path: Steps, name: str, value: object, known: _Known) -> None:
        if not self.dimension(path, name, known.kind):
            return
        given = value if isinstance(value, list) else [value]
        for index, text in enumerate(given):
            at = (*path, index) if isinstance(value, list) else path
            how, _, purpose = str(text).rpartition(" ")
            if how not in _STANDINGS or purpose not in PURPOSES:
                self.fault(
                    at,
                    "example-standing",
                    f"{text} is not how {name} may stand",
                    f"one of {', '.join(_STANDINGS)}, then one of {', '.join(PURPOSES)}",
                    f"for example {name}: above discard",
                )
            elif how == "in doubt":
                known.standings[name, purpose] = Standing(frozenset(OUTCOMES), "in doubt")
            else:
                known.standings[name, purpose] = Standing(frozenset(each for each in OUTCOMES if each == how))

    def _mapping(self, value: object, path: Steps) -> TypeGuard[dict[str, object]]:
        if isinstance(value, dict):
            return True
        self._shape(path, "a mapping", "keys with values")
        return False

    def _shape(self, path: Steps, wanted: str, example: str) -> None:
        self.fault(path, "wrong-shape", "this part of the example has the wrong shape", wanted, example)


def _inner(leaf: Leaf | Related | Absent, kind: str) -> list[tuple[str, Leaf]]:
    """The plain leaf inside a leaf, with the kind of item that it is asked of."""
    if isinstance(leaf, Absent):
        return _inner(leaf.of, kind)
    if isinstance(leaf, Related):
        return [(leaf.kind, leaf.leaf)]
    return [(kind, leaf)]


def leaf_words(leaf: Leaf | Related | Absent) -> str:
    """A part of a condition, as it would be written in a rule."""
    if isinstance(leaf, Absent):
        return f"no {leaf_words(leaf.of)}"
    if isinstance(leaf, Related):
        number = {None: "every", 1: "some"}.get(leaf.number, f"at least {leaf.number}")
        return f"{leaf_words(leaf.leaf)} on {number} {leaf.kind} ({leaf.relation})"
    match leaf:
        case Found(finding, lowest, None):
            return f"{finding} at least {lowest}"
        case Found(finding, lowest, highest) if lowest == highest:
            return f"{finding} is {lowest}"
        case Found(finding, lowest, highest):
            low = "" if lowest == NONE else f"at least {lowest} and "
            return f"{finding} {low}at most {highest}"
        case Stands(dimension, purpose, outcomes):
            return f"{dimension} {' or '.join(sorted(outcomes))} {purpose}"
        case HasConcern(concern):
            return f"concern {concern}"
        case HasProperty(name, value):
            return f"{name} is {value}"
        case PlaceUnknown():
            return "place unknown"
        case Origin(origin):
            return f"origin {origin}"
        case EvidenceIs(name, _, state):
            return f"evidence {name} is {state}"
        case LayoutIs(key, value):
            return f"layout {key} is {value}"
