"""What came of analysing a rule set, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from advisor.authoring.analysis.codes import PAGE, SORTS, Level
from advisor.faults import Position


@dataclass(frozen=True, slots=True)
class WitnessItem:
    """One item of a witness case. What it does not say was looked for and is not there."""

    kind: str
    findings: Mapping[str, str] = field(default_factory=dict)
    """By finding: an extent, or a way in which it is missing."""
    standings: Mapping[tuple[str, str], str] = field(default_factory=dict)
    """By dimension and purpose of the limit: an outcome, or a way in which it is missing."""
    properties: Mapping[str, str] = field(default_factory=dict)
    place_unknown: bool = False
    origin: str = "fitted"
    linked_to: int | None = None
    relation: str = ""
    number: int = 1


@dataclass(frozen=True, slots=True)
class Witness:
    """A case that shows a finding; the first item is the one that it is about."""

    says: str
    """What deciding it shows."""
    items: tuple[WitnessItem, ...]
    layout: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RuleFinding:
    """One thing found in a rule set."""

    sort: str
    """Its code, a key of `SORTS`."""
    subject: str
    """What it is about: the id of a rule, a word, or several of them; with the code it is its name."""
    what: str
    mend: str
    at: Position | None = None
    witnesses: tuple[Witness, ...] = ()

    @property
    def code(self) -> str:
        """What is shown in square brackets."""
        return self.sort

    @property
    def level(self) -> Level:
        """How grave it is."""
        return SORTS[self.sort].level

    @property
    def why(self) -> str:
        """Why it matters."""
        return SORTS[self.sort].why

    @property
    def page(self) -> str:
        """Where it is explained."""
        return f"{PAGE}#{self.sort}"


@dataclass(frozen=True, slots=True)
class NotGoneThrough:
    """A question that was given up."""

    subject: str
    question: str
    why: str


@dataclass(frozen=True, slots=True)
class Accepted:
    """A finding that the rule set accepts by name."""

    finding: RuleFinding
    because: str


@dataclass(frozen=True, slots=True)
class Analysis:
    """Everything found in a rule set, and what was gone through for it."""

    rules: int
    conditions: int
    findings: tuple[RuleFinding, ...]
    accepted: tuple[Accepted, ...] = ()
    not_gone_through: tuple[NotGoneThrough, ...] = ()

    @property
    def errors(self) -> int:
        """How many of the findings are errors."""
        return sum(each.level == "error" for each in self.findings)
