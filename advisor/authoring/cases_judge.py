"""Holds a decision against what a test expects of it, and tells what broke each expectation that fails."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from advisor.authoring.cases_unmet import Asker, Unmet
from advisor.faults import Faults, Position
from advisor.pipeline import Workings
from advisor.sheets.bench import UNKNOWN_PLACE
from advisor.sheets.case_tests import UNANSWERED, CaseTest, ExpectedCause, ExpectedItem
from advisor.sheets.engine import EngineSheet
from advisor.sheets.entries import EntryReader
from advisor.sheets.ground import ground_of
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import ANSWERS
from advisor.verdicts.model import EvidenceLine, Reason, Verdict

_NAMED: Final = 6
"""Items named in one failure, and facts told of one step."""


@dataclass(frozen=True, slots=True)
class Failure:
    """One expectation that was not met: where it is written, what came of it, and why."""

    at: Position
    what: str
    why: tuple[str, ...] = ()
    item: str = ""
    """The item that it is about, as `what` names it."""

    def __str__(self) -> str:
        return "\n".join((f"{self.at}: {self.what}", *(f"  {line}" for line in self.why)))


def judge(
    test: CaseTest, index: int, document: Document, sheet: EngineSheet, rules: RuleSet, workings: Workings
) -> tuple[Failure, ...]:
    """What of a test's expectations the decision does not meet, in the order of the file.

    Raises `Faults` where an expectation names a part, place, rule or word that there is not.
    """
    reader = _Reader(ground_of(sheet, rules), document)
    reader.read(test, index, workings)
    if reader.found:
        raise Faults(reader.found)
    judge_ = _Judge(document, rules, workings)
    for path, entry, items in reader.items:
        for item in items:
            judge_.item(path, entry, item)
    for path, cause, items in reader.causes:
        for item in items:
            judge_.cause(path, cause, item)
    for number, concern in enumerate(test.no_causes):
        judge_.no_cause(("tests", index, "no_causes", number), concern)
    return tuple(_gathered(judge_.failures))


def _gathered(failures: Sequence[Failure]) -> Iterator[Failure]:
    """The same failure of several places told once, with all its places and the reasons at the first."""
    told: dict[tuple[Position, str], list[Failure]] = {}
    for each in failures:
        told.setdefault((each.at, each.what.replace(each.item, "\0", 1)), []).append(each)
    for same in told.values():
        first = same[0]
        if len(same) == 1:
            yield first
            continue
        names = ", ".join(each.item for each in same[:_NAMED])
        more = f" and {len(same) - _NAMED} more" if len(same) > _NAMED else ""
        yield replace(first, what=first.what.replace(first.item, names + more, 1))


class _Reader(EntryReader):
    """Reads which items an expectation is about, and checks every word in it."""

    otherwise = "correct the word here"
    items: list[tuple[Steps, ExpectedItem, list[int]]]
    causes: list[tuple[Steps, ExpectedCause, list[int]]]

    def read(self, test: CaseTest, index: int, workings: Workings) -> None:
        self._w = workings
        self.items = []
        self.causes = []
        rules = {rule.id: rule for rule in self.whole.rules}
        vocabulary = self._vocabulary
        for number, each in enumerate(test.expect):
            path = self._path(index, "expect", number)
            for key, names in (("by", each.by), ("fires", each.fires), ("holds", each.holds)):
                for place, name in enumerate(names):
                    known = self.word((*path, key, place), name, rules, "rule of this rule set")
                    # What carries a verdict may have fired on another part; what fires on it may not.
                    if known and key != "by" and rules[name].for_ != each.part:
                        self._another((*path, key, place), name, rules[name].for_, each.part)
            self.words((*path, "concerns"), each.concerns, vocabulary.concerns, "concern")
            self.words((*path, "tasks"), each.tasks, vocabulary.tasks, "task")
            self.words((*path, "operations"), each.operations, vocabulary.operations, "operation")
            asked = [*vocabulary.findings, *vocabulary.dimensions, *vocabulary.readings]
            self.words((*path, "asks"), each.asks, asked, "finding, dimension or reading")
            self.items.append((path, each, self._about(path, each)))
        for number, cause in enumerate(test.causes):
            path = self._path(index, "causes", number)
            causes = [name for name, each in vocabulary.concerns.items() if each.cause]
            self.word((*path, "concern"), cause.concern, causes, "cause")
            self.words((*path, "by"), cause.by, rules, "rule of this rule set")
            self.causes.append((path, cause, self._about(path, cause)))
        causes = [name for name, each in vocabulary.concerns.items() if each.cause]
        self.words(("tests", index, "no_causes"), test.no_causes, causes, "cause")

    def _path(self, index: int, key: str, number: int) -> Steps:
        """Where an entry of a test stands; a single one may stand where a list of them may."""
        path: Steps = ("tests", index, key, number)
        return path if path in self.document.positions else path[:-1]

    def _another(self, path: Steps, rule: str, kind: str, part: str) -> None:
        self.fault(
            path,
            "rule-of-another-kind",
            f"rule {rule} is tried on {kind}, and never on {part}",
            f"a rule for {part}",
            f"move it to an entry about {kind}, or under by: if it carries this verdict from there",
        )

    def _about(self, path: Steps, entry: ExpectedItem | ExpectedCause) -> list[int]:
        """The items on the bench that an expectation names."""
        if not self._known_part((*path, "part"), entry.part):
            return []
        keys = [item.key for item in self._w.bench.items]
        if entry.place == UNKNOWN_PLACE or entry.tag:
            found = [
                index
                for index, key in enumerate(keys)
                if key.kind == entry.part
                and (key.place is None or entry.place != UNKNOWN_PLACE)
                and (not entry.tag or key.tag == entry.tag)
            ]
        else:
            places = set(self._place_list((*path, "place"), entry.part, entry.place))
            if not places:
                return []
            found = [
                index
                for index, key in enumerate(keys)
                if key.kind == entry.part and (key.place in places or entry.place.strip() in ("", "all"))
            ]
        if isinstance(entry, ExpectedItem) and entry.origin is not None:
            found = [index for index in found if keys[index].origin == entry.origin]
        if not found:
            self.fault(
                path,
                "expects-no-item",
                f"no {entry.part} on this bench is meant by this entry",
                "a part with the place, the tag or the origin that the case gives it",
                "correct place, tag or origin",
            )
        return found


class _Judge:
    """Compares item by item, and collects what is not as expected."""

    def __init__(self, document: Document, rules: RuleSet, workings: Workings) -> None:
        self.failures: list[Failure] = []
        self._about = ""
        self._positions = document.positions
        self._decision = workings.decision
        self._asker = Asker(rules, workings)
        self._steps = {(step.rule, step.item): step for step in workings.decision.steps}
        self._certain = {(step.rule, step.item) for step in workings.decision.steps if step.certain}
        self._concluding: dict[tuple[str, int], list[str]] = {}
        for step in workings.decision.steps:
            for concern in step.concludes:
                self._concluding.setdefault((concern, step.item), []).append(step.rule)
        self._bars = {rule.id for rule in rules.rules if rule.then.bar or rule.then.require}

    def fail(self, path: Steps, what: str, why: Iterable[str] = ()) -> None:
        self.failures.append(Failure(self._positions[path], what, tuple(why), self._about))

    def item(self, path: Steps, entry: ExpectedItem, index: int) -> None:
        """Everything expected of one item."""
        self._about = self._asker.name(index)
        verdict = self._decision.verdicts[index]
        name = self._asker.name(index)
        carrying = self._carrying(index)
        if entry.verdict is not None and entry.verdict not in (verdict.verdict, UNANSWERED):
            why = [*self._not_carried(entry.by, index, carrying), *self._behind(verdict)]
            self.fail((*path, "verdict"), f"{name}: expected {entry.verdict}, got {_words(verdict)}", why)
        else:
            for place, rule in enumerate(entry.by):
                if rule not in carrying:
                    self.fail(
                        (*path, "by", place),
                        f"{name}: the verdict {_words(verdict)} is not carried by {rule}",
                        [*self._not_carried([rule], index, carrying), *self._behind(verdict)],
                    )
        if entry.ground is not None and entry.ground != verdict.ground:
            told = f"{name}: expected ground {entry.ground}, got {verdict.ground}"
            self.fail((*path, "ground"), told, self._behind(verdict))
        if entry.possible and set(entry.possible) != set(verdict.possible):
            wanted = " or ".join(answer for answer in ANSWERS if answer in entry.possible)
            told = f"{name}: expected {wanted} to be possible, got {' or '.join(verdict.possible)}"
            self.fail((*path, "possible"), told, self._behind(verdict))
        if entry.course is not None and entry.course != verdict.course.answer:
            why = [verdict.course.because] if verdict.course.because else []
            got = f"{verdict.course.answer} ({verdict.course.ground})"
            self.fail((*path, "course"), f"{name}: expected course {entry.course}, got {got}", why)
        for place, rule in enumerate(entry.fires):
            if not self._asker.fired(rule, index):
                unmet = self._asker.unmet(rule, index)
                self.fail((*path, "fires", place), _head(unmet), _lines(unmet))
        for place, rule in enumerate(entry.holds):
            if self._asker.fired(rule, index, certain=False):
                how = "fired" if self._asker.fired(rule, index) else "may fire"
                told = f"rule {rule} {how} on {name}, and was expected to hold off"
                self.fail((*path, "holds", place), told, self._uses(rule, index))
        self._lists(path, entry, verdict, index)

    def _lists(self, path: Steps, entry: ExpectedItem, verdict: Verdict, index: int) -> None:
        name = self._asker.name(index)
        asked = list(dict.fromkeys(ask.reading for ask in verdict.asks))
        concluded = [c for c, item in self._concluding if item == index and self._sure(c, index)]
        tasks = list(dict.fromkeys(task.task for task in verdict.tasks))
        operations = list(dict.fromkeys(each.operation for each in verdict.operations))
        for key, wanted, got in (
            ("asks", entry.asks, asked),
            ("concerns", entry.concerns, concluded),
            ("tasks", entry.tasks, tasks),
        ):
            for place, word in enumerate(wanted):
                if word not in got:
                    there = ", ".join(got) or "none"
                    self.fail((*path, key, place), f"{name}: expected among {key} {word}, got {there}")
        if entry.operations and set(entry.operations) != set(operations):
            got_ = ", ".join(operations) or "none"
            self.fail(
                (*path, "operations"),
                f"{name}: expected operations {', '.join(entry.operations)}, got {got_}",
                self._behind(verdict),
            )

    def cause(self, path: Steps, expected: ExpectedCause, index: int) -> None:
        """A cause that must be listed."""
        self._about = self._asker.name(index)
        name = self._asker.name(index)
        here = self._decision.verdicts[index]
        found = [
            cause
            for cause in self._decision.causes
            if (cause.concern, cause.part, cause.place) == (expected.concern, here.part, here.place)
        ]
        if not found:
            unmet = [each for rule in expected.by for each in self._unmet(rule, index)]
            self.fail(path, f"{name}: the cause {expected.concern} is not listed", unmet)
            return
        if found[0].state != expected.state:
            told = f"{name}: the cause {expected.concern} is {found[0].state}, expected {expected.state}"
            self.fail(path, told)
        for place, rule in enumerate(expected.by):
            if rule not in found[0].rules:
                self.fail(
                    (*path, "by", place),
                    f"{name}: the cause {expected.concern} is not suspected by {rule}",
                    self._unmet(rule, index),
                )

    def no_cause(self, path: Steps, concern: str) -> None:
        """A cause that must not be listed."""
        self._about = "\0"
        for cause in self._decision.causes:
            if cause.concern == concern:
                where = f"{cause.part} {cause.place}".strip()
                by = ", ".join(cause.rules) or "what the case says of it"
                self.fail(path, f"the cause {concern} is listed for {where}, by {by}")

    def _sure(self, concern: str, index: int) -> bool:
        return any((rule, index) in self._certain for rule in self._concluding.get((concern, index), ()))

    def _carrying(self, index: int) -> frozenset[str]:
        """The rules that a verdict rests on: behind its reasons, or keeping it open, and those they hang on.

        For a part that stands or falls with another, the rules that carry that one's verdict count too.
        """
        verdict = self._decision.verdicts[index]
        waiting = [(reason.rule, index) for reason in verdict.reasons if reason.rule]
        waiting += [(task.rule, index) for task in verdict.tasks]
        if verdict.verdict == "undecided":
            waiting += [
                (step.rule, index)
                for step in self._decision.steps
                if step.item == index and step.rule in self._bars
            ]
        for reason in verdict.reasons:
            if reason.kind == "part":
                parts = {line.item for line in reason.evidence}
                waiting += [
                    (other.rule, part)
                    for part in parts
                    for other in self._decision.verdicts[part].reasons
                    if other.rule
                ]
        found: set[tuple[str, int]] = set()
        while waiting:
            here = waiting.pop()
            if here in found:
                continue
            found.add(here)
            step = self._steps.get(here)
            for line in step.uses if step is not None else ():
                if line.kind == "concern":
                    waiting += [
                        (rule, line.item) for rule in self._concluding.get((line.name, line.item), ())
                    ]
        return frozenset(rule for rule, _ in found)

    def _not_carried(self, rules: Iterable[str], index: int, carrying: frozenset[str]) -> Iterator[str]:
        for rule in rules:
            if rule not in carrying:
                yield from self._unmet(rule, index)

    def _unmet(self, rule: str, index: int) -> Iterator[str]:
        """Why a rule did not do its part, on this item if it is tried there, else where it came nearest."""
        if self._asker.rule(rule).for_ == self._decision.verdicts[index].part:
            if self._asker.fired(rule, index):
                yield f"rule {rule} did fire on {self._asker.name(index)}, but the verdict rests on others"
                return
            unmet: Unmet | None = self._asker.unmet(rule, index)
        else:
            if fired := [item for name, item in self._certain if name == rule]:
                where = self._asker.name(min(fired))
                yield f"rule {rule} did fire on {where}, but nothing leads from there to this verdict"
                return
            unmet = self._asker.nearest(rule)
        if unmet is None:
            yield f"rule {rule} was tried on nothing: no {self._asker.rule(rule).for_} lies on this bench"
        else:
            yield _head(unmet)
            yield from (f"  {line}" for line in _lines(unmet))

    def _uses(self, rule: str, index: int) -> Iterator[str]:
        step = self._steps.get((rule, index))
        yield from _facts(step.uses if step is not None else ())

    def _behind(self, verdict: Verdict) -> Iterator[str]:
        """What a verdict rests on, in a few lines."""
        for reason in verdict.reasons[:_NAMED]:
            yield f"reason: {_reason(reason)}"
            yield from (f"  {each}" for each in _facts(reason.evidence))
        if len(verdict.reasons) > _NAMED:
            yield f"and {len(verdict.reasons) - _NAMED} more reasons"
        if not verdict.reasons:
            asks = list(dict.fromkeys(ask.reading for ask in verdict.asks))
            if asks:
                yield f"it stays open until these are known: {', '.join(asks)}"
            for note in verdict.notes:
                yield f"note: {note}"


def _words(verdict: Verdict) -> str:
    if verdict.verdict == "undecided":
        return f"undecided ({' or '.join(verdict.possible)})"
    return f"{verdict.verdict} ({verdict.ground})"


def _reason(reason: Reason) -> str:
    where = f" ({reason.at})" if reason.at else ""
    return f"rule {reason.rule}{where}" if reason.rule else reason.because.rstrip(".")


def _facts(lines: Sequence[EvidenceLine]) -> Iterator[str]:
    """What a step used, in a few lines."""
    for line in lines[:_NAMED]:
        where = f" ({line.at})" if line.at else ""
        yield f"{f'{line.part} {line.place}'.strip()}: {line.says}{where}"
    if len(lines) > _NAMED:
        yield f"and {len(lines) - _NAMED} more facts"


def _head(unmet: Unmet) -> str:
    how = "only may fire" if unmet.may_fire else "did not fire"
    return f"rule {unmet.rule} {how} on {unmet.item}"


def _lines(unmet: Unmet) -> list[str]:
    told = []
    for lack in unmet.lacks:
        where = f"on {lack.item} " if lack.item != unmet.item else ""
        told.append(f"{'  ' * lack.depth}{where}{lack}")
    return told
