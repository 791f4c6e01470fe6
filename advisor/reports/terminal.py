"""A decision laid out for people to read, as lines of text: an inspection sheet in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from advisor.faults import joined
from advisor.reports.alike import Alike, assemblies, judged
from advisor.reports.doing import Cautions, course_lines, operation_words, remark_lines, work_lines, work_of
from advisor.reports.evidence import evidence_of, item_words, source_words, task_words
from advisor.reports.house import house_lines
from advisor.reports.paper import Paper
from advisor.reports.wanted import Wanted, wanted, wanted_by, wants
from advisor.schema import sentence
from advisor.sheets.place_words import places
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Citation, Decision, Verdict
from advisor.verdicts.words import plain

TALLY = (
    ("replace", "condemned", "replace, condemned"),
    ("replace", "safe side", "replace, on the safe side"),
    ("replace", "routine", "replace as a matter of course"),
    ("recondition", None, "recondition"),
    ("reuse", None, "reuse"),
    ("undecided", None, "undecided"),
)
"""Verdict, ground and how the summary counts them."""


ASKED_IN_BRIEF = 10
"""How many things to look at next a brief sheet lists."""

WANTED_IN_BRIEF = 3
"""How many things that one verdict waits for a brief sheet names."""


@dataclass(slots=True)
class _Told:
    """What the sheet has said already and does not say again."""

    cautions: Cautions
    full: bool
    sources: dict[str, int] = field(default_factory=dict)
    """Each source cited, with the number that stands for it."""

    def cites(self, cites: Iterable[Citation]) -> str:
        """Citations by number, each with the places in that source: ``[2, p. 3-24; 5]``."""
        places_in: dict[int, dict[str, None]] = {}
        for cite in cites:
            number = self.sources.setdefault(source_words(cite), len(self.sources) + 1)
            places_in.setdefault(number, {}).update({cite.at: None} if cite.at else {})
        told = [", ".join((str(number), *at)) for number, at in places_in.items()]
        return f"[{'; '.join(told)}]" if told else ""


def sheet(
    decision: Decision, rules: RuleSet, paper: Paper, *, brief: bool = False, full: bool = False
) -> Iterator[str]:
    """The whole sheet, line by line, without line ends.

    `brief` tells each part in a line or two; `full` adds the steps and checks of the work, the reason
    behind each piece of evidence for reuse, and what was not looked at.
    """
    spoken = [verdict for verdict in decision.verdicts if judged(verdict, rules)]
    unspoken = [verdict for verdict in decision.verdicts if not judged(verdict, rules)]
    told = _Told(Cautions(rules), full)
    yield from paper.heading(decision.case)
    yield from paper.wrap(decision.engine)
    for used in decision.rulesets:
        yield from paper.wrap(f"Judged by rule set {used.name} {used.version}.")
        yield from house_lines(used.house, paper)
    yield ""
    yield from (paper.strong(line) for line in paper.wrap(summary(spoken, unspoken)))
    differing = [verdict for verdict in spoken if verdict.course.answer != verdict.verdict]
    if differing:
        counts: Counter[str] = Counter(verdict.course.answer for verdict in spoken)
        order = ("replace", "recondition", "reuse", "undecided")
        does = ", ".join(f"{counts[answer]} {answer}" for answer in order if counts[answer])
        yield from paper.wrap(f"What will be done, sets and matching parts taken together: {does}.")
    if brief:
        keys = dict.fromkeys(key for verdict in spoken for key in verdict.cautions)
        if keys:
            yield from paper.wrap(f"Cautions, in full below: {', '.join(map(plain, keys))}.", hang=2)
    for assembly in assemblies(spoken, brief=brief):
        yield ""
        yield paper.rule()
        yield from paper.heading(assembly.name.upper())
        for group in assembly.groups:
            yield ""
            yield from _brief(group, rules, paper) if brief else _group(group, rules, told, paper)
    yield from _look_next(spoken, rules, paper, brief)
    yield from _causes(decision, rules, paper, brief)
    if brief and any(verdict.cautions for verdict in spoken):
        yield ""
        yield paper.rule()
        yield from paper.heading("CAUTIONS")
        yield from told.cautions.lines(spoken, paper, 0)
    yield from _source_list(told, paper)
    yield from _not_judged(unspoken, paper)


def summary(spoken: Sequence[Verdict], unspoken: Sequence[Verdict]) -> str:
    """How many of each verdict, in one sentence."""
    counts = []
    for word, ground, says in TALLY:
        number = sum(1 for each in spoken if each.verdict == word and ground in (None, each.ground))
        if number:
            counts.append(f"{number} {says}")
    if unspoken:
        counts.append(f"{len(unspoken)} not judged")
    return f"{'; '.join(counts)}." if counts else "Nothing was judged."


def verdict_words(verdict: Verdict) -> str:
    """The verdict as a heading says it: its word, its ground where that matters, what is still possible."""
    word = verdict.verdict.upper()
    if verdict.verdict == "undecided":
        return f"{word}: {joined(verdict.possible, 'or')}" if verdict.possible else word
    if verdict.verdict == "replace" or verdict.ground == "safe side":
        grounds = {"routine": "as a matter of course", "safe side": "on the safe side"}
        return f"{word}, {grounds.get(verdict.ground, verdict.ground)}"
    return word


def _heading(group: Alike, paper: Paper) -> list[str]:
    return paper.heading(f"{group.name}: {verdict_words(group.first)}", 2)


def _brief(group: Alike, rules: RuleSet, paper: Paper) -> Iterator[str]:
    yield from _heading(group, paper)
    if group.first.reasons and group.first.verdict != "reuse":
        yield from paper.wrap(sentence(group.first.reasons[0].because), 4)
    yield from work_lines(group.first, paper, 4)
    yield from course_lines(group.first, paper, 4)
    yield from _wants(group, rules, paper, at_most=WANTED_IN_BRIEF)


def _wants(group: Alike, rules: RuleSet, paper: Paper, *, at_most: int | None = None) -> Iterator[str]:
    if group.first.verdict == "undecided" and (says := wants(group.verdicts, rules, at_most=at_most)):
        yield from paper.wrap(sentence(says), 4, mark="Wants: ", hang=2)


def _group(group: Alike, rules: RuleSet, told: _Told, paper: Paper) -> Iterator[str]:
    first = group.first
    shown: set[str] = set()
    yield from _heading(group, paper)
    # What lets a sound part stand is told as one list of what was seen and measured.
    listed = first.verdict == "reuse" and not told.full
    for number, reason in enumerate(first.reasons):
        if not listed:
            yield from paper.wrap(f"{sentence(reason.because)} {told.cites(reason.cites)}", 4)
        for line in evidence_of(group, number):
            if line not in shown:
                shown.add(line)
                yield from paper.wrap(line, 6, mark="- ")
    if listed and first.reasons:
        cites = [cite for reason in first.reasons for cite in reason.cites]
        yield from paper.wrap(f"Judged by {told.cites(cites)}.", 4)
    yield from course_lines(first, paper, 4)
    yield from told.cautions.lines([first], paper, 4)
    for operation in work_of(first):
        yield from paper.wrap(operation_words(operation), 4, mark="Work: ", hang=2)
        for figure in operation.figures:
            yield from paper.wrap(figure, 6, mark="- ")
        if not told.full:
            continue
        yield from paper.wrap(f"{sentence(operation.because)} {told.cites(operation.cites)}", 6)
        for number, step in enumerate(operation.steps, 1):
            yield from paper.wrap(step, 6, mark=f"{number}. ")
        for check in operation.checks:
            yield from paper.wrap(check, 6, mark="Check: ", hang=2)
    for text in task_words(first.tasks):
        yield from paper.wrap(text, 4, mark="Task: ", hang=2)
    yield from remark_lines(first, paper, 4)
    yield from _wants(group, rules, paper)
    if not told.full:
        return
    if first.cleared and first.verdict == "reuse":
        count = len(first.cleared)
        rule = "one rule that could" if count == 1 else f"{count} rules that could"
        yield from paper.wrap(f"Nothing against it in {rule} have ruled it out.", 4)
    asked = {each.ask.reading for each in wanted_by([first], rules) if each.own}
    labels = [_label(name, rules) for name in first.not_looked_at if name not in asked]
    if labels:
        yield from paper.wrap(f"Not looked at, and not asked for: {', '.join(labels)}.", 4)


def _label(name: str, rules: RuleSet) -> str:
    finding = rules.vocabulary.findings.get(name)
    return finding.label if finding is not None else plain(name)


def _look_next(verdicts: Sequence[Verdict], rules: RuleSet, paper: Paper, brief: bool) -> Iterator[str]:
    """Everything still wanted, each thing once for all the places it is wanted at; the most wanted first."""
    open_ = wanted((each for each in verdicts if each.course.answer == "undecided"), rules)
    settled = wanted((each for each in verdicts if each.course.answer != "undecided"), rules)
    if not open_ and not settled:
        return
    yield ""
    yield paper.rule()
    yield from paper.heading("LOOK AT NEXT")
    room = ASKED_IN_BRIEF if brief else len(open_) + len(settled)
    number = 0
    for entries, title in ((open_, ""), (settled, _SETTLED)):
        shown = entries[: room - number]
        if shown and title:
            yield from paper.wrap(title, 2)
        for each in shown:
            number += 1
            yield from _one_wanted(each, number, paper, brief)
    more = len(open_) + len(settled) - number
    if more:
        yield from paper.wrap(f"and {more} more; without --brief all of them are listed.", 2)


_SETTLED = "Only for the verdict; what will be done with these parts is settled without it:"


def _one_wanted(each: Wanted, number: int, paper: Paper, brief: bool) -> Iterator[str]:
    ask = each.ask
    yield from paper.wrap(sentence(f"{each.part}: {ask.says}"), 2, mark=f"{number}. ")
    if brief:
        return
    if ask.instruments:
        yield from paper.wrap(f"With: {joined(ask.instruments, 'or')}.", 5)
    yield from paper.wrap(f"Because: {sentence(ask.because)}", 5)
    waiting = [item_words(label, places(where)) for label, where in each.waiting.items()]
    if waiting != [each.part]:
        yield from paper.wrap(f"Waiting for it: {'; '.join(waiting)}.", 5)


def _causes(decision: Decision, rules: RuleSet, paper: Paper, brief: bool) -> Iterator[str]:
    if not decision.causes:
        return
    yield ""
    yield paper.rule()
    yield from paper.heading("CAUSES")
    still = [cause for cause in decision.causes if cause.state == "open"]
    if still:
        yield from paper.wrap(
            "Find each, rule it out, or accept it by name before anything goes together.", 2
        )
    for cause in sorted(decision.causes, key=lambda each: each.state != "open"):
        part = item_words(rules.vocabulary.kinds[cause.part].label, cause.place)
        sure = "" if cause.certain else ", possible"
        text = f"{cause.says} ({part}): {cause.state.upper() if cause.state == 'open' else cause.state}{sure}"
        if cause.by:
            text += f" by {cause.by}"
        if cause.because and not brief:
            text += f": {cause.because}"
        yield from paper.wrap(sentence(text), 2, mark="- ")


def _source_list(told: _Told, paper: Paper) -> Iterator[str]:
    """What the numbers in square brackets stand for."""
    if not told.sources:
        return
    yield ""
    yield paper.rule()
    yield from paper.heading("SOURCES")
    for words, number in told.sources.items():
        yield from paper.wrap(f"{words}.", 2, mark=f"{number}. ")


def _not_judged(verdicts: Sequence[Verdict], paper: Paper) -> Iterator[str]:
    if not verdicts:
        return
    yield ""
    yield paper.rule()
    yield from paper.heading("NOT JUDGED")
    closed = [verdict for verdict in verdicts if not verdict.opened]
    strange = [verdict for verdict in verdicts if verdict.opened]
    for says, some in (
        ("Not opened", closed),
        ("No rule of this rule set speaks of them; judge them by the maker's manual", strange),
    ):
        by_label: dict[str, list[str]] = {}
        for verdict in some:
            by_label.setdefault(verdict.label, []).append(verdict.place)
        if by_label:
            names = [f"{label} {places(where)}".strip() for label, where in by_label.items()]
            yield from paper.wrap(f"{says}: {'; '.join(names)}.", 2, hang=2)
    for verdict in verdicts:
        if verdict.course.ground == "risk taken by name":
            name = item_words(verdict.label, verdict.place, verdict.tag)
            course = f"{verdict.course.answer}, {verdict.course.ground}: {verdict.course.because}"
            yield from paper.wrap(sentence(f"What will be done with {name}: {course}"), 2, hang=2)
