"""What CLIPS makes of the rules: a third opinion, written from the definition and sharing nothing with ours.

Each rule becomes two CLIPS rules, one for each reading, in CLIPS's own terms: comparisons of numbers on raw
evidence, `exists` over ordered tuples for "at least n", `forall` for "every", `not` for absence, `or` over
every choice of n for "count". Nothing is worked out in Python but the stages, and absence is left to CLIPS
within them: a rule waits for the stage at which all that it asks to be absent is settled.
"""

from __future__ import annotations

import itertools
import math
import tempfile
from collections.abc import Iterator, Mapping, Sequence, Set
from pathlib import Path
from types import TracebackType
from typing import Literal, NamedTuple, Protocol

import clips

from advisor.chain.world import World
from advisor.sheets.conditions import (
    OUTCOMES,
    Absent,
    All,
    Any,
    Condition,
    EvidenceIs,
    Found,
    HasConcern,
    HasProperty,
    LayoutIs,
    Leaf,
    Origin,
    PlaceUnknown,
    Related,
    Stands,
    leaves,
)

Reading = Literal["certain", "possible"]
_OTHER: dict[Reading, Reading] = {"certain": "possible", "possible": "certain"}
_READINGS: tuple[Reading, Reading] = ("certain", "possible")

_TEMPLATES = (
    "(deftemplate item (slot id) (slot kind) (slot place) (slot origin))",
    "(deftemplate finding (slot item) (slot name) (slot low) (slot high) (slot state))",
    "(deftemplate standing (slot item) (slot name) (slot purpose)"
    " (slot inside) (slot above) (slot below) (slot state))",
    "(deftemplate property (slot item) (slot name) (slot value))",
    "(deftemplate link (slot relation) (slot from) (slot to) (slot kind) (slot sure))",
    "(deftemplate layout (slot key) (slot value))",
    "(deftemplate stage (slot number))",
    "(deftemplate part (slot number) (slot item))",
    "(deftemplate concern (slot name) (slot item) (slot reading))",
    "(deftemplate open (slot name) (slot item) (slot reading))",
    "(deftemplate fired (slot rule) (slot item) (slot reading))",
)

# Salience makes this the last thing to do: CLIPS itself says when a stage has come to rest.
_NEXT_STAGE = (
    "(defrule next-stage (declare (salience -1000))"
    " (stage (number ?n&:(< ?n {last}))) => (assert (stage (number (+ ?n 1)))))"
)

# CLIPS makes one rule of every way through the `or`s of a condition; beyond this many, parts get facts of
# their own.
_MOST_WAYS = 12

_TRUE = "(test (eq 1 1))"
_FALSE = "(test (eq 1 2))"


class _Element(NamedTuple):
    """A conditional element, and how many rules CLIPS makes of it."""

    text: str
    ways: int = 1


class RuleLike(Protocol):
    """What is needed of a rule."""

    @property
    def kind(self) -> str: ...
    @property
    def condition(self) -> Condition: ...
    @property
    def concerns(self) -> tuple[str, ...]: ...
    @property
    def wants(self) -> tuple[str, ...]: ...


