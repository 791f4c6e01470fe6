"""The course for each item: its own verdict, or what follows from its set and from other parts' work.

A verdict says what may be done with an item as it is; it is never changed here. The course says what will
be done: sound shells go with a condemned one of their set, one repair size serves a whole set, and work on
one part renews what must match it.

What is replaced is settled first, wholes with their parts and sets with their members: no size is looked up
and nothing is ordered for work on a part that goes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from advisor.sheets.bench import Bench
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import ANSWERS
from advisor.verdicts.model import Course, CourseGround, Verdict
from advisor.verdicts.wholes import named, pieces


def with_courses(verdicts: tuple[Verdict, ...], bench: Bench, ruleset: RuleSet) -> tuple[Verdict, ...]:
    """The same verdicts, each with its course; what is replaced has no tasks left."""
    gone: dict[int, Course] = {}
    while True:
        courses = _Courses(verdicts, bench, ruleset, gone)
        courses.settle()
        # What work renews may in turn end other work: then all is settled again without that work.
        ended = {
            index: courses.of[index]
            for index in courses.worked_on
            if courses.of[index].answer == "replace" and index not in gone
        }
        if not ended:
            break
        gone |= ended
    return tuple(
        verdict
        if courses.of[index] is verdict.course
        else replace(
            verdict,
            course=courses.of[index],
            tasks=() if courses.of[index].answer == "replace" else verdict.tasks,
        )
        for index, verdict in enumerate(verdicts)
    )


class _Courses:
    """The courses of one case while they are being settled; they only ever get harsher."""

    def __init__(
        self, verdicts: tuple[Verdict, ...], bench: Bench, ruleset: RuleSet, gone: dict[int, Course]
    ) -> None:
        self.of = {index: verdict.course for index, verdict in enumerate(verdicts)} | gone
        self.worked_on: set[int] = set()
        """Items whose work something else has been renewed for."""
        self._verdicts = verdicts
        self._bench = bench
        self._vocabulary = ruleset.vocabulary
        self._pieces = pieces(bench, ruleset)

    def settle(self) -> None:
        """Settle every course."""
        self._risks()
        self._replaced()
        self._one_size()
        self._held_by_wholes()
        self._renewed_to_match()
        self._replaced()

    def _harsher(self, index: int, answer: str) -> bool:
        """Whether `answer` goes further than the course so far; an open course gives way to any."""
        now = self.of[index].answer
        return now == "undecided" or ANSWERS.index(answer) > ANSWERS.index(now)

    def _risks(self) -> None:
        """Where nothing more can be looked at, somebody may take the risk by name."""
        for index, risk in self._bench.risks.items():
            verdict = self._verdicts[index]
            open_yet = verdict.verdict == "undecided" and self.of[index].answer == "undecided"
            if open_yet and not verdict.asks and risk.answer in verdict.possible:
                self.of[index] = Course(risk.answer, "risk taken by name", f"{risk.by}: {risk.because}")

    def _replaced(self) -> None:
        """What goes with something that is replaced, until nothing more follows."""
        while self._wholes() | self._whole_sets():
            pass

    def _replace(self, index: int, ground: CourseGround, because: str) -> bool:
        if not self._harsher(index, "replace"):
            return False
        self.of[index] = Course("replace", ground, because)
        return True

    def _wholes(self) -> bool:
        """A part that cannot be renewed by itself takes its whole along, and a whole takes its parts."""
        changed = False
        for whole, parts in self._pieces.items():
            for piece in parts:
                if piece.sure and self.of[piece.item].answer == "replace":
                    because = (
                        f"{named(self._verdicts[piece.item])} is replaced and cannot be renewed by itself"
                    )
                    changed |= self._replace(whole, "follows from another decision", because)
        for index, whole in self._parts_and_wholes():
            if self.of[whole].answer == "replace":
                because = f"{named(self._verdicts[whole])} is replaced, and this with it"
                changed |= self._replace(index, "follows from another decision", because)
        return changed

    def _parts_and_wholes(self) -> Iterator[tuple[int, int]]:
        for name, relation in self._vocabulary.relations.items():
            if relation.whole:
                for index, linked in self._bench.links.get(name, {}).items():
                    yield from ((index, whole) for whole in linked)

    def _whole_sets(self) -> bool:
        """A set that is only renewed whole follows its first member that is replaced, whatever the reason."""
        changed = False
        for name, groups in self._bench.sets.items():
            each = self._vocabulary.sets[name]
            if not each.whole:
                continue
            for group in groups:
                leaving = [index for index in group if self.of[index].answer == "replace"]
                if not leaving:
                    continue
                first = next((i for i in leaving if self._verdicts[i].verdict == "replace"), leaving[0])
                does = "condemned" if self._verdicts[first].ground == "condemned" else "replaced"
                because = f"{each.label}: {each.because} ({named(self._verdicts[first])} is {does})"
                for index in group:
                    changed |= self._replace(index, self._set_ground(index), because)
        return changed

    def _one_size(self) -> None:
        """One repair size for a set: what one needs, its fellows of the same kind get as well."""
        for groups in self._bench.sets.values():
            for group in groups:
                for leader in group:
                    if self.of[leader].answer != "recondition":
                        continue
                    for operation in self._verdicts[leader].operations:
                        if operation.sizes:
                            self._size_for(group, leader, operation.says, operation.sizes)

    def _size_for(self, group: tuple[int, ...], leader: int, says: str, sizes: tuple[str, ...]) -> None:
        size = " to ".join(dict.fromkeys((sizes[0], sizes[-1])))
        self.of[leader] = replace(self.of[leader], size=size)
        because = f"one size for the set: {says} for {named(self._verdicts[leader])}"
        for index in self._fellows(group, leader):
            if index != leader and self._harsher(index, "recondition"):
                self.of[index] = Course("recondition", self._set_ground(index), because, size)

    def _fellows(self, group: tuple[int, ...], leader: int) -> list[int]:
        items = self._bench.items
        return [index for index in group if items[index].key.kind == items[leader].key.kind]

    def _held_by_wholes(self) -> None:
        """While a whole is open, no work on its parts is begun."""
        for index, whole in self._parts_and_wholes():
            if self.of[whole].answer == "undecided" and self.of[index].answer == "recondition":
                self._hold(index, f"not to be begun while {named(self._verdicts[whole])} is undecided")

    def _hold(self, index: int, because: str) -> None:
        told = self.of[index].because
        if because not in told:
            told = "; ".join(filter(None, (told, because)))
        self.of[index] = replace(self.of[index], because=told, held=True)

    def _renewed_to_match(self) -> None:
        """Parts that must match the work on another are renewed, in the size that it comes to.

        Only work that will be done counts. What waits for a size that is not settled, or for work that is
        held, is not ordered before that.
        """
        for index, verdict in enumerate(self._verdicts):
            if self.of[index].answer != "recondition":
                continue
            for operation in verdict.operations:
                for member in self._worked_alike(index, operation.operation):
                    self._renew_for(member, index, operation.operation)

    def _worked_alike(self, index: int, operation: str) -> list[int]:
        """The item, and those of its set that are brought to the same size with it."""
        group = {index}
        if self._vocabulary.operations[operation].repair_size:
            for groups in self._bench.sets.values():
                for each in groups:
                    if index in each:
                        group.update(self._fellows(each, index))
        return [each for each in sorted(group) if self.of[each].answer == "recondition"]

    def _renew_for(self, member: int, leader: int, name: str) -> None:
        """Renew what must match the work that `leader` needs, done on `member`."""
        operation = self._vocabulary.operations[name]
        waits = self.of[member].held or bool(self._verdicts[leader].held)
        because = f"{named(self._verdicts[member])}: {operation.label}"
        for relation, kind in operation.renews.items():
            for linked in self._bench.links.get(relation, {}).get(member, ()):
                if self._bench.items[linked].key.kind != kind:
                    continue
                self.worked_on |= {leader, member}
                size = self.of[member].size
                if self._harsher(linked, "replace"):
                    self.of[linked] = Course("replace", "follows from another decision", because, size)
                elif not self.of[linked].size:
                    self.of[linked] = replace(self.of[linked], size=size)
                if waits:
                    self._hold(linked, f"order after the work on {named(self._verdicts[leader])} is settled")

    def _set_ground(self, index: int) -> CourseGround:
        sound = self._verdicts[index].verdict == "reuse"
        return "goes with its set, itself sound" if sound else "goes with its set"
