"""The bibliography of a rule set as a page: each source, its strength, where it was read, what cites it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from typing import Final, get_args

from advisor.authoring.rule_pages import RulePages, source_heading, told
from advisor.faults import joined
from advisor.schema import sentence
from advisor.sheets.ruleset_files import BibliographyEntry, Tier
from advisor.sheets.vocabulary import Cite
from advisor.verdicts.words import plain

MANY: Final = 60
"""Beyond so many rules that cite a source they are counted by page, and no longer named."""


def bibliography(pages: RulePages, folder: str) -> str:
    """The chapter of one rule set, strongest sources first; its pages lie in `folder` as seen from it."""
    ruleset = pages.ruleset
    rules: dict[str, list[str]] = defaultdict(list)
    for rule in ruleset.rules:
        cites = (*rule.cite, *(cite for other in rule.alternatives.values() for cite in other.cite))
        for source in dict.fromkeys(cite.source for cite in cites):
            rules[source].append(rule.id)
    others = _others(pages)
    order = get_args(Tier)
    lines = [f"## Rule set `{ruleset.name}`", ""]
    by_tier = Counter(entry.tier for entry in ruleset.sources.values())
    counted = joined(f"{by_tier[tier]} {tier}" for tier in order if by_tier[tier])
    lines += [f"{len(ruleset.sources)} sources: {counted}.", ""]
    for key in sorted(ruleset.sources, key=lambda each: (order.index(ruleset.sources[each].tier), each)):
        lines += _entry(source_heading(ruleset.name, key), ruleset.sources[key])
        cited = []
        if rules[key]:
            cited.append(f"{_counted(len(rules[key]), 'rules')}: {_named(pages, rules[key], folder)}")
        if others[key]:
            cited.append(joined(_counted(count, what) for what, count in sorted(others[key].items())))
        lines += [f"Cited by {'; and by '.join(cited)}." if cited else "Cited by nothing yet.", ""]
    return "\n".join(lines)


def _counted(number: int, what: str) -> str:
    """So many of what is given in the plural, for which one of them has a word of its own."""
    return f"1 {_ONE[what]}" if number == 1 else f"{number} {what}"


_ONE: Final = {
    "rules": "rule",
    "rules of thumb": "rule of thumb",
    "kinds of work": "kind of work",
    "sets of parts": "set of parts",
    "wants of evidence": "want of evidence",
    "cautions": "caution",
    "instruments": "instrument",
}


def _entry(heading: str, entry: BibliographyEntry) -> Iterator[str]:
    yield from (f"### {heading}", "")
    where = ", ".join(told(each) for each in (entry.title, entry.publisher, entry.number) if each)
    yield f"{sentence(where)} *{entry.tier.capitalize()}.*"
    if entry.read_at:
        yield f"Read at: {told(entry.read_at)}."
    if entry.note:
        yield told(sentence(entry.note))


def _named(pages: RulePages, rules: list[str], folder: str) -> str:
    if len(rules) <= MANY:
        return ", ".join(f"[{each}]({folder}/{pages.page_of[each]}#{each})" for each in sorted(rules))
    counted = Counter(pages.page_of[each] for each in rules)
    return ", ".join(f"{counted[page]} on [{plain(page[:-3])}]({folder}/{page})" for page in sorted(counted))


def _others(pages: RulePages) -> dict[str, Counter[str]]:
    """By source: how many of what else cite it."""
    ruleset, vocabulary = pages.ruleset, pages.ruleset.vocabulary
    found: dict[str, Counter[str]] = defaultdict(Counter)

    def cited(what: str, cites: Iterable[Cite]) -> None:
        for source in dict.fromkeys(cite.source for cite in cites):
            found[source][what] += 1

    for limit in ruleset.limits:
        more = (cite for other in limit.alternatives.values() for cite in other.cite)
        cited("rules of thumb", (*limit.cite, *more))
    for operation in vocabulary.operations.values():
        cited("kinds of work", operation.cite)
    for each in vocabulary.sets.values():
        cited("sets of parts", each.cite)
    for kind in vocabulary.kinds.values():
        for evidence in kind.evidence:
            cited("wants of evidence", evidence.cite)
    for rule in ruleset.rules:
        for evidence in rule.then.require:
            cited("wants of evidence", evidence.cite)
    for caution in ruleset.cautions.values():
        cited("cautions", caution.cite)
    for instrument in ruleset.instruments.values():
        cited("instruments", instrument.cite)
    return found
