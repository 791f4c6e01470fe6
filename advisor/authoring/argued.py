"""What an author has argued in place of a case: conditions that need no showing, with a reason and a name.

The list lies beside the rule set as `coverage.yaml`. An argument that is no longer needed, or that is about
something which is not there any more, is a fault.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Literal

from pydantic import Field

from advisor.authoring.examples import leaf_words
from advisor.authoring.traces import Tracer
from advisor.faults import Fault, Faults, nearest
from advisor.sheets.base import Located, RuleId, Sheet, Words
from advisor.sheets.places import Document
from advisor.sheets.text import load
from advisor.sheets.validate import validate

FILE: Final = "coverage.yaml"


class Argument(Located):
    """Why one condition of a rule need not be shown by a case."""

    rule: RuleId
    condition: Words = Field(description="the condition, in the words of the report")
    because: Words
    by: Words = Field(description="who says so")


class ArguedFile(Sheet):
    """The whole list."""

    format: Literal["1"]
    argued: list[Argument] = Field(min_length=1)


@dataclass(frozen=True)
class Argued:
    """Arguments by rule (its number) and condition (its index), with the file for messages."""

    by_condition: Mapping[tuple[int, int], Argument] = field(default_factory=dict)
    document: Document | None = None
    places: Mapping[tuple[int, int], int] = field(default_factory=dict)

    def stale(self, shown: frozenset[tuple[int, int]]) -> list[Fault]:
        """A fault for each argument about a condition that cases do show."""
        faults = []
        for key in sorted(shown & self.by_condition.keys()):
            assert self.document is not None  # there is an argument, so there was a file
            argument = self.by_condition[key]
            faults.append(
                Fault(
                    "argued-shown",
                    f"cases show that {argument.condition} decides rule {argument.rule}, so this argument "
                    "is out of date",
                    "arguments only for what no case shows",
                    "drop the argument",
                    self.document.positions["argued", self.places[key]],
                )
            )
        return faults


def read_argued(path: Path, tracer: Tracer) -> Argued:
    """The arguments in a file. Raises `Faults` for its shape, and for what there is not in the rule set."""
    document = load(path)
    model = validate(ArguedFile, document)
    rules = {rule.id: number for number, rule in enumerate(tracer.ruleset.rules)}
    found: dict[tuple[int, int], Argument] = {}
    places: dict[tuple[int, int], int] = {}
    faults: list[Fault] = []
    for place, argument in enumerate(model.argued):
        number = rules.get(argument.rule)
        if number is None:
            close = nearest(argument.rule, rules)
            faults.append(
                Fault(
                    "argued-no-rule",
                    f"there is no rule {argument.rule} any more, and so nothing to argue",
                    "a rule of this rule set",
                    f'did you mean "{close}"?' if close else "drop the argument",
                    document.positions["argued", place, "rule"],
                )
            )
            continue
        words = [leaf_words(each) for each in tracer.trees[number].conditions]
        free = [
            (number, index)
            for index, each in enumerate(words)
            if each == argument.condition and (number, index) not in found
        ]
        if not free:
            twice = argument.condition in words
            close = nearest(argument.condition, words)
            faults.append(
                Fault(
                    "argued-twice" if twice else "argued-no-condition",
                    f"this condition of rule {argument.rule} was argued before"
                    if twice
                    else f"rule {argument.rule} has no condition {argument.condition}",
                    "one argument for each condition"
                    if twice
                    else "one of " + "; ".join(words)
                    if words
                    else "a rule with conditions",
                    "drop one of them"
                    if twice
                    else f'did you mean "{close}"?'
                    if close
                    else "drop the argument",
                    document.positions["argued", place, "condition"],
                )
            )
            continue
        found[free[0]] = argument
        places[free[0]] = place
    if faults:
        raise Faults(faults)
    return Argued(found, document, places)
