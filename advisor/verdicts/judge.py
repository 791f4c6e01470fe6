"""From firings to one verdict for each item, with its ground, reasons, cautions and asks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from advisor.chain.run import Firings
from advisor.gauging import Gauged
from advisor.gauging.lasting import Running
from advisor.gauging.slips import far_limits
from advisor.gauging.work import Workshop
from advisor.sheets.bench import Bench, BenchItem
from advisor.sheets.conditions import Found, Stands, leaves
from advisor.sheets.engine import EngineSheet
from advisor.sheets.rules import Bar, RuleText
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import ANSWERS, Answer, Evidence, Finding, Kind, Operation
from advisor.verdicts import doubts, wear
from advisor.verdicts.answers import Barred, Opened, Required, open_answers, unopened_answers
from advisor.verdicts.asks import Asker, distinct
from advisor.verdicts.barred_on import barred_on
from advisor.verdicts.model import (
    Ask,
    Citation,
    Course,
    CourseGround,
    Doubt,
    Ground,
    OperationToDo,
    QuestionedReading,
    Reason,
    TaskToDo,
    Verdict,
    VerdictWord,
    WearForecast,
)
from advisor.verdicts.notes import limit_notes, risk_note
from advisor.verdicts.wholes import PartBar, open_note, part_bars, part_reason, pieces, unspoken_note
from advisor.verdicts.words import Teller, plain
from advisor.verdicts.work import Worker, look_before

NO_RULE = "no rule in this rule set speaks of this kind of part: judge it by the maker's manual"
NOT_OPENED = "not opened, not judged"
CLOSED = "not opened: judged by what was found on other parts"

NOTHING_MORE = (
    "nothing more can be looked at: what is missing is lost or cannot be judged; "
    "take the harsher answer, or let somebody take the risk by name"
)

NOTHING_BARS = "Looked at and measured: nothing of it speaks against putting it back."
"""The reason for reuse where no evidence was asked for by name."""


@dataclass(frozen=True, slots=True)
class _Firing:
    rule: int
    certain: bool


@dataclass(slots=True)
class _Judged:
    """What is gathered for one item before its verdict is written."""

    firings: list[_Firing] = field(default_factory=list)
    bars: list[tuple[Barred, Bar, int]] = field(default_factory=list)
    """Each with its bar as written and its rule."""
    required: list[tuple[Required, Evidence, int | None]] = field(default_factory=list)
    """Each with its evidence as written and its rule, or None where the kind itself asks for it."""
    parts: list[PartBar] = field(default_factory=list)
    """What parts that are one piece with it rule out."""
    unspoken: list[Verdict] = field(default_factory=list)
    """Parts that are one piece with it and of which no rule speaks."""

    @property
    def barred(self) -> list[Barred]:
        """All bars, whoever they come from."""
        return [*(bar for bar, _, _ in self.bars), *(bar.barred for bar in self.parts)]

    @property
    def condemning(self) -> list[Barred]:
        """All bars but those of what is renewed as a matter of course, which nobody does to a closed part."""
        bars = [bar for bar, written, _ in self.bars if written.ground != "routine"]
        return [*bars, *(bar.barred for bar in self.parts if bar.ground != "routine")]


class Judge:
    """Judges the items of one case."""

    def __init__(
        self,
        bench: Bench,
        gauged: Gauged,
        sheet: EngineSheet,
        ruleset: RuleSet,
        firings: Firings,
        teller: Teller,
        running: Running | None = None,
    ) -> None:
        self._running = running
        self._bench = bench
        self._gauged = gauged
        self._sheet = sheet
        self._ruleset = ruleset
        self._vocabulary = ruleset.vocabulary
        self._firings = firings
        self._teller = teller
        doubter = doubts.Doubter(bench, gauged, sheet, ruleset, teller)
        self._asker = Asker(bench, gauged, sheet, ruleset, firings, doubter)
        self._by_item: dict[int, list[_Firing]] = defaultdict(list)
        for rule, item, certain in sorted(firings):
            if certain or (rule, item, True) not in firings:
                self._by_item[item].append(_Firing(rule, certain))
        self._barring: dict[str, list[int]] = defaultdict(list)
        for number, each in enumerate(ruleset.rules):
            if each.then.bar:
                self._barring[each.for_].append(number)
        self._looks: dict[str, tuple[dict[str, None], dict[Citation, None]]] = {}
        self._operations_of = _by_kind(ruleset.vocabulary.operations)
        self._findings_of = _by_kind(ruleset.vocabulary.findings)
        workshop = Workshop(bench, sheet, ruleset, gauged)
        self._work = Worker(workshop, teller)
        self._pieces = pieces(bench, ruleset)
        self._known: dict[int, Verdict] = {}

    def verdicts(self) -> tuple[Verdict, ...]:
        """One verdict for each item, in the order of the bench."""
        return tuple(self._verdict(index) for index in range(len(self._bench.items)))

    def _verdict(self, index: int) -> Verdict:
        """The verdict on an item; parts that are one piece with it are judged before it."""
        known = self._known.get(index)
        if known is None:
            known = self._known[index] = self._judge(index, self._bench.items[index])
        return known

    def _judge(self, index: int, item: BenchItem) -> Verdict:
        kind = self._vocabulary.kinds[item.key.kind]
        unheard_of = item.key.kind not in self._ruleset.consulted_kinds
        if unheard_of and len(kind.answers) > 1:
            return self._not_judged(item, kind)
        judged = self._gather(index, kind)
        cleared = self._cleared_rules(index)
        feasible = {name: self._work.feasible(index, name) for name in self._operations_of[item.key.kind]}
        bars = judged.barred
        required = [each for each, _, _ in judged.required]
        spoken_of = item.key.kind in self._ruleset.judged_kinds
        if spoken_of and item.opened:
            opened = open_answers(kind.answers, bars, required, feasible)
        elif spoken_of:
            opened = unopened_answers(kind.answers, judged.condemning, feasible)
        else:
            opened = Opened({answer: None for answer in ANSWERS if answer in kind.answers})
        possible = opened.possible
        verdict: VerdictWord = possible[0] if len(possible) == 1 else "undecided"
        operations = self._work.to_do(index, bars, feasible) if verdict == "recondition" else ()
        tasks = tuple(self._tasks(judged, replaced=verdict == "replace"))
        asks: tuple[Ask, ...] = ()
        doubtful: tuple[Doubt, ...] = ()
        if verdict == "undecided" and spoken_of and item.opened:
            found = list(self._asks(index, kind, judged, opened, feasible))
            asks = distinct(each for each in found if isinstance(each, Ask))
            doubtful = doubts.distinct_doubts(each for each in found if isinstance(each, Doubt))
        questions = self._questions(index)
        forecasts = self._forecasts(index) if "reuse" in possible and spoken_of and item.opened else ()
        return Verdict(
            part=item.key.kind,
            place=item.key.where,
            tag=item.key.tag,
            origin=item.key.origin,
            label=kind.label,
            assembly=kind.assembly,
            verdict=verdict,
            ground=_ground(verdict, judged, kind),
            possible=possible,
            reasons=tuple(self._reasons(index, verdict, judged, cleared, feasible)),
            operations=operations,
            tasks=tasks,
            cautions=self._cautions(kind, judged, operations, tasks),
            asks=asks,
            held=tuple(self._held(index, judged, operations)) if verdict == "recondition" else (),
            notes=(
                *(f"questioned: {each.says}; {each.do}" for each in questions),
                *doubts.notes(doubtful, item.key.kind, item.key.where, item.key.tag),
                *self._notes(index, kind, possible, spoken_of, bool(asks), judged, feasible),
                *(wear.notes(forecasts) if verdict == "reuse" else ()),
            ),
            cleared=tuple(rule.id for rule in cleared),
            not_looked_at=self._not_looked_at(item),
            course=Course("undecided" if verdict == "undecided" else verdict, _course_ground(verdict)),
            opened=item.opened,
            doubts=doubtful,
            questions=questions,
            forecasts=forecasts,
        )

    def _questions(self, index: int) -> tuple[QuestionedReading, ...]:
        """Readings of an item that cannot be right, or hardly."""
        return tuple(
            QuestionedReading(each.reading, each.positions, each.says, each.do, each.stamp)
            for each in self._gauged.questions.get(index, ())
        )

    def _forecasts(self, index: int) -> tuple[WearForecast, ...]:
        """How long what is measured will last, where the hours run and those wanted are known."""
        if self._running is None:
            return ()
        gauged = self._gauged.dimensions[index]
        return wear.forecasts(self._bench, self._ruleset, self._teller, index, gauged, self._running)

    def _not_judged(self, item: BenchItem, kind: Kind) -> Verdict:
        """The verdict on a part of which no rule speaks: open, and said to be so."""
        return Verdict(
            part=item.key.kind,
            place=item.key.where,
            tag=item.key.tag,
            origin=item.key.origin,
            label=kind.label,
            assembly=kind.assembly,
            verdict="undecided",
            ground="open",
            possible=tuple(answer for answer in ANSWERS if answer in kind.answers),
            reasons=(),
            operations=(),
            tasks=(),
            cautions=tuple(kind.cautions),
            asks=(),
            held=(),
            notes=(NO_RULE if item.opened else NOT_OPENED,),
            cleared=(),
            not_looked_at=self._not_looked_at(item),
            course=Course("undecided", "open"),
            opened=item.opened,
        )

    def _gather(self, index: int, kind: Kind) -> _Judged:
        judged = _Judged(firings=self._by_item.get(index, []))
        for evidence in kind.evidence:
            judged.required.append((self._required(index, evidence, True), evidence, None))
        for firing in judged.firings:
            then = self._ruleset.rules[firing.rule].then
            for bar in then.bar:
                barred = Barred(frozenset(bar.answers), tuple(bar.mend), firing.certain)
                judged.bars.append((barred, bar, firing.rule))
            for evidence in then.require:
                judged.required.append(
                    (self._required(index, evidence, firing.certain), evidence, firing.rule)
                )
        one_piece = [(piece, self._verdict(piece.item)) for piece in self._pieces.get(index, ())]
        spoken = [each for each in one_piece if each[1].part in self._ruleset.judged_kinds]
        judged.parts += part_bars(spoken)
        judged.unspoken += [part for piece, part in one_piece if (piece, part) not in spoken]
        return judged

    def _required(self, index: int, evidence: Evidence, certain: bool) -> Required:
        if evidence.finding is not None:
            seen = self._bench.items[index].findings.get(evidence.finding)
            met = seen is not None and seen.extent is not None
            state = None if seen is None else seen.state
        else:
            gauged = self._gauged.dimensions[index][evidence.subject]
            met = gauged.measure is not None and not gauged.lacks
            state = gauged.state
        beyond = not met and state in ("lost", "could not be judged")
        return Required(frozenset(evidence.before), met, beyond, evidence.safe_side, certain)

    def _tasks(self, judged: _Judged, *, replaced: bool) -> Iterator[TaskToDo]:
        for firing in judged.firings:
            rule = self._ruleset.rules[firing.rule]
            for name in rule.then.task if firing.certain else ():
                task = self._vocabulary.tasks[name]
                if task.also_when_replaced or not replaced:
                    yield TaskToDo(name, task.label, rule.because, rule.id)

    def _reasons(
        self,
        index: int,
        verdict: VerdictWord,
        judged: _Judged,
        cleared: Sequence[RuleText],
        feasible: Mapping[str, bool | None],
    ) -> Iterator[Reason]:
        """For a verdict that stands: what bars the milder answers, or the evidence that lets reuse stand."""
        milder = ANSWERS[: ANSWERS.index(verdict)] if verdict != "undecided" else ANSWERS[:2]
        told: set[int] = set()
        for part in judged.parts:
            if part.barred.certain:
                yield part_reason(part)
        for barred, _, number in judged.bars:
            if barred.certain and number not in told and barred.answers & set(milder):
                told.add(number)
                yield self._reason(index, number, certain=True)
        for required, evidence, rule in judged.required:
            if rule is not None and rule in told:
                continue
            closes = not required.met and required.beyond_reach and required.safe_side is not None
            if (verdict == "reuse" and required.met and required.certain) or (verdict != "reuse" and closes):
                yield self._evidence_reason(index, evidence, rule)
        if verdict == "replace" and "recondition" in self._answers_of(index):
            yield from self._work.why_not(index, judged.barred, feasible)
        if verdict == "reuse":
            yield from self._cleared_reason(index, cleared)

    def _answers_of(self, index: int) -> Sequence[Answer]:
        return self._vocabulary.kinds[self._bench.items[index].key.kind].answers

    def _cleared_reason(self, index: int, cleared: Sequence[RuleText]) -> Iterator[Reason]:
        """Why nothing bars reuse: the evidence that the rules which could have barred it looked at."""
        names: dict[str, None] = {}
        cites: dict[Citation, None] = {}
        for rule in cleared:
            looks_at, cited = self._looks_at(rule)
            names.update(looks_at)
            cites.update(cited)
        if names:
            told = [self._teller.evidence(name, index, certain=True) for name in names]
            lines = tuple(line for line in told if line.kind != "missing")
            yield Reason("", NOTHING_BARS, tuple(cites), lines, "", "evidence")

    def _looks_at(self, rule: RuleText) -> tuple[dict[str, None], dict[Citation, None]]:
        """The findings and dimensions that a rule looks at on its own item, and what it cites."""
        known = self._looks.get(rule.id)
        if known is None:
            names: dict[str, None] = {}
            for leaf in leaves(rule.condition):
                if isinstance(leaf, Found):
                    names[leaf.finding] = None
                elif isinstance(leaf, Stands):
                    names[leaf.dimension] = None
            known = self._looks[rule.id] = names, dict.fromkeys(self._teller.cites(rule.cite))
        return known

    def _reason(self, index: int, number: int, *, certain: bool) -> Reason:
        rule = self._ruleset.rules[number]
        facts = self._firings[number, index, certain]
        lines = sorted(
            (self._teller.line(leaf, item, certain=certain) for leaf, item in facts),
            key=lambda line: (line.part, line.place, line.tag, line.kind, line.name, line.says),
        )
        at = self._ruleset.written.get(rule.id, "")
        return Reason(rule.id, rule.because, self._teller.cites(rule.cite), tuple(lines), at)

    def _evidence_reason(self, index: int, evidence: Evidence, rule: int | None) -> Reason:
        cites = list(evidence.cite)
        rule_id = ""
        if rule is not None:
            rule_id = self._ruleset.rules[rule].id
            cites = cites or list(self._ruleset.rules[rule].cite)
        at = self._ruleset.written.get(rule_id, "")
        line = self._teller.evidence(evidence.subject, index, certain=True)
        return Reason(rule_id, evidence.because, self._teller.cites(cites), (line,), at, "evidence")

    def _asks(
        self,
        index: int,
        kind: Kind,
        judged: _Judged,
        opened: Opened,
        feasible: Mapping[str, bool | None],
    ) -> Iterator[Ask | Doubt]:
        """What could still change the answer: only for answers that are possible and not known to be open."""
        waiting = {answer for answer in opened.possible if opened.open[answer] is None}
        for required, evidence, rule in judged.required:
            if required.met or not any(map(required.holds_up, waiting)):
                continue
            rule_id = self._ruleset.rules[rule].id if rule is not None else ""
            if required.beyond_reach:
                # It cannot be had; but whether it is wanted, and so ends on its safe side, may be settled.
                if rule is not None and not required.certain and required.safe_side is not None:
                    for each in self._asker.under(rule, index, evidence.because):
                        yield _safe(each, required.safe_side)
            elif evidence.finding is not None:
                yield from self._asker.finding(evidence.finding, index, evidence.because, rule_id)
            else:
                yield from self._asker.dimension(evidence.subject, None, index, evidence.because, rule_id)
        for place, (barred, _, number) in enumerate(judged.bars):
            because = self._ruleset.rules[number].because
            mended = any(feasible.get(name, True) is True for name in barred.mend)
            matters = barred.answers & waiting or ("recondition" in waiting and not mended)
            if matters and not barred.certain:
                safe = self._if_barred(kind, judged, place, feasible)
                for each in self._asker.under(number, index, because):
                    yield _safe(each, safe)
            if "recondition" in waiting and "reuse" in barred.answers and not mended:
                yield from self._band_asks(barred, index, feasible, because)
        for part in judged.parts:
            if not part.barred.certain and part.barred.answers & waiting:
                yield from part.part.asks

    def _if_barred(
        self, kind: Kind, judged: _Judged, place: int, feasible: Mapping[str, bool | None]
    ) -> Answer:
        """The mildest answer that would be left if one bar that may be there were."""
        bars = judged.barred
        bars[place] = replace(bars[place], certain=True)
        required = [each for each, _, _ in judged.required]
        return open_answers(kind.answers, bars, required, feasible).possible[0]

    def _band_asks(
        self, barred: Barred, index: int, feasible: Mapping[str, bool | None], because: str
    ) -> Iterator[Ask | Doubt]:
        """What is missing to tell whether work can be done: a size that serves the set, or what it needs."""
        for name in barred.mend:
            if feasible.get(name, True) is not None:
                continue
            label = self._vocabulary.operations[name].label
            yield from self._work_asks(index, name, because)
            band = self._work.band(index, name)
            if band is None:
                continue
            for missing in band.missing:
                # A bar that is not certain has asked for the item's own measure already.
                measure = barred.certain or missing != index
                yield from self._asker.size(missing, band.reading, because, label, measure=measure)
            for shaft in band.run_outs:
                yield from self._asker.reading(shaft, band.run_out, because)
            if not (band.missing or band.walls or band.run_outs) and band.worst is not None:
                yield self._asker.worn_side(band.worst, because, label)

    def _work_asks(self, index: int, operation: str, because: str) -> Iterator[Ask | Doubt]:
        """What the work itself hangs on, and nobody has measured, or not closely enough."""
        for lack in self._work.lacks(index, operation):
            if lack.name not in self._vocabulary.dimensions:
                yield from self._asker.reading(lack.item, lack.name, because)
                continue
            purpose = self._work.purpose(lack, operation)
            yield from self._asker.dimension(lack.name, purpose, lack.item, because, "")

    def _cautions(
        self, kind: Kind, judged: _Judged, operations: Sequence[OperationToDo], tasks: Sequence[TaskToDo]
    ) -> tuple[str, ...]:
        """Cautions that hang on the kind, on the rules that fired, and on the work to be done."""
        keys: dict[str, None] = dict.fromkeys(kind.cautions)
        for firing in judged.firings:
            if firing.certain:
                keys.update(dict.fromkeys(self._ruleset.rules[firing.rule].cautions))
        for operation in operations:
            keys.update(dict.fromkeys(self._vocabulary.operations[operation.operation].cautions))
        for task in tasks:
            keys.update(dict.fromkeys(self._vocabulary.tasks[task.task].cautions))
        return tuple(keys)

    def _held(self, index: int, judged: _Judged, operations: Sequence[OperationToDo]) -> Iterator[str]:
        """What is still open although recondition stands: a size, and what the same visit should mend."""
        yield from self._work.held(index, operations)
        key = self._bench.items[index].key
        chosen = {operation.operation for operation in operations}
        looks: dict[tuple[str, str, str, str], tuple[Ask, str]] = {}
        for barred, _, number in judged.bars:
            if barred.certain or "reuse" not in barred.answers or not chosen.isdisjoint(barred.mend):
                continue
            because = self._ruleset.rules[number].because
            found = self._asker.under(number, index, because)
            for ask in distinct(each for each in found if isinstance(each, Ask)):
                looks.setdefault((ask.reading, ask.part, ask.place, ask.tag), (ask, because))
        for ask, because in looks.values():
            yield look_before(ask, because, (key.kind, key.where, key.tag))

    def _notes(
        self,
        index: int,
        kind: Kind,
        possible: Sequence[Answer],
        spoken_of: bool,
        asked: bool,
        judged: _Judged,
        feasible: Mapping[str, bool | None],
    ) -> Iterator[str]:
        verdict = possible[0] if len(possible) == 1 else "undecided"
        item = self._bench.items[index]
        if not item.opened:
            yield NOT_OPENED if verdict == "undecided" else CLOSED
        elif not spoken_of:
            yield NO_RULE
        if verdict == "undecided":
            yield from open_note(judged.parts)
            if spoken_of and item.opened and not asked and all(bar.part.opened for bar in judged.parts):
                hangs = tuple(self._work.why_open(index, judged.barred, feasible))
                yield from hangs or (NOTHING_MORE,)
        if verdict != "replace":
            yield from unspoken_note(judged.unspoken)
        if verdict == "reuse":
            if kind.own_place and item.key.place is not None:
                yield "put back only in its own place"
            yield from limit_notes(
                self._gauged.dimensions[index],
                self._vocabulary,
                lambda name: self._barred_named(index, name),
                self._slips.get(item.key.kind, {}),
            )
        risk = self._bench.risks.get(index)
        if risk is not None and (note := risk_note(risk, possible, asked=asked)) is not None:
            yield note

    def _barred_named(self, index: int, dimension: str) -> list[str]:
        """Other items that are barred because of a dimension of this one, each kind and place once."""
        keys = (self._bench.items[each].key for each in self._barred_on.get((index, dimension), ()))
        return list(dict.fromkeys(f"{plain(key.kind)} {key.where}".strip() for key in keys))

    @cached_property
    def _barred_on(self) -> Mapping[tuple[int, str], tuple[int, ...]]:
        return barred_on(self._firings, self._ruleset)

    @cached_property
    def _slips(self) -> Mapping[str, Mapping[str, str]]:
        """By kind and dimension: what is odd about the discard limit on the engine sheet."""
        found: dict[str, dict[str, str]] = defaultdict(dict)
        for each in far_limits(self._sheet, self._ruleset):
            if each.limit.purpose == "discard" and each.limit.at_most is not None:
                says = f"{each.limit.at_most.text}, which is {each.why}"
                found[each.part][each.limit.dimension] = says
        return found

    def _cleared_rules(self, index: int) -> list[RuleText]:
        """The rules that could have barred an answer and do not."""
        return [
            self._ruleset.rules[number]
            for number in self._barring[self._bench.items[index].key.kind]
            if (number, index, False) not in self._firings
        ]

    def _not_looked_at(self, item: BenchItem) -> tuple[str, ...]:
        """Findings of this kind of which nothing is known; shown, and no reason to hold anything up."""
        if not item.opened:
            return ()
        seen = {name for name, each in item.findings.items() if each.extent is not None}
        return tuple(name for name in self._findings_of[item.key.kind] if name not in seen)


def _safe(found: Ask | Doubt, answer: Answer) -> Ask | Doubt:
    """What was found, a doubt with the answer that is its safe side."""
    return doubts.on_the_safe_side(found, answer) if isinstance(found, Doubt) else found


def _by_kind(entries: Mapping[str, Operation] | Mapping[str, Finding]) -> dict[str, list[str]]:
    """By kind of part: the names of the entries that are for it."""
    found: dict[str, list[str]] = defaultdict(list)
    for name, entry in entries.items():
        for kind in entry.kinds:
            found[kind].append(name)
    return found


def _ground(verdict: VerdictWord, judged: _Judged, kind: Kind) -> Ground:
    if verdict == "undecided":
        return "open"
    if verdict == "reuse":
        return "sound"
    milder: set[Answer] = set(ANSWERS[: ANSWERS.index(verdict)])
    deciding: set[Ground] = {
        bar.ground for barred, bar, _ in judged.bars if barred.certain and barred.answers & milder
    }
    deciding |= {bar.ground for bar in judged.parts if bar.barred.certain}
    if "condemned" in deciding:
        return "condemned"
    if "routine" in deciding or not milder & set(kind.answers):
        return "routine"
    return "safe side"


def _course_ground(verdict: VerdictWord) -> CourseGround:
    return "open" if verdict == "undecided" else "as judged"
