"""What cases show of the conditions of a rule set, and ready cases for what they do not show."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Literal, TypeAlias

from advisor.authoring.argued import FILE, Argued, read_argued
from advisor.authoring.cases import MOST_FILES, Trier, files_of, read_tests
from advisor.authoring.examples import example_worlds, leaf_words
from advisor.authoring.feasible import can_be, unique_cause_possible
from advisor.authoring.fill import Filler, NotFound, Ready
from advisor.authoring.mcdc import Pair, masking, outcome, unique_cause
from advisor.authoring.traces import SeenVectors, Tracer
from advisor.chain.world import World
from advisor.faults import Fault, Faults
from advisor.files import load_case
from advisor.pipeline import work_out
from advisor.sheets.bench import Bench
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import load_engine
from advisor.sheets.filekind import CASE, kind_of
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import load

MOST_BUILT: Final = 1_000
"""Conditions for which cases are built in one run; of more it is only said that they are not shown."""

State: TypeAlias = Literal["shown", "argued", "not shown"]


@dataclass(frozen=True, slots=True)
class ConditionCover:
    """One condition of a rule, and what shows that it decides."""

    says: str
    state: State
    pair: Pair | None
    where: tuple[str, str]
    """Where it was seen true and false, deciding."""
    seen_true: bool
    seen_false: bool
    why: str = ""
    """Why it is not shown, why masking had to serve, or the argument."""
    ready: tuple[str, ...] = ()
    """Names of the ready cases that would show it, with those that there are."""


@dataclass(frozen=True, slots=True)
class RuleCover:
    """One rule with its conditions."""

    rule: str
    part: str
    at: str
    because: str
    fired: str
    """A case on which it fired for certain; empty where there is none."""
    held: str
    """A case on which it could not fire."""
    conditions: tuple[ConditionCover, ...]


@dataclass(frozen=True, slots=True)
class Coverage:
    """A rule set, or part of it, with what was seen."""

    name: str
    version: str
    rules: tuple[RuleCover, ...]
    examples: int
    cases: int
    traces: int
    ready: tuple[Ready, ...] = ()
    built_on: str = ""

    def count(self, state: State) -> int:
        """How many conditions are so."""
        return sum(each.state == state for rule in self.rules for each in rule.conditions)

    @property
    def conditions(self) -> int:
        """How many conditions there are."""
        return sum(len(rule.conditions) for rule in self.rules)

    @property
    def percent(self) -> float:
        """The share of conditions that are shown or argued; 100 where there are none."""
        return (
            100 * (self.conditions - self.count("not shown")) / self.conditions if self.conditions else 100.0
        )


@dataclass(frozen=True)
class Evidence:
    """The cases that are looked at: every one decided, and told by the place that it has in its file."""

    seen: SeenVectors
    examples: int
    cases: int
    sheet: EngineSheet | None
    """The first engine sheet that was met, to build further cases on."""
    sheet_from: str


def cover(
    folder: Path,
    ruleset: RuleSet,
    files: Sequence[Path],
    *,
    engine: Path | None = None,
    argued: Path | None = None,
    examples: bool = True,
    build: bool = True,
    wanted: Callable[[str, str], bool] = lambda rule, kind: True,
) -> Coverage:
    """What the examples of a rule set, its tests and further cases show of its conditions.

    `files` are cases and test files; without any, those in the rule set's own folder are taken. `wanted` is
    asked of each rule, by its id and kind. Raises `Faults` for whatever is wrong in the files, and for
    arguments that are out of date.
    """
    tracer = Tracer(ruleset)
    evidence = gather(folder, tracer, files, examples=examples)
    own = folder / FILE
    arguments = Argued()
    if argued is not None or own.is_file():
        arguments = read_argued(argued or own, tracer)
    judged = _Judging(tracer, evidence.seen, arguments)
    rules = [number for number, rule in enumerate(ruleset.rules) if wanted(rule.id, rule.for_)]
    covers = [judged.rule(number) for number in rules]
    stale = arguments.stale(
        frozenset(
            (number, index)
            for number, rule in zip(rules, covers, strict=True)
            for index, each in enumerate(rule.conditions)
            if each.pair is not None
        )
    )
    if stale:
        raise Faults(stale)
    sheet, sheet_from = evidence.sheet, evidence.sheet_from
    if engine is not None:
        sheet, sheet_from = load_engine(engine, ruleset), str(engine)
    ready: tuple[Ready, ...] = ()
    if build and sheet is not None:
        covers, ready = judged.filled(rules, covers, sheet)
    return Coverage(
        ruleset.name,
        ruleset.version,
        tuple(covers),
        evidence.examples,
        evidence.cases,
        evidence.seen.traces,
        ready,
        sheet_from if sheet is not None else "",
    )


def gather(folder: Path, tracer: Tracer, files: Sequence[Path], *, examples: bool = True) -> Evidence:
    """Decide every case and trace its rules. Raises `Faults` where there are more files than may be, too."""
    ruleset = tracer.ruleset
    numbers = {rule.id: number for number, rule in enumerate(ruleset.rules)}
    seen = SeenVectors()
    told = 0
    if examples:
        for example in example_worlds(ruleset):
            told += 1
            number = numbers[example.rule.id]
            if tracer.trees[number].conditions:
                seen.add(number, tracer.of_example(example), f"its own example, {example.name}")
    own = not files and any((folder / "tests").glob("*.yaml"))
    paths = files_of(folder) if own else list(files)
    if len(paths) > MOST_FILES:
        raise Faults(
            [
                Fault(
                    "too-many-tests",
                    f"{len(paths):,} files",
                    f"at most {MOST_FILES:,} in one run",
                    "name some",
                )
            ]
        )
    cases = 0
    sheet: EngineSheet | None = None
    sheet_from = ""
    trier = Trier(ruleset)
    for path in paths:
        for name, bench, world, its_sheet in _decided(path, ruleset, trier):
            cases += 1
            if sheet is None:
                sheet, sheet_from = its_sheet, str(path)
            for trace in tracer.traces(world):
                key = bench.items[trace.item].key
                item = " ".join(filter(None, (key.kind, key.where, key.tag)))
                seen.add(trace.rule, trace.vector, f"{name}: {item}")
    return Evidence(seen, told, cases, sheet, sheet_from)


def _decided(path: Path, ruleset: RuleSet, trier: Trier) -> Iterator[tuple[str, Bench, World, EngineSheet]]:
    """Every case of a file, decided: its name, bench, world and engine sheet."""
    if kind_of(load(path)) == CASE:
        loaded = load_case(path, ruleset)
        worked = work_out(loaded.case, loaded.sheet, ruleset, document=loaded.document)
        yield str(path), worked.bench, worked.world, loaded.sheet
        return
    read = read_tests(path)
    for index, test in enumerate(read.tests):
        prepared = trier.prepare(read, index)
        worked = trier.decide(prepared)
        yield f"{path.name}, {test.name}", worked.bench, worked.world, prepared.sheet


class _Judging:
    """Judges conditions by what was seen, and builds what is missing."""

    def __init__(self, tracer: Tracer, seen: SeenVectors, argued: Argued) -> None:
        self._tracer = tracer
        self._ruleset = tracer.ruleset
        self._seen = seen
        self._argued = argued

    def rule(self, number: int) -> RuleCover:
        """What is shown of one rule."""
        rule, tree = self._ruleset.rules[number], self._tracer.trees[number]
        seen = self._seen.of(number)
        fired = next((where for vector, where in seen.items() if outcome(tree.root, vector) is True), "")
        held = next((where for vector, where in seen.items() if outcome(tree.root, vector) is False), "")
        conditions = tuple(self._condition(number, index) for index in range(len(tree.conditions)))
        at = self._ruleset.written.get(rule.id, "")
        return RuleCover(rule.id, rule.for_, at, rule.because, fired, held, conditions)

    def _condition(self, number: int, index: int) -> ConditionCover:
        tree, seen = self._tracer.trees[number], self._seen.of(number)
        says = leaf_words(tree.conditions[index])
        true, false = (any(vector[index] is value for vector in seen) for value in (True, False))
        pair, why = unique_cause(tree, seen, index), ""
        if pair is None and self._alone(number, index) is False:
            pair = masking(tree, seen, index)
            why = (
                "no two cases can differ in this condition alone: it hangs together with another"
                if pair
                else ""
            )
        if pair is not None:
            return ConditionCover(says, "shown", pair, (seen[pair.true], seen[pair.false]), true, false, why)
        argument = self._argued.by_condition.get((number, index))
        if argument is not None:
            why = f"{argument.because} ({argument.by})"
            return ConditionCover(says, "argued", None, ("", ""), true, false, why)
        return ConditionCover(says, "not shown", None, ("", ""), true, false)

    def _alone(self, number: int, index: int) -> bool | None:
        """Whether two cases may differ in one condition alone; False is proved."""
        rule, tree = self._ruleset.rules[number], self._tracer.trees[number]
        return unique_cause_possible(tree, self._ruleset.vocabulary, rule.for_, index)

    def filled(
        self, rules: Sequence[int], covers: Sequence[RuleCover], sheet: EngineSheet
    ) -> tuple[list[RuleCover], tuple[Ready, ...]]:
        """The same with ready cases, or with why there are none, for each condition that is not shown."""
        filler = Filler(self._tracer, sheet)
        ready: list[Ready] = []
        done: list[RuleCover] = []
        built = 0
        for number, rule in zip(rules, covers, strict=True):
            with_new = dict(self._seen.of(number))
            conditions: list[ConditionCover] = []
            for index, each in enumerate(rule.conditions):
                if each.state != "not shown":
                    conditions.append(each)
                    continue
                built += 1
                if built > MOST_BUILT:
                    why = f"no case was built: that is done for {MOST_BUILT:,} conditions in one run"
                    conditions.append(replace(each, why=why))
                    continue
                conditions.append(self._fill(filler, number, index, each, with_new, ready))
            done.append(replace(rule, conditions=tuple(conditions)))
        return done, tuple(ready)

    def _fill(
        self,
        filler: Filler,
        number: int,
        index: int,
        each: ConditionCover,
        with_new: dict[tuple[bool | None, ...], str],
        ready: list[Ready],
    ) -> ConditionCover:
        rule, tree = self._ruleset.rules[number], self._tracer.trees[number]
        possible = can_be(tree, self._ruleset.vocabulary, rule.for_, index)
        if len(possible) < 2:
            how = "never" if True not in possible else "always"
            return replace(
                each, why=f"constant: it is {how} true, whatever is found, so it can decide nothing"
            )
        alone = self._alone(number, index)
        made = filler.pair(number, index, with_new, masking=alone is False)
        if isinstance(made, NotFound):
            why = f"no case was found among {made.tried:,} that were tried"
            if alone is False:
                why = f"coupled: no two cases can differ in it alone, and {why} in which it decides"
            elif not filler.places(number):
                why = f"the engine has no {rule.for_}"
            return replace(each, why=why)
        for case in made:
            with_new[case.vector] = ready_name(case, each.says)
        ready += made
        pair = (masking if alone is False else unique_cause)(tree, with_new, index)
        assert pair is not None  # that is what the cases were built for
        return replace(each, ready=(with_new[pair.true], with_new[pair.false]))


def ready_name(ready: Ready, says: str) -> str:
    """What a ready case is called."""
    return f"{ready.rule}, {says}, {'true' if ready.true else 'not true'}"
