"""Rules as people write them: one flat model per condition, conclusion and rule.

A condition is one mapping whose keys say what kind it is; `ConditionText.tree` turns it into the
closed values of `advisor.sheets.conditions`. There are no expression strings and no code: a rule
set is data.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Annotated, Literal, cast

from pydantic import Field, model_validator

from advisor.sheets.base import (
    Count,
    FaultError,
    Located,
    Name,
    RuleId,
    Sheet,
    Words,
)
from advisor.sheets.conditions import (
    STATES,
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
    Outcome,
    PlaceUnknown,
    Related,
    Stands,
    State,
)
from advisor.sheets.rule_of_thumb import RuleOfThumb
from advisor.sheets.vocabulary import NONE, Answer, Cite, Evidence, OneOrMany, Purpose

Standing = Literal["inside", "outside", "above", "below"]
"""How a dimension may stand in a condition; `outside` is above or below."""

_HEADS = (
    "all",
    "any",
    "of",
    "absent",
    "finding",
    "dimension",
    "concern",
    "evidence",
    "property",
    "place",
    "origin",
    "layout",
)
"""The key that says what a condition is; each condition has exactly one."""

_PARTNERS = {
    "of": {"count"},
    "finding": {"at_least", "at_most", "is", "some", "every"},
    "dimension": {"against", "standing", "some", "every"},
    "concern": {"some", "every"},
    "evidence": {"against", "is"},
    "property": {"is", "some", "every"},
    "place": {"some", "every"},
    "origin": {"some", "every"},
    "layout": {"is"},
}
"""Which other keys may stand beside each head; `some` and `every` make the leaf one about related items."""


class ConditionText(Located):
    """One condition as it is written."""

    all: list[ConditionText] | None = None
    any: list[ConditionText] | None = None
    count: Count | None = None
    of: list[ConditionText] | None = None
    absent: ConditionText | None = None
    finding: Name | None = None
    at_least: Name | None = None
    at_most: Name | None = None
    is_: str | None = Field(default=None, alias="is", max_length=60)
    dimension: Name | None = None
    against: Purpose | None = None
    standing: Standing | None = None
    concern: Name | None = None
    evidence: Name | None = None
    property: Name | None = None
    place: Literal["unknown"] | None = None
    origin: Literal["fitted", "new", "second-hand", "delivered"] | None = None
    layout: Name | None = None
    some: dict[Name, str] | None = Field(
        default=None, description="{relation: kind}, and `at_least: n` for more than one"
    )
    every: dict[Name, str] | None = Field(default=None, description="{relation: kind}")

    @model_validator(mode="after")
    def _well_formed(self) -> ConditionText:
        given = {name for name in _FIELDS if getattr(self, name) is not None}
        heads = [head for head in _HEADS if head in given]
        if len(heads) != 1:
            raise FaultError(
                "condition-head",
                "a condition says nothing" if not heads else f"a condition is both {heads[0]} and {heads[1]}",
                "exactly one of " + ", ".join(_HEADS),
                "put each condition in a list item of its own, under `all:` or `any:`",
            )
        head = heads[0]
        stray = {name.rstrip("_") for name in given} - {head} - _PARTNERS.get(head, set())
        if stray:
            raise FaultError(
                "condition-partner",
                f"`{sorted(stray)[0]}` does not go with `{head}`",
                f"with `{head}`: " + (", ".join(sorted(_PARTNERS.get(head, set()))) or "nothing else"),
                "move it to the condition it belongs to",
            )
        _CHECKS.get(head, _check_link)(self)
        return self

    @cached_property
    def tree(self) -> Condition:
        """The condition as a closed value."""
        if self.all is not None:
            return All(tuple(part.tree for part in self.all))
        if self.any is not None:
            return Any(tuple(part.tree for part in self.any))
        if self.of is not None:
            return Any(tuple(part.tree for part in self.of), int(self.count or 1))
        if self.absent is not None:
            return Absent(cast("HasConcern | Related", self.absent.tree))
        leaf = self._leaf()
        if self.some is not None:
            relation, kind, number = _link(self.some)
            return Related(relation, kind, number, leaf)
        if self.every is not None:
            relation, kind, _ = _link(self.every)
            return Related(relation, kind, None, leaf)
        return leaf

    def _leaf(self) -> Leaf:
        if self.finding is not None:
            if self.is_ is not None:
                return Found(self.finding, self.is_, self.is_)
            return Found(self.finding, self.at_least or NONE, self.at_most)
        if self.dimension is not None:
            outcomes: frozenset[Outcome]
            if self.standing == "outside":
                outcomes = frozenset(("above", "below"))
            else:
                outcomes = frozenset((cast("Outcome", self.standing),))
            return Stands(self.dimension, self.against or "discard", outcomes)
        if self.concern is not None:
            return HasConcern(self.concern)
        if self.property is not None:
            return HasProperty(self.property, self.is_ or "")
        if self.evidence is not None:
            return EvidenceIs(self.evidence, self.against or "discard", cast("State", self.is_))
        if self.place is not None:
            return PlaceUnknown()
        if self.origin is not None:
            return Origin(self.origin)
        return LayoutIs(self.layout or "", self.is_ or "")


_FIELDS = tuple(name for name in ConditionText.model_fields if name != "at")


def _link(words: dict[str, str]) -> tuple[str, str, int]:
    """Relation, kind and number of a ``some:`` or ``every:`` mapping."""
    relation = next(key for key in words if key != "at_least")
    return relation, words[relation], int(words.get("at_least", "1"))


def _check_link(condition: ConditionText) -> None:
    """`some` and `every` name one relation; a number goes with `some` only."""
    if condition.some is not None and condition.every is not None:
        raise FaultError(
            "condition-partner", "a condition asks for some and for every", "one of the two", "choose one"
        )
    for name, words in (("some", condition.some), ("every", condition.every)):
        if words is None:
            continue
        relations = [key for key in words if key != "at_least"]
        number = words.get("at_least")
        if len(relations) != 1 or (number is not None and name == "every"):
            raise FaultError(
                "relation-shape",
                f"`{name}` does not name one relation",
                f"{name}: {{relation: kind}}"
                + (", with at_least: n if more than one is meant" if name == "some" else ""),
                "for example some: {relation: kind_of_part}",
            )
        if number is not None and not (number.isascii() and number.isdigit() and 0 < int(number) < 10_000):
            raise FaultError(
                "count-number", f"at_least {number} is no number of items", "a whole number from 1", ""
            )


def _check_finding(condition: ConditionText) -> None:
    _check_link(condition)
    if condition.is_ is not None and (condition.at_least or condition.at_most):
        raise FaultError(
            "condition-partner",
            "`is` stands beside at_least or at_most",
            "`is` alone, or the others",
            "drop one",
        )
    if condition.is_ is None and condition.at_least is None and condition.at_most is None:
        raise FaultError(
            "finding-extent",
            f"finding {condition.finding} has no extent to compare with",
            "at_least, at_most or is, with an extent of that finding",
            "for example at_least: light",
        )


def _check_dimension(condition: ConditionText) -> None:
    _check_link(condition)
    if condition.against is None or condition.standing is None:
        raise FaultError(
            "dimension-standing",
            f"dimension {condition.dimension} is compared with nothing",
            "against: new, reassembly or discard, and standing: inside, outside, above or below",
            "for example against: discard, standing: outside",
        )


def _check_is(allowed: tuple[str, ...] | None, example: str) -> Callable[[ConditionText], None]:
    def check(condition: ConditionText) -> None:
        _check_link(condition)
        if condition.is_ is None or (allowed is not None and condition.is_ not in allowed):
            raise FaultError(
                "condition-is",
                "`is` is missing" if condition.is_ is None else f"`is: {condition.is_}` is not known here",
                ("one of " + ", ".join(allowed)) if allowed else "`is` with a value",
                f"for example {example}",
            )

    return check


def _check_of(condition: ConditionText) -> None:
    if condition.count is None or not condition.of or int(condition.count) > len(condition.of):
        raise FaultError(
            "count-number",
            "`of` has no count"
            if condition.count is None
            else "the count is larger than the list under `of`",
            "count: a whole number no larger than the list",
            "for example count: 2 with three conditions under `of`",
        )


def _check_absent(condition: ConditionText) -> None:
    inner = condition.absent
    if inner is None or inner.concern is None or inner.every is not None:
        raise FaultError(
            "absent-concern",
            "`absent` holds something other than a concern",
            "absent: {concern: name}, with `some` for related items",
            "for a finding looked for and not there write is: none",
        )


_CHECKS: dict[str, Callable[[ConditionText], None]] = {
    "finding": _check_finding,
    "dimension": _check_dimension,
    "property": _check_is(None, "property: treatment, is: nitrided"),
    "layout": _check_is(None, "layout: fuel, is: diesel"),
    "evidence": _check_is(STATES, "evidence: crack, is: lost"),
    "of": _check_of,
    "absent": _check_absent,
}


class Bar(Located):
    """Answers that are ruled out, and the work that would take the reason away."""

    answers: Annotated[list[Answer], OneOrMany] = Field(min_length=1)
    mend: Annotated[list[Name], OneOrMany] = Field(
        default=[], description="operations that remedy this; one that can be done makes recondition possible"
    )
    ground: Literal["condemned", "routine"] = "condemned"

    @model_validator(mode="after")
    def _replace_is_open(self) -> Bar:
        if "replace" in self.answers:
            raise FaultError(
                "replace-always-open",
                "a rule rules replace out",
                "reuse, recondition or both",
                "replace is always open: a part that nobody can supply is a matter for the scope of work",
            )
        if self.mend and "recondition" in self.answers:
            raise FaultError(
                "bar-mend",
                "a bar names work that mends it and rules recondition out",
                "one of the two",
                "drop recondition from answers, or drop mend",
            )
        return self


class Conclusion(Located):
    """What follows when a rule fires; at least one of the four."""

    bar: Annotated[list[Bar], OneOrMany] = []
    require: Annotated[list[Evidence], OneOrMany] = []
    concern: Annotated[list[Name], OneOrMany] = []
    task: Annotated[list[Name], OneOrMany] = []

    @model_validator(mode="after")
    def _something(self) -> Conclusion:
        if not (self.bar or self.require or self.concern or self.task):
            raise FaultError(
                "conclusion-empty",
                "a rule concludes nothing",
                "at least one of bar, require, concern, task",
                "",
            )
        return self

    @property
    def findings_wanted(self) -> tuple[str, ...]:
        """The findings among the evidence that is asked for."""
        return tuple(each.finding for each in self.require if each.finding is not None)


class Examples(Located):
    """Small cases that must make the rule fire, and others on which it must hold off.

    Each is a mapping about one item: findings with an extent, dimensions with a standing
    (`taper: above discard`), and the reserved keys `concerns`, `made`, `place`, `origin`, `layout`,
    `missing` and `related`. What an example leaves out was looked for and is not there.
    """

    fires: list[dict[str, object]] = Field(min_length=1)
    holds: list[dict[str, object]] = Field(min_length=1)


class RuleAlternative(Located):
    """What another source says in place of a rule; a house may follow it, and by itself it does nothing."""

    when: ConditionText | None = Field(default=None, description="left out, as in the rule")
    then: Conclusion | None = Field(default=None, description="left out, as in the rule")
    because: Words
    cite: list[Cite] = Field(min_length=1)
    examples: Examples

    @model_validator(mode="after")
    def _another(self) -> RuleAlternative:
        if self.when is None and self.then is None:
            raise FaultError(
                "alternative-empty",
                "an alternative says the same as the rule it stands beside",
                "when, then or both",
                "write what the other source says otherwise, or drop it",
            )
        return self


class RuleText(Located):
    """One rule: for items of a kind, when the condition holds, then the conclusion."""

    id: RuleId
    for_: Name = Field(alias="for")
    when: ConditionText | None = Field(default=None, description="left out, the rule always fires")
    then: Conclusion
    because: Words
    cite: list[Cite] = Field(min_length=1)
    differs: str = Field(
        default="", max_length=600, description="where sources disagree: which one this rule follows, and why"
    )
    cautions: list[Name] = []
    examples: Examples
    alternatives: dict[Name, RuleAlternative] = Field(
        default={}, description="what other sources say; a house rule may follow one of them"
    )

    def following(self, name: str) -> RuleText:
        """The rule as the alternative of that name has it; it keeps its id and its alternatives."""
        whole = {
            each: other.model_copy(
                update={
                    # What an alternative leaves out is as in the rule that it was written beside.
                    "when": other.when or self.when or ConditionText(all=[]),
                    "then": other.then or self.then,
                }
            )
            for each, other in self.alternatives.items()
        }
        other = whole[name]
        told = {
            "when": other.when if self.alternatives[name].when is not None else self.when,
            "then": other.then,
            "alternatives": whole,
            "because": other.because,
            "cite": other.cite,
            "examples": other.examples,
            "at": other.at,
        }
        return RuleText.model_construct(
            self.model_fields_set | told.keys(),
            **{**{key: getattr(self, key) for key in RuleText.model_fields}, **told},
        )

    @cached_property
    def condition(self) -> Condition:
        """The rule's condition as a closed value."""
        return self.when.tree if self.when is not None else All(())


class RuleFile(Sheet):
    """One file of rules; the files of a rule set are merged."""

    format: Literal["1"]
    rules: list[RuleText] = []
    limits: list[RuleOfThumb] = []
