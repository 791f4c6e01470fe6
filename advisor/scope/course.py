"""The course for each item: its own verdict, or what follows from its set and from other parts' work.

A verdict says what may be done with an item as it is; it is never changed here. The course says what will
be done: sound shells go with a condemned one of their set, one repair size serves a whole set, and work on
one part renews what must match it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from advisor.sheets.bench import Bench
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import ANSWERS
from advisor.verdicts.model import Course, CourseGround, Verdict
from advisor.verdicts.words import plain


def with_courses(verdicts: tuple[Verdict, ...], bench: Bench, ruleset: RuleSet) -> tuple[Verdict, ...]:
    """The same verdicts, each with its course."""
    courses = {index: verdict.course for index, verdict in enumerate(verdicts)}
    _risks(courses, verdicts, bench)
    _one_size(courses, verdicts, bench)
    _renewed_to_match(courses, verdicts, bench, ruleset)
    _whole_sets(courses, verdicts, bench, ruleset)
    _parts_of_a_whole(courses, verdicts, bench, ruleset)
    return tuple(
        verdict if courses[index] is verdict.course else replace(verdict, course=courses[index])
        for index, verdict in enumerate(verdicts)
    )


def _harsher(courses: Mapping[int, Course], index: int, answer: str) -> bool:
    """Whether `answer` goes further than the course so far; an open course gives way to any."""
    now = courses[index].answer
    return now == "undecided" or ANSWERS.index(answer) > ANSWERS.index(now)


def _one_size(courses: dict[int, Course], verdicts: tuple[Verdict, ...], bench: Bench) -> None:
    """One repair size for a set: what one needs, its fellows of the same kind get as well."""
    for groups in bench.sets.values():
        for group in groups:
            for leader in group:
                for operation in verdicts[leader].operations:
                    if not operation.sizes:
                        continue
                    size = " to ".join(dict.fromkeys((operation.sizes[0], operation.sizes[-1])))
                    courses[leader] = replace(courses[leader], size=size)
                    for index in group:
                        same = bench.items[index].key.kind == bench.items[leader].key.kind
                        if same and index != leader and _harsher(courses, index, "recondition"):
                            courses[index] = Course(
                                "recondition",
                                _set_ground(verdicts[index]),
                                f"one size for the set: {operation.says} for {_name(verdicts[leader])}",
                                size,
                            )


def _renewed_to_match(
    courses: dict[int, Course], verdicts: tuple[Verdict, ...], bench: Bench, ruleset: RuleSet
) -> None:
    """Parts that must match the work on another are renewed, in the size that it comes to."""
    vocabulary = ruleset.vocabulary
    work = [
        (index, operation.operation)
        for index, verdict in enumerate(verdicts)
        for operation in verdict.operations
    ]
    for index, name in work:
        group = {index}
        if vocabulary.operations[name].repair_size:
            kind = bench.items[index].key.kind
            group |= {
                other
                for groups in bench.sets.values()
                for each in groups
                if index in each
                for other in each
                if bench.items[other].key.kind == kind
            }
        for relation, kind in vocabulary.operations[name].renews.items():
            for member in sorted(group):
                for linked in bench.links.get(relation, {}).get(member, ()):
                    if bench.items[linked].key.kind != kind:
                        continue
                    size = courses[member].size
                    label = vocabulary.operations[name].label
                    because = f"{_name(verdicts[member])}: {label}"
                    if _harsher(courses, linked, "replace"):
                        courses[linked] = Course("replace", "follows from another decision", because, size)
                    elif courses[linked].answer == "replace" and not courses[linked].size:
                        courses[linked] = replace(courses[linked], size=size)


def _whole_sets(
    courses: dict[int, Course], verdicts: tuple[Verdict, ...], bench: Bench, ruleset: RuleSet
) -> None:
    """A set that is only renewed whole follows its first condemned member."""
    for name, groups in bench.sets.items():
        each = ruleset.vocabulary.sets[name]
        if not each.whole:
            continue
        for group in groups:
            condemned = [index for index in group if verdicts[index].verdict == "replace"]
            if not condemned:
                continue
            for index in group:
                if _harsher(courses, index, "replace"):
                    courses[index] = Course(
                        "replace",
                        _set_ground(verdicts[index]),
                        f"{each.label}: {each.because} ({_name(verdicts[condemned[0]])} is condemned)",
                        courses[index].size,
                    )


def _risks(courses: dict[int, Course], verdicts: tuple[Verdict, ...], bench: Bench) -> None:
    """Where nothing more can be looked at, somebody may take the risk by name."""
    for index, risk in bench.risks.items():
        verdict = verdicts[index]
        if verdict.verdict == "undecided" and not verdict.asks and risk.answer in verdict.possible:
            courses[index] = Course(risk.answer, "risk taken by name", f"{risk.by}: {risk.because}")


def _parts_of_a_whole(
    courses: dict[int, Course], verdicts: tuple[Verdict, ...], bench: Bench, ruleset: RuleSet
) -> None:
    """A whole that is replaced takes its parts with it; while it is open, no work on them is begun."""
    for name, relation in ruleset.vocabulary.relations.items():
        if not relation.whole:
            continue
        for index, linked in bench.links.get(name, {}).items():
            for whole in linked:
                if courses[whole].answer == "replace" and _harsher(courses, index, "replace"):
                    because = f"{_name(verdicts[whole])} is replaced, and this with it"
                    courses[index] = Course("replace", "follows from another decision", because)
                elif courses[whole].answer == "undecided" and courses[index].answer == "recondition":
                    waits = f"not to be begun while {_name(verdicts[whole])} is undecided"
                    because = "; ".join(filter(None, (courses[index].because, waits)))
                    courses[index] = replace(courses[index], because=because, held=True)


def _set_ground(verdict: Verdict) -> CourseGround:
    return "goes with its set, itself sound" if verdict.verdict == "reuse" else "goes with its set"


def _name(verdict: Verdict) -> str:
    return f"{plain(verdict.part)} {verdict.place}".strip()
