"""A rule set as pages to be read and printed: a section for every rule, the parts, and the bibliography.

Everything is Markdown, made from the rules alone, so that nobody keeps it by hand. A page is made for
each file of rules; `RulePages.pages` gives them by name.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from pathlib import Path, PurePosixPath

from advisor.authoring.limit_words import limit_words
from advisor.explain.example_words import example
from advisor.explain.wording import Said, conclusions, condition, wanted
from advisor.faults import joined
from advisor.schema import sentence
from advisor.sheets.conditions import Absent, HasConcern, Related, leaves
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet, RuleSetFiles, merge, read_files
from advisor.sheets.vocabulary import Cite
from advisor.verdicts.words import plain, short_label

INDEX = "README.md"
"""The page that lists the parts."""


def anchor(heading: str) -> str:
    """The name by which a heading is linked to."""
    return re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-")


def told(words: str) -> str:
    """Text of a rule set in Markdown: what would be markup is only text."""
    return re.sub(r"([\\`*_<>\[\]|])", r"\\\1", " ".join(words.split()))


@dataclass(frozen=True)
class RulePages:
    """The pages of one rule set.

    `bibliography` and `table` are where the bibliography and the table of handbook facts lie, as seen from
    the pages; without a table, rows of it are named and not linked.
    """

    ruleset: RuleSet
    files: RuleSetFiles
    bibliography: str
    table: str = ""

    @classmethod
    def of(cls, folder: Path, bibliography: str, table: str = "") -> RulePages:
        """The pages of the rule set in `folder`. Raises `Faults`."""
        files = read_files(folder)
        return cls(merge(files)[0], files, bibliography, table)

    @cached_property
    def by_page(self) -> dict[str, tuple[RuleText, ...]]:
        """By page: its rules, in the order in which they are written."""
        return {
            PurePosixPath(name).stem + ".md": tuple(model.rules)
            for name, (model, _) in zip(self.files.rule_names, self.files.rules, strict=True)
        }

    @cached_property
    def page_of(self) -> dict[str, str]:
        """By rule: the page that it stands on."""
        return {rule.id: page for page, rules in self.by_page.items() for rule in rules}

    @cached_property
    def _concluding(self) -> dict[tuple[str, str], list[str]]:
        """By concern and kind: the rules that conclude it."""
        found: dict[tuple[str, str], list[str]] = defaultdict(list)
        for rule in self.ruleset.rules:
            for concern in rule.then.concern:
                found[concern, rule.for_].append(rule.id)
        return found

    @cached_property
    def _asking(self) -> dict[str, list[str]]:
        """By rule: the rules that ask for a concern which it concludes."""
        found: dict[str, list[str]] = defaultdict(list)
        for rule in self.ruleset.rules:
            for each in self._rests_on(rule):
                found[each].append(rule.id)
        return found

    def _rests_on(self, rule: RuleText) -> list[str]:
        """The rules that may conclude what this one asks for."""
        asked: dict[str, None] = {}
        for leaf in leaves(rule.condition):
            asked_of = leaf.of if isinstance(leaf, Absent) else leaf
            kind, inner = rule.for_, asked_of
            if isinstance(asked_of, Related):
                kind, inner = asked_of.kind, asked_of.leaf
            if isinstance(inner, HasConcern):
                asked |= dict.fromkeys(self._concluding.get((inner.concern, kind), ()))
        return [each for each in asked if each != rule.id]

    # ---- pages ----

    def pages(self) -> dict[str, str]:
        """Every page by its name: one for each file of rules, and the index."""
        return {page: self._page(page) for page in self.by_page} | {INDEX: self.index()}

    def _page(self, page: str) -> str:
        rules = self.by_page[page]
        source = next(name for name in self.files.rule_names if PurePosixPath(name).stem + ".md" == page)
        title = plain(PurePosixPath(page).stem)
        counted = f"{len(rules)} rule{'' if len(rules) == 1 else 's'}"
        lines = [
            f"# Rules: {title}",
            "",
            f"{counted} of the rule set `{self.ruleset.name}`, made from `rulesets/{source}`.",
            f"[All parts]({INDEX}).",
            "",
        ]
        kinds = dict.fromkeys(rule.for_ for rule in rules)
        for kind in kinds:
            lines += self._kind(kind, [rule for rule in rules if rule.for_ == kind])
        lines += self._limits(page)
        lines += self._cautions(rules)
        return "\n".join(lines).rstrip() + "\n"

    def _heading(self, kind: str) -> str:
        label = short_label(self.ruleset.vocabulary.kinds[kind].label)
        return label[:1].upper() + label[1:]

    def _kind(self, kind: str, rules: list[RuleText]) -> Iterator[str]:
        entry = self.ruleset.vocabulary.kinds[kind]
        yield from (f"## {self._heading(kind)}", "")
        harm = sentence(self.ruleset.vocabulary.consequences[entry.consequence].label)
        yield f"The answers: {joined(entry.answers, 'or')}. {told(harm)}"
        if entry.evidence:
            yield ""
            yield from (f"- {told(wanted(each, self.ruleset.vocabulary))}" for each in entry.evidence)
        on_suspicion = [
            finding.label
            for name, finding in self.ruleset.vocabulary.findings.items()
            if (kind, name) in self.ruleset.on_suspicion
        ]
        if on_suspicion:
            says = "A rule that asks for it holds only where it was seen, or is asked for."
            yield from ("", f"Looked for on suspicion only: {told('; '.join(on_suspicion))}. {says}")
        if entry.cautions:
            yield from ("", f"Cautions for all of it: {_linked(entry.cautions)}.")
        yield ""
        for rule in rules:
            yield from self._rule(rule)

    def _rule(self, rule: RuleText) -> Iterator[str]:
        vocabulary = self.ruleset.vocabulary
        yield from (f"### {rule.id}", "", told(sentence(rule.because)), "")
        yield from self._when(condition(rule.condition, vocabulary))
        yield f"- **Then:** {told(' '.join(conclusions(rule.then, vocabulary)))}"
        yield f"- **Read in:** {'; '.join(map(self._cite, rule.cite))}."
        if rule.differs:
            yield f"- **Sources differ:** {told(sentence(rule.differs))}"
        for name, other in rule.alternatives.items():
            cites = "; ".join(map(self._cite, other.cite))
            says = f"`{name}`, for a house to follow: {told(sentence(other.because))}"
            yield f"- **Another source**, {says} {cites}."
        if cautions := self._of_rule(rule):
            yield f"- **Cautions:** {_linked(cautions)}."
        yield f"- **Fires on:** {_or(example(each, vocabulary) for each in rule.examples.fires)}"
        yield f"- **Holds off on:** {_or(example(each, vocabulary) for each in rule.examples.holds)}"
        if below := self._rests_on(rule):
            yield f"- **Rests on:** {self._rules(rule, below)}."
        if above := self._asking.get(rule.id):
            yield f"- **Used by:** {self._rules(rule, above)}."
        yield ""

    def _when(self, said: Said) -> Iterator[str]:
        if not said.parts:
            yield f"- **When:** {told(said.text)}."
            return
        yield f"- **When** {said.text} hold{'s' if said.text.startswith('any') else ''}:"
        yield from _nested(said.parts, 1)

    def _cite(self, cite: Cite) -> str:
        entry = self.ruleset.sources[cite.source]
        link = f"{self.bibliography}#{anchor(source_heading(self.ruleset.name, cite.source))}"
        row = f"row {cite.row}" if cite.row else ""
        if row and self.table:
            row = f"[{row}]({self.table})"
        more = ", ".join(filter(None, (told(cite.where), row)))
        strength = "" if entry.tier == "memory" else f" ({entry.tier})"
        return f"[{told(entry.title)}]({link})" + (f", {more}" if more else "") + strength

    def _of_rule(self, rule: RuleText) -> list[str]:
        """The cautions that come with a rule: its own, and those of its work and tasks."""
        vocabulary = self.ruleset.vocabulary
        carried = [rule.cautions]
        carried += [vocabulary.operations[name].cautions for bar in rule.then.bar for name in bar.mend]
        carried += [vocabulary.tasks[name].cautions for name in rule.then.task]
        of_the_part = vocabulary.kinds[rule.for_].cautions
        return [key for key in dict.fromkeys(chain.from_iterable(carried)) if key not in of_the_part]

    def _rules(self, rule: RuleText, others: Iterable[str]) -> str:
        here = self.page_of[rule.id]
        links = []
        for other in others:
            page = self.page_of[other]
            links.append(f"[{other}]({'' if page == here else page}#{other})")
        return ", ".join(links)

    def _limits(self, page: str) -> list[str]:
        at = list(self.by_page).index(page)
        limits = self.files.rules[at][0].limits
        if not limits:
            return []
        lines = [
            "## Rules of thumb",
            "",
            "Limits that serve only where the maker gives none, and say so.",
            "",
        ]
        for limit in limits:
            cites = "; ".join(map(self._cite, limit.cite))
            words = told(limit_words(limit, self.ruleset.vocabulary))
            lines.append(f"- {words} {told(sentence(limit.because))} {cites}.")
        return [*lines, ""]

    def _cautions(self, rules: Iterable[RuleText]) -> list[str]:
        keys = {key for rule in rules for key in self._of_rule(rule)}
        keys |= {key for rule in rules for key in self.ruleset.vocabulary.kinds[rule.for_].cautions}
        if not keys:
            return []
        lines = ["## Cautions", ""]
        for key in sorted(keys):
            entry = self.ruleset.cautions[key]
            lines += [f"### {_caution(key)}", "", told(sentence(entry.says)), ""]
            lines += [f"Whose rule governs: {told(sentence(entry.governs))}", ""]
        return lines

    def index(self) -> str:
        """The parts of the rule set by assembly, each with the pages on which its rules stand."""
        vocabulary = self.ruleset.vocabulary
        lines = [f"# The rules of `{self.ruleset.name}`, by part", ""]
        lines += [
            f"{told(sentence(self.ruleset.title))} {len(self.ruleset.rules)} rules, made from the rule set.",
            "",
        ]
        lines += [f"What they rest on stands in [the bibliography]({self.bibliography}).", ""]
        for assembly in dict.fromkeys(kind.assembly for kind in vocabulary.kinds.values()):
            heading = assembly[:1].upper() + assembly[1:]
            lines += [f"## {told(heading)}", "", "| part | rules | on |", "| --- | --- | --- |"]
            for name, kind in vocabulary.kinds.items():
                if kind.assembly != assembly:
                    continue
                pages = {
                    page: count
                    for page, rules in self.by_page.items()
                    if (count := sum(rule.for_ == name for rule in rules))
                }
                at = ", ".join(
                    f"[{plain(page[:-3])}]({page}#{anchor(self._heading(name))})" for page in pages
                )
                lines.append(
                    f"| {told(kind.label)} | {sum(pages.values())} | {at or 'no rule speaks of it'} |"
                )
            lines.append("")
        return "\n".join(lines).rstrip() + "\n"


def _nested(parts: Iterable[Said], depth: int) -> Iterator[str]:
    for part in parts:
        yield f"{'  ' * depth}- {told(part.text)}{':' if part.parts else ''}"
        yield from _nested(part.parts, depth + 1)


def _or(told_of: Iterable[str]) -> str:
    return told(" / ".join(told_of)) + "."


def _caution(key: str) -> str:
    return f"Caution, {plain(key)}"


def _linked(cautions: Iterable[str]) -> str:
    return joined(f"[{plain(key)}](#{anchor(_caution(key))})" for key in cautions)


def source_heading(ruleset: str, key: str) -> str:
    """The heading of a source in the bibliography."""
    return f"{ruleset}: {key}"