class ClipsReference:
    """A rule set loaded into CLIPS, to be run over any number of worlds that share `scales`.

    A finding that is wanted on suspicion is `open` on an item where it was seen, and where a rule asks for
    it; on kinds where it is in `on_suspicion` it is read only where it is open. Raises `ValueError` if a
    concern hangs on its own absence.
    """

    def __init__(
        self,
        rules: Sequence[RuleLike],
        scales: Mapping[str, tuple[str, ...]],
        on_suspicion: Set[tuple[str, str]] = frozenset(),
    ) -> None:
        self._scales = scales
        self._on_suspicion = on_suspicion
        tips = [_bare(leaf) for rule in rules for leaf in leaves(rule.condition)]
        self._findings = {leaf.finding for leaf in tips if isinstance(leaf, Found)}
        self._dimensions = {(leaf.dimension, leaf.purpose) for leaf in tips if isinstance(leaf, Stands)}
        for leaf in tips:
            if isinstance(leaf, EvidenceIs):
                if leaf.name in scales:
                    self._findings.add(leaf.name)
                else:
                    self._dimensions.add((leaf.name, leaf.purpose))
        self._properties = {leaf.property for leaf in tips if isinstance(leaf, HasProperty)}
        self._relations = {
            of.relation
            for rule in rules
            for leaf in leaves(rule.condition)
            if isinstance(of := leaf.of if isinstance(leaf, Absent) else leaf, Related)
        }
        stages = _stages(rules, on_suspicion)
        last = max(stages, default=0)
        constructs = [*_TEMPLATES, _NEXT_STAGE.format(last=last)]
        for number, rule in enumerate(rules):
            constructs += _Translator(number, rule, stages[number], scales, on_suspicion).constructs()
        # CLIPS reads files 25 times as fast as strings, for which clipspy is asked about every character.
        self._folder = tempfile.TemporaryDirectory()
        self._file = Path(self._folder.name) / "case"
        self._env = clips.Environment()
        try:
            self._file.write_text("\n".join(constructs), encoding="utf-8")
            self._env.load(str(self._file))
        except BaseException:
            self.close()
            raise
        self._fired = self._env.find_template("fired")
        self._at_rest = f"(any-factp ((?s stage)) (eq ?s:number {last}))"

    def __enter__(self) -> ClipsReference:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give up what is held. Closing twice is harmless."""
        self._env.clear()
        self._folder.cleanup()

    def firings(self, world: World) -> set[tuple[int, int, bool]]:
        """Each (rule, item, certain): with True where the rule fires for certain, False where it may fire."""
        self._env.reset()
        # The stage comes last: without it no rule looks at anything, so the facts are joined once.
        self._file.write_text("\n".join((*self._facts(world), "(stage (number 0))")), encoding="utf-8")
        self._env.load_facts(str(self._file))
        self._env.run()
        if not self._env.eval(self._at_rest):
            raise RuntimeError("CLIPS did not read all facts, or did not come to the last stage")
        return {(int(f["rule"]), int(f["item"]), f["reading"] == "certain") for f in self._fired.facts()}

    def _facts(self, world: World) -> Iterator[str]:
        for key, value in world.layout.items():
            yield f"(layout (key {_text(key)}) (value {_text(value)}))"
        for number, item in enumerate(world.items):
            place = "unknown" if item.place_unknown else "known"
            yield (
                f"(item (id {number}) (kind {_text(item.kind)})"
                f" (place {place}) (origin {_text(item.origin)}))"
            )
            for name in self._findings:
                extent = item.findings.get(name)
                low, high, state = (
                    (0, len(self._scales[name]) - 1, "not looked at")
                    if extent is None
                    else (extent.lowest, extent.highest, extent.state or "known")
                )
                yield (
                    f"(finding (item {number}) (name {_text(name)})"
                    f" (low {low}) (high {high}) (state {_text(state)}))"
                )
                if state == "known":
                    for reading in _READINGS:
                        yield f"(open (name {_text(name)}) (item {number}) (reading {reading}))"
            for name, purpose in self._dimensions:
                standing = item.standings.get((name, purpose))
                open_ = OUTCOMES if standing is None else standing.outcomes
                state = "not looked at" if standing is None else standing.state or "known"
                slots = " ".join(f"({outcome} {'yes' if outcome in open_ else 'no'})" for outcome in OUTCOMES)
                yield (
                    f"(standing (item {number}) (name {_text(name)}) (purpose {_text(purpose)})"
                    f" {slots} (state {_text(state)}))"
                )
            for name in self._properties:
                given = item.properties.get(name)
                yield (
                    f"(property (item {number}) (name {_text(name)})"
                    f" (value {'unknown' if given is None else _text(given)}))"
                )
        for relation in self._relations:
            only_possible = world.unsure.get(relation, frozenset())
            for number, targets in world.links.get(relation, {}).items():
                for target in targets:
                    sure = "no" if (number, target) in only_possible else "yes"
                    yield (
                        f"(link (relation {_text(relation)}) (from {number}) (to {target})"
                        f" (kind {_text(world.items[target].kind)}) (sure {sure}))"
                    )


class _Translator:
    """One rule, as CLIPS constructs."""

    def __init__(
        self,
        number: int,
        rule: RuleLike,
        stage: int,
        scales: Mapping[str, tuple[str, ...]],
        on_suspicion: Set[tuple[str, str]],
    ) -> None:
        self._on_suspicion = on_suspicion
        self._number = number
        self._rule = rule
        self._stage = stage
        self._scales = scales
        self._names = itertools.count()
        self._parts: list[str] = []

    def constructs(self) -> Iterator[str]:
        for reading in _READINGS:
            body = self._element(self._rule.condition, reading).text
            concluded = " ".join(
                f"(concern (name {_text(name)}) (item ?i) (reading {reading}))"
                for name in self._rule.concerns
            )
            concluded += "".join(
                f" (open (name {_text(name)}) (item ?i) (reading {reading}))" for name in self._rule.wants
            )
            yield from self._parts
            self._parts.clear()
            fired = f"(fired (rule {self._number}) (item ?i) (reading {reading}))"
            yield self._defrule(f"rule-{self._number}-{reading}", body, f"{fired} {concluded}")

    def _defrule(self, name: str, body: str, conclusion: str) -> str:
        return (
            f"(defrule {name} (stage (number {self._stage})) (item (id ?i) (kind {_text(self._rule.kind)}))"
            f" {body} => (assert {conclusion}))"
        )

    def _element(self, condition: Condition, reading: Reading) -> _Element:
        match condition:
            case All(parts):
                return self._every_one([self._element(part, reading) for part in parts])
            case Any(parts, number):
                # Translated once, however many choices each part is in.
                elements = [self._element(part, reading) for part in parts]
                choices = itertools.combinations(elements, number)
                return self._one_of([self._every_one(list(choice)) for choice in choices])
            case Absent(of):
                return _Element(f"(not {self._tip(of, _OTHER[reading])})")
            case _:
                return _Element(self._tip(condition, reading))

    def _every_one(self, elements: list[_Element]) -> _Element:
        if not elements:
            return _Element(_TRUE)
        while math.prod(element.ways for element in elements) > _MOST_WAYS:
            widest = max(range(len(elements)), key=lambda index: elements[index].ways)
            elements[widest] = self._apart([elements[widest]])
        if len(elements) == 1:
            return elements[0]
        return _Element(
            f"(and {' '.join(element.text for element in elements)})",
            math.prod(element.ways for element in elements),
        )

    def _one_of(self, elements: list[_Element]) -> _Element:
        if not elements:
            return _Element(_FALSE)
        if len(elements) == 1:
            return elements[0]
        ways = sum(element.ways for element in elements)
        if ways > _MOST_WAYS:
            return self._apart(elements)
        return _Element(f"(or {' '.join(element.text for element in elements)})", ways)

    def _apart(self, elements: Sequence[_Element]) -> _Element:
        """A fact that follows from any of the elements, to stand for them in the condition."""
        part = f"(part (number {self._number}{next(self._names):06}) (item ?i))"
        for element in elements:
            name = f"part-{self._number}-{next(self._names)}"
            self._parts.append(self._defrule(name, element.text, part))
        return _Element(part)

    def _tip(self, tip: Leaf | Related, reading: Reading) -> str:
        if not isinstance(tip, Related):
            return f"(and {self._own(tip, self._rule.kind, '?i', reading)})"
        certain = reading == "certain"
        first = self._name()
        if tip.number is None:
            one = self._name()
            each_holds = self._own(tip.leaf, tip.kind, first, reading)
            if certain:
                # A link that may not be there cannot be the one that has to be, yet it may be one of all.
                there = self._linked(tip, one, sure=True)
                each = self._linked(tip, first)
            else:
                there = f"{self._linked(tip, one)} {self._own(tip.leaf, tip.kind, one, reading)}"
                each = self._linked(tip, first, sure=True)
            return f"(and (exists {there}) (forall {each} {each_holds}))"
        texts = [self._linked(tip, first, sure=certain), self._own(tip.leaf, tip.kind, first, reading)]
        for _ in range(tip.number - 1):
            following = self._name()
            texts.append(self._linked(tip, f"{following}&:(> {following} {first})", sure=certain))
            texts.append(self._own(tip.leaf, tip.kind, following, reading))
            first = following
        return f"(exists {' '.join(texts)})"

    def _linked(self, tip: Related, variable: str, *, sure: bool = False) -> str:
        """A pattern for one linked item; `sure` leaves out the links that are only possible."""
        kind = _text(tip.kind)
        if tip.relation == "anywhere":
            head, sep, tests = variable.partition("&")
            return f"(item (id {head}&~?i{sep}{tests}) (kind {kind}))"
        only = " (sure yes)" if sure else ""
        return f"(link (relation {_text(tip.relation)}) (from ?i) (to {variable}) (kind {kind}){only})"

    def _own(self, leaf: Leaf, kind: str, item: str, reading: Reading) -> str:
        """The patterns for a leaf about an item of `kind`."""
        finding = _suspected(kind, leaf, self._on_suspicion)
        if finding is None:
            return self._pattern(leaf, item, reading)
        asked = f"(open (name {_text(finding)}) (item {item}) (reading {reading}))"
        return f"{asked} {self._pattern(leaf, item, reading)}"

    def _pattern(self, leaf: Leaf, item: str, reading: Reading) -> str:
        certain = reading == "certain"
        match leaf:
            case Found(name, lowest, highest):
                scale = self._scales[name]
                least = scale.index(lowest)
                most = len(scale) - 1 if highest is None else scale.index(highest)
                low, high = self._name(), self._name()
                test = (
                    f"(and (>= {low} {least}) (<= {high} {most}))"
                    if certain
                    else f"(<= (max {low} {least}) (min {high} {most}))"
                )
                return f"(finding (item {item}) (name {_text(name)}) (low {low}) (high {high}&:{test}))"
            case Stands(name, purpose, asked):
                head = f"(standing (item {item}) (name {_text(name)}) (purpose {_text(purpose)})"
                if certain:
                    return f"{head} {' '.join(f'({o} no)' for o in OUTCOMES if o not in asked)})"
                slots = {outcome: self._name() for outcome in OUTCOMES}
                test = " ".join(f"(eq {slots[outcome]} yes)" for outcome in OUTCOMES if outcome in asked)
                return (
                    f"{head} (inside {slots['inside']}) (above {slots['above']})"
                    f" (below {slots['below']}&:(or {test} FALSE)))"
                )
            case HasConcern(name):
                return f"(concern (name {_text(name)}) (item {item}) (reading {reading}))"
            case HasProperty(name, value):
                allowed = _text(value) if certain else f"{_text(value)}|unknown"
                return f"(property (item {item}) (name {_text(name)}) (value {allowed}))"
            case PlaceUnknown():
                return f"(item (id {item}) (place unknown))"
            case Origin(origin):
                return f"(item (id {item}) (origin {_text(origin)}))"
            case LayoutIs(key, value):
                return f"(layout (key {_text(key)}) (value {_text(value)}))"
            case EvidenceIs(name, purpose, state):
                if certain and state == "not looked at":
                    return _FALSE
                states = {state} if certain else {state, "not looked at", "not opened"}
                slot = f"(state {'|'.join(map(_text, sorted(states)))})"
                if name in self._scales:
                    return f"(finding (item {item}) (name {_text(name)}) {slot})"
                return f"(standing (item {item}) (name {_text(name)}) (purpose {_text(purpose)}) {slot})"

    def _name(self) -> str:
        return f"?v{next(self._names)}"


def _suspected(kind: str, leaf: Leaf, on_suspicion: Set[tuple[str, str]]) -> str | None:
    """The finding that a leaf about an item of `kind` reads, if that is wanted on suspicion."""
    name = leaf.finding if isinstance(leaf, Found) else leaf.name if isinstance(leaf, EvidenceIs) else None
    return name if (kind, name) in on_suspicion else None


def _bare(leaf: Leaf | Related | Absent) -> Leaf:
    of = leaf.of if isinstance(leaf, Absent) else leaf
    return of.leaf if isinstance(of, Related) else of


def _stages(rules: Sequence[RuleLike], on_suspicion: Set[tuple[str, str]]) -> list[int]:
    """The stage of each rule: not before any concern it asks for, and after any it asks to be absent.

    That a finding is asked for is taken as a concern with the finding's name.
    """
    heads = [(*rule.concerns, *rule.wants) for rule in rules]
    stages = dict.fromkeys(itertools.chain.from_iterable(heads), 0)
    needs: list[dict[str, int]] = []
    for rule in rules:
        steps: dict[str, int] = {}
        for leaf in leaves(rule.condition):
            tip = _bare(leaf)
            if isinstance(tip, HasConcern) and tip.concern in stages:
                steps[tip.concern] = max(steps.get(tip.concern, 0), int(isinstance(leaf, Absent)))
            kind = leaf.kind if isinstance(leaf, Related) else rule.kind
            finding = _suspected(kind, tip, on_suspicion)
            if finding in stages:
                steps.setdefault(finding, 0)
        needs.append(steps)
    for _ in range(len(stages) + 1):
        found = [max((stages[name] + step for name, step in steps.items()), default=0) for steps in needs]
        raised = dict(stages)
        for names, stage in zip(heads, found, strict=True):
            for name in names:
                raised[name] = max(raised[name], stage)
        if raised == stages:
            return found
        stages = raised
    raise ValueError("a concern hangs on its own absence")


def _text(words: str) -> str:
    escaped = words.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
