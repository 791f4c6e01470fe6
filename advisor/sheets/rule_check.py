"""One rule checked: its words, and what its conclusions may rest on."""

from __future__ import annotations

from advisor.faults import Fault
from advisor.sheets.checker import ANYWHERE, IN_SET, Checker
from advisor.sheets.conditions import All, Any, Condition, EvidenceIs, PlaceUnknown, Stands, leaves
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.rules import ConditionText, RuleText
from advisor.sheets.ruleset import RuleSet, RuleSetFiles, concerns_of


class RuleChecker(Checker):
    """The words of one rule, and what its conclusions may rest on."""

    elsewhere = "add {kind} to its kinds, or ask it of a related item with `some:`"

    def __init__(self, whole: RuleSet, rule: RuleText, document: Document, path: Steps) -> None:
        super().__init__(whole, document)
        self._rule = rule
        self._path = path
        self._concluded = concerns_of(whole.rules)

    def faults(self) -> list[Fault]:
        """Everything wrong with the rule."""
        rule, path, vocabulary = self._rule, self._path, self.whole.vocabulary
        if not self.word((*path, "for"), rule.for_, vocabulary.kinds, "kind of part"):
            return self.found
        if rule.when is not None:
            self._condition((*path, "when"), rule.when, rule.for_)
        answers = vocabulary.kinds[rule.for_].answers
        for index, bar in enumerate(rule.then.bar):
            at: Steps = (*path, "then", "bar", index)
            for answer in bar.answers:
                if answer not in answers:
                    self.fault(
                        (*at, "answers"),
                        "answer-not-open",
                        f"{answer} is not among the answers of {rule.for_}",
                        ", ".join(answers),
                        "drop it, or add it to the kind's answers",
                    )
            for name in bar.mend:
                if self.word((*at, "mend"), name, vocabulary.operations, "operation"):
                    self._operation((*at, "mend"), name)
        for index, evidence in enumerate(rule.then.require):
            self.evidence((*path, "then", "require", index), evidence, rule.for_)
        self.words((*path, "then", "concern"), rule.then.concern, vocabulary.concerns, "concern")
        self.words((*path, "then", "task"), rule.then.task, vocabulary.tasks, "task")
        self.words((*path, "cautions"), rule.cautions, self.whole.cautions, "caution")
        self.cites(path, rule.cite)
        self._grounds()
        return self.found

    def _operation(self, at: Steps, name: str) -> None:
        rule, operation = self._rule, self.whole.vocabulary.operations[name]
        if rule.for_ not in operation.kinds:
            self.fault(
                at,
                "not-of-this-kind",
                f"operation {name} is not done to {rule.for_}",
                f"an operation of {rule.for_}; {name} is for {', '.join(operation.kinds)}",
                f"add {rule.for_} to its kinds, or name another operation",
            )
        if "recondition" not in self.whole.vocabulary.kinds[rule.for_].answers:
            self.fault(
                at,
                "answer-not-open",
                f"{rule.for_} is never reconditioned, so nothing mends this bar",
                "no mend",
                "drop mend, or add recondition to the kind's answers",
            )

    def _grounds(self) -> None:
        """A bar may not rest on missing evidence, nor on a limit that is not for throwing away."""
        if not (self._rule.then.bar or self._rule.then.concern):
            return
        for leaf in leaves(self._rule.condition):
            if isinstance(leaf, EvidenceIs):
                self.fault(
                    (*self._path, "when"),
                    "bar-on-missing-evidence",
                    f"rule {self._rule.id} concludes from evidence that is missing",
                    "only require and task under such a condition",
                    "ask for the evidence with `require`, and bar in a rule that has seen it",
                )
            stands = leaf if isinstance(leaf, Stands) else getattr(leaf, "leaf", None)
            if self._rule.then.bar and isinstance(stands, Stands) and stands.purpose != "discard":
                self.fault(
                    (*self._path, "when"),
                    "bar-on-limit",
                    f"rule {self._rule.id} bars an answer on a limit for {stands.purpose}",
                    "a limit for discard",
                    "the other limits are for new parts and for going back together: use `task` there",
                )

    def _condition(self, path: Steps, condition: ConditionText, kind: str) -> None:
        for key in ("all", "any", "of"):
            for index, part in enumerate(getattr(condition, key) or ()):
                self._condition((*path, key, index), part, kind)
        if condition.absent is not None:
            self._condition((*path, "absent"), condition.absent, kind)
        link = condition.some or condition.every
        if link is not None:
            kind = self._link((*path, "some" if condition.some else "every"), link, kind)
        self._leaf(path, condition, kind)

    def _link(self, path: Steps, link: dict[str, str], kind: str) -> str:
        vocabulary = self.whole.vocabulary
        for relation, other in link.items():
            if relation == "at_least":
                continue
            self.word((*path, relation), other, vocabulary.kinds, "kind of part")
            if relation == ANYWHERE:
                return other
            if relation == IN_SET:
                self._shared_set((*path, relation), kind, other)
            elif self.word((*path, relation), relation, vocabulary.relations, "relation"):
                links = vocabulary.relations[relation].links
                if other in vocabulary.kinds and not any(
                    each.of == kind and each.to == other for each in links
                ):
                    self.fault(
                        (*path, relation),
                        "relation-links-nothing",
                        f"{relation} does not link {kind} to {other}",
                        "; ".join(f"{each.of} to {each.to}" for each in links[:8]),
                        "add the link to the relation, or use another relation",
                    )
            return other
        return kind

    def _shared_set(self, path: Steps, kind: str, other: str) -> None:
        sets = self.whole.vocabulary.sets
        if not any(kind in each.kinds and other in each.kinds for each in sets.values()):
            self.fault(
                path,
                "relation-links-nothing",
                f"no set holds both {kind} and {other}",
                "two kinds of one set",
                "add them to a set in the vocabulary",
            )

    def _leaf(self, path: Steps, condition: ConditionText, kind: str) -> None:
        vocabulary = self.whole.vocabulary
        if condition.finding is not None and self.finding((*path, "finding"), condition.finding, kind):
            extents = vocabulary.findings[condition.finding].extents
            for key, extent in (
                ("at_least", condition.at_least),
                ("at_most", condition.at_most),
                ("is", condition.is_),
            ):
                if extent is not None:
                    self.word((*path, key), extent, list(extents), f"extent of {condition.finding}")
            if (
                condition.at_least == "none"
                or condition.at_most == list(extents)[-1]
                or (
                    condition.at_least in extents
                    and condition.at_most in extents
                    and list(extents).index(condition.at_least) > list(extents).index(condition.at_most)
                )
            ):
                self.fault(
                    path,
                    "extent-always",
                    f"finding {condition.finding} is compared in a way that says nothing",
                    "at_least beyond none, at_most short of the last extent, and no less than at_least",
                    "for looked for and not there write is: none",
                )
        if condition.dimension is not None:
            self.dimension((*path, "dimension"), condition.dimension, kind)
        if condition.concern is not None and self.word(
            (*path, "concern"), condition.concern, vocabulary.concerns, "concern"
        ):
            concluded = any(
                rule.for_ == kind and condition.concern in rule.then.concern for rule in self.whole.rules
            )
            if not concluded:
                self.fault(
                    (*path, "concern"),
                    "concern-never-concluded",
                    f"no rule concludes {condition.concern} about {kind}",
                    "a concern that a rule for that kind concludes",
                    "write that rule, or look at the concern where it is concluded",
                )
        if condition.evidence is not None:
            names = {
                name
                for entries in (vocabulary.findings, vocabulary.dimensions)
                for name, each in entries.items()
                if kind in each.kinds
            }
            self.word((*path, "evidence"), condition.evidence, names, f"finding or dimension of {kind}")
        if condition.property is not None and kind in vocabulary.kinds:
            properties = vocabulary.kinds[kind].properties
            if self.word((*path, "property"), condition.property, properties, f"property of {kind}"):
                self.word(
                    (*path, "is"),
                    condition.is_ or "",
                    properties[condition.property],
                    f"value of {condition.property}",
                )
        if condition.layout is not None and self.word(
            (*path, "layout"), condition.layout, vocabulary.layout, "layout key"
        ):
            values = vocabulary.layout[condition.layout].values
            self.word((*path, "is"), condition.is_ or "", values, f"value of {condition.layout}")


def check_own_places(whole: RuleSet, files: RuleSetFiles) -> list[Fault]:
    """A fault for each kind of which `own_place` is claimed and that no rule holds to it.

    Kinds that no rule can bar from reuse are not judged at all, and so never put back.
    """
    guarded = {
        rule.for_
        for rule in whole.rules
        if any("reuse" in bar.answers for bar in rule.then.bar) and _holds_without_place(rule.condition)
    }
    return [
        Fault(
            "own-place-unguarded",
            f"{name} goes back only where it came from, and no rule bars its reuse where its place is lost",
            f"a rule for {name} with when: {{place: unknown}} and bar: {{answers: reuse}}",
            "write that rule, or drop own_place",
            document.positions["kinds", name, "own_place"],
        )
        for model, document in files.vocabulary
        for name, kind in model.kinds.items()
        if kind.own_place and name in whole.judged_kinds - guarded
    ]


def _holds_without_place(condition: Condition) -> bool:
    """Whether the condition is certain of every item whose place is not known."""
    if isinstance(condition, All):
        return all(_holds_without_place(part) for part in condition.parts)
    if isinstance(condition, Any):
        return sum(_holds_without_place(part) for part in condition.parts) >= condition.number
    return isinstance(condition, PlaceUnknown)
