"""Verdicts that say the same of several places, gathered so that they are told once; worst first."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

from advisor.sheets.place_words import places
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Ask, Ground, Verdict, VerdictWord

ORDER: tuple[tuple[VerdictWord, Ground | None], ...] = (
    ("replace", "condemned"),
    ("replace", "safe side"),
    ("recondition", None),
    ("undecided", None),
    ("replace", "routine"),
    ("replace", None),
    ("reuse", None),
)
"""Worst first. What is renewed as a matter of course tells nothing of the engine and comes late."""


@dataclass(frozen=True, slots=True)
class Alike:
    """Verdicts on one kind of part that differ in nothing but the place and the sizes found there."""

    verdicts: tuple[Verdict, ...]

    @property
    def first(self) -> Verdict:
        """The one that speaks for all."""
        return self.verdicts[0]

    @property
    def where(self) -> str:
        """The places, tags and origins in words; empty where there is one of the kind."""
        first = self.first
        words = places(each.place for each in self.verdicts)
        if first.place == "unknown":
            words = "place unknown"
        if first.tag:
            words += f", tag {first.tag}"
        if first.origin != "fitted":
            words += f", {first.origin}"
        return words.removeprefix(", ")

    @property
    def name(self) -> str:
        """Part and places as a heading says them."""
        label = self.first.label
        return f"{label[:1].upper()}{label[1:]}" + (f" {self.where}" if self.where else "")


@dataclass(frozen=True, slots=True)
class Assembly:
    """An assembly and the verdicts on its parts, worst first."""

    name: str
    groups: tuple[Alike, ...]


def judged(verdict: Verdict, rules: RuleSet) -> bool:
    """Whether anything was judged: the part was opened and the rule set knows what speaks against it."""
    return (verdict.opened or verdict.verdict != "undecided") and verdict.part in rules.judged_kinds


def rank(verdict: Verdict) -> int:
    """Place in `ORDER`; the lower the worse."""
    for number, (word, ground) in enumerate(ORDER):
        if verdict.verdict == word and ground in (None, verdict.ground):
            return number
    return len(ORDER)


def assemblies(verdicts: Iterable[Verdict], *, brief: bool = False) -> tuple[Assembly, ...]:
    """The verdicts by assembly: the assembly with the worst verdict first, and the worst first in each.

    `brief` gathers by what a brief sheet says, and takes no heed of the rest.
    """
    by_name: dict[str, list[Verdict]] = {}
    for verdict in verdicts:
        by_name.setdefault(verdict.assembly, []).append(verdict)
    found = [Assembly(name, tuple(gather(each, brief=brief))) for name, each in by_name.items()]
    return tuple(sorted(found, key=lambda each: rank(each.groups[0].first)))


def gather(verdicts: Sequence[Verdict], *, brief: bool = False) -> list[Alike]:
    """Alike verdicts together, worst first, otherwise in the order given."""
    alike: dict[Hashable, list[Verdict]] = {}
    for verdict in verdicts:
        alike.setdefault(_gist(verdict) if brief else _sense(verdict), []).append(verdict)
    return sorted((Alike(tuple(each)) for each in alike.values()), key=lambda group: rank(group.first))


def _gist(verdict: Verdict) -> Hashable:
    """What a brief sheet says of a verdict, without its place."""
    return (
        verdict.part,
        verdict.place == "unknown",
        verdict.tag,
        verdict.origin,
        verdict.verdict,
        verdict.ground,
        verdict.possible,
        verdict.reasons[0].because if verdict.reasons and verdict.verdict != "reuse" else "",
        verdict.operations,
        verdict.course,
    )


def _sense(verdict: Verdict) -> Hashable:
    """What a verdict says, without its place and without the sizes found there."""
    return (
        _gist(verdict),
        tuple((each.rule, each.because, each.cites) for each in verdict.reasons),
        verdict.tasks,
        verdict.cautions,
        tuple(
            (each.reading, each.kind, each.part, _there(each, verdict), each.says) for each in verdict.asks
        ),
        verdict.held,
        verdict.notes,
        len(verdict.cleared),
        verdict.not_looked_at,
        verdict.opened,
    )


def _there(ask: Ask, verdict: Verdict) -> str:
    return "" if (ask.part, ask.place) == (verdict.part, verdict.place) else ask.place
