"""What is wanted before verdicts can stand: each thing once, with all the places that it is wanted at."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from advisor.reports.evidence import item_words
from advisor.sheets.place_words import places
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Ask, Verdict


@dataclass(slots=True)
class Wanted:
    """One thing to look at: where, and which verdicts wait for it."""

    ask: Ask
    label: str
    """The kind of part that is looked at, as it is said."""
    own: bool = False
    """Wanted of the very item whose verdict waits, and of no other."""
    places: list[str] = field(default_factory=list)
    waiting: dict[str, list[str]] = field(default_factory=dict)
    """By kind of part as it is said: the places whose verdicts wait."""

    @property
    def count(self) -> int:
        """How many verdicts wait."""
        return sum(len(each) for each in self.waiting.values())

    @property
    def part(self) -> str:
        """The part with its places, in words."""
        return item_words(self.label, places(self.places))

    def short(self, rules: RuleSet) -> str:
        """What is wanted, without how to look."""
        finding = rules.vocabulary.findings.get(self.ask.reading) if self.ask.kind == "finding" else None
        return finding.label if finding is not None else self.ask.says


def wanted(verdicts: Iterable[Verdict], rules: RuleSet) -> list[Wanted]:
    """All that these verdicts wait for, the most wanted first."""
    return sorted(_gathered(verdicts, rules), key=lambda each: -each.count)


def wanted_by(verdicts: Sequence[Verdict], rules: RuleSet) -> list[Wanted]:
    """What verdicts that are told together wait for: on their own items first."""
    own = _gathered(verdicts, rules, own=True)
    return own + _gathered(verdicts, rules, own=False)


def wants(verdicts: Sequence[Verdict], rules: RuleSet, *, at_most: int | None = None) -> str:
    """What verdicts that are told together wait for, in one sentence; empty where nothing can be had.

    How to look stands under what to look at next. `at_most` shortens it to that many things.
    """
    every = {_where(each.place, each.tag) for each in verdicts}
    told = []
    for each in wanted_by(verdicts, rules):
        says = each.short(rules)
        if not each.own:
            says = f"{each.part}: {says}"
        elif set(each.places) != every:
            says = f"{says}, at {places(each.places)}"
        told.append(says)
    told = list(dict.fromkeys(told))
    if at_most is not None and len(told) > at_most + 1:
        told = [*told[:at_most], f"and {len(told) - at_most} more"]
    return "; ".join(told)


def _gathered(verdicts: Iterable[Verdict], rules: RuleSet, *, own: bool | None = None) -> list[Wanted]:
    """The asks of these verdicts by what they are; `own` takes only those on, or not on, their own items."""
    found: dict[tuple[str, str, str, str], Wanted] = {}
    for verdict in verdicts:
        for ask in verdict.asks:
            is_own = (ask.part, ask.place, ask.tag) == (verdict.part, verdict.place, verdict.tag)
            if own is not None and is_own != own:
                continue
            each = found.get(key := (ask.part, ask.kind, ask.reading, ask.says))
            if each is None:
                label = rules.vocabulary.kinds[ask.part].label
                each = found[key] = Wanted(ask, label, own is True)
            each.places.append(_where(ask.place, ask.tag))
            each.waiting.setdefault(verdict.label, []).append(verdict.place)
    return list(found.values())


def _where(place: str, tag: str) -> str:
    return f"{place} (tag {tag})" if tag else place
