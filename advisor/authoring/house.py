"""What house rules change of their base, and what of the base rests on that."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor.authoring.examples import said_otherwise
from advisor.sheets.conditions import Absent, EvidenceIs, Leaf, Related, Stands, leaves
from advisor.sheets.house_record import HouseChange, HouseLayer
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet, RuleSetFiles, merge, rule_positions


@dataclass(frozen=True, slots=True)
class ShownChange:
    """One change with what it touches."""

    change: HouseChange
    at: str
    """Where it is written."""
    rests: tuple[str, ...]
    """The rules that rest on a limit that is changed."""
    examples: tuple[str, ...]
    """Examples of the base that say something else by it, each in words."""


@dataclass(frozen=True, slots=True)
class ShownLayer:
    """One layer of house rules with what it touches."""

    layer: HouseLayer
    digest: str
    """Of the base with this layer in it."""
    changes: tuple[ShownChange, ...]
    no_longer_judged: tuple[str, ...]
    """Kinds of part that no rule can bar from reuse any more."""


def shown_layers(files: RuleSetFiles) -> tuple[ShownLayer, ...]:
    """The layers of house rules in the files of a rule set, the lowest first; none where it has none."""
    if files.base is None:
        return ()
    whole, _ = merge(files)
    base, _ = merge(files.base)
    layer = files.layers[-1]
    changes = tuple(_shown(change, layer, whole, files.base, base) for change in layer.changes)
    lost = tuple(sorted(base.judged_kinds - whole.judged_kinds))
    return (*shown_layers(files.base), ShownLayer(layer, whole.digest, changes, lost))


def _shown(
    change: HouseChange, layer: HouseLayer, whole: RuleSet, files: RuleSetFiles, base: RuleSet
) -> ShownChange:
    at = whole.written.get(f"{layer.name}/{change.key}", "")
    rests: tuple[str, ...] = ()
    examples: tuple[str, ...] = ()
    if change.kind == "limit changed":
        part, dimension, purpose = change.subject.split()[:3]
        resting = [rule for rule in whole.rules if _rests(rule, part, dimension, purpose)]
        rests = tuple(rule.id for rule in resting)
        examples = tuple(_speaking(resting, dimension, purpose))
    elif change.kind == "rule retired":
        examples = tuple(_gone(base, change.subject))
    elif change.kind == "alternative followed":
        examples = tuple(_otherwise(change.subject, whole, files))
    return ShownChange(change, at, rests, examples)


def _rests(rule: RuleText, part: str, dimension: str, purpose: str) -> bool:
    """Whether a rule looks at how a dimension of a kind of part stands against its limit for a purpose.

    What work has just made is held to the limit for new where a used one is held to that for discard.
    """
    purposes = ("new", "discard") if purpose == "new" else (purpose,)
    for leaf in leaves(rule.condition):
        kind, inner = _inner(leaf, rule.for_)
        if kind != part:
            continue
        if isinstance(inner, Stands) and inner.dimension == dimension and inner.purpose in purposes:
            return True
        if isinstance(inner, EvidenceIs) and inner.name == dimension and inner.purpose in purposes:
            return True
    return False


def _inner(leaf: Leaf | Related | Absent, kind: str) -> tuple[str, Leaf]:
    of = leaf.of if isinstance(leaf, Absent) else leaf
    return (of.kind, of.leaf) if isinstance(of, Related) else (kind, of)


def _speaking(rules: list[RuleText], dimension: str, purpose: str) -> Iterator[str]:
    """How many examples of each rule name the standing of a dimension: they mean another size now."""
    told = []
    for rule in rules:
        number = sum(
            _names(example, dimension, purpose) for example in (*rule.examples.fires, *rule.examples.holds)
        )
        if number:
            told.append(f"{number} of {rule.id}")
    if told:
        yield f"where they say {purpose}, the house's limit is meant now: {', '.join(told)}"


def _names(example: dict[str, object], dimension: str, purpose: str) -> bool:
    told: list[object] = [example.get(dimension)]
    related = example.get("related")
    for other in related if isinstance(related, list) else [related]:
        if isinstance(other, dict):
            told.append(other.get(dimension))
    each = [str(one) for said in told for one in (said if isinstance(said, list) else [said])]
    return any(one.endswith(f" {purpose}") for one in each)


def _gone(base: RuleSet, name: str) -> Iterator[str]:
    """How many examples go with a rule."""
    for rule in base.rules:
        if rule.id == name:
            number = len(rule.examples.fires) + len(rule.examples.holds)
            yield f"its {number} examples go with it"


def _otherwise(name: str, whole: RuleSet, files: RuleSetFiles) -> Iterator[str]:
    """The examples of a rule of the base that come out otherwise under the alternative."""
    followed = next(rule for rule in whole.rules if rule.id == name)
    for rule, document, index in rule_positions(files):
        if rule.id == name:
            path = ("rules", index, "examples")
            for fault in said_otherwise(whole, followed, rule.examples, document, path):
                yield f"{fault.at}: {fault.what}" if fault.at is not None else fault.what
