"""What a rule concludes, in the smallest pieces, and which of them make another one idle."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from advisor.sheets.rules import Bar, RuleText
from advisor.sheets.vocabulary import Evidence, Kind


@dataclass(frozen=True, slots=True)
class Effect:
    """One piece of a conclusion."""

    sort: Literal["bar", "require", "concern", "task", "caution"]
    name: str
    """The answer barred, the evidence required, the concern, the task or the caution."""
    mend: frozenset[str] = frozenset()
    condemned: bool = True
    before: frozenset[str] = frozenset()
    safe_side: str | None = None

    def covers(self, other: Effect) -> bool:
        """Whether the other changes nothing where this one is there."""
        if self.sort != other.sort:
            return False
        if self.sort == "bar":
            # A bar on reuse that nothing mends shuts recondition as well.
            shuts = self.name == other.name or (
                self.name == "reuse" and other.name == "recondition" and not self.mend
            )
            return shuts and self.mend <= other.mend and (self.condemned or not other.condemned)
        return (
            self.name == other.name
            and self.before >= other.before
            and (self.sort != "require" or self.safe_side == other.safe_side)
        )


def effects_of(rule: RuleText) -> list[Effect]:
    """Everything that a rule concludes."""
    return [
        *(effect for bar in rule.then.bar for effect in bar_effects(bar)),
        *(evidence_effect(each) for each in rule.then.require),
        *(Effect("concern", name) for name in rule.then.concern),
        *(Effect("task", name) for name in rule.then.task),
        *(Effect("caution", name) for name in rule.cautions),
    ]


def bar_effects(bar: Bar) -> list[Effect]:
    """A bar, answer by answer; work mends a bar on reuse only."""
    return [
        Effect(
            "bar",
            answer,
            mend=frozenset(bar.mend) if answer == "reuse" else frozenset(),
            condemned=bar.ground == "condemned",
        )
        for answer in bar.answers
    ]


def evidence_effect(evidence: Evidence) -> Effect:
    """A requirement."""
    return Effect(
        "require", evidence.subject, before=frozenset(evidence.before), safe_side=evidence.safe_side
    )


def standing_effects(kind: Kind) -> list[Effect]:
    """What is there for every item of a kind, whatever the rules say."""
    return [
        *(evidence_effect(each) for each in kind.evidence),
        *(Effect("caution", name) for name in kind.cautions),
    ]


def covered(effect: Effect, by: Iterable[Effect]) -> bool:
    """Whether any of the others makes an effect idle."""
    return any(each.covers(effect) for each in by)
