"""Repair sizes: which listed size cleans up a whole set, as a band where the worn side is not known.

A grinder and a boring bar work on the part's original axis. Where all of a wear w lies on one side, the
surface only cleans up at nominal less 2 w, less the run-out that the same cut takes out; two-point
diameters cannot tell. So the size is a band from w to 2 w, until somebody has set the part up and
indicated it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from advisor.gauging.limits import resolve
from advisor.gauging.measure import Taken
from advisor.gauging.readings import believable, take
from advisor.sheets.bench import Bench, BenchItem
from advisor.sheets.engine import EngineSheet, RepairSizes
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.work import Wall


@dataclass(frozen=True, slots=True)
class RepairBand:
    """What an operation would come to for one set of items.

    `steps` are the repair sizes from the one that suffices if wear is even all round to the one that is
    needed if it is all on one side (differences from new, in mm); empty where not even the first exists.
    `possible` is True where the last of them exists too, False where none serves, None where it hangs on
    the worn side, on items of the set that nobody measured, or on a wall.
    """

    operation: str
    kind: str
    reading: str
    """The reading that tells the size."""
    items: tuple[int, ...]
    steps: tuple[Decimal, ...]
    possible: bool | None
    missing: tuple[int, ...]
    """Items whose size or found size is not known."""
    worst: int | None
    """The item that decides the size."""
    walls: tuple[int, ...] = ()
    """Items of which nobody can say whether the wall stands all of `steps`."""
    wall: str = ""
    """The reading that would tell, where the engine sheet asks for a wall."""
    needs: tuple[Decimal, Decimal] | None = None
    """How far from new the set must go, in mm: with even wear, and with wear on one side; None for
    nothing measured."""
    run_outs: tuple[int, ...] = ()
    """Items whose run-out nobody measured, and might move the size; `steps` go as far as it may be."""
    run_out: str = ""
    """The reading that would tell."""


def repair_bands(bench: Bench, sheet: EngineSheet, ruleset: RuleSet) -> list[RepairBand]:
    """A band for every set of items and every operation that the engine sheet lists sizes for."""
    bands = []
    for kind, part in sheet.parts.items():
        for sizes in part.repair_sizes:
            sizing = _Sizing(
                bench, part.new[sizes.size].value, sizes, ruleset, most_run_out(sheet, sizes, ruleset)
            )
            bands += [sizing.band(group, kind) for group in _groups(bench, kind)]
    return bands


def most_run_out(sheet: EngineSheet, sizes: RepairSizes, ruleset: RuleSet) -> Decimal | None:
    """The run-out at which a shaft is thrown away, in mm: one that is ground has less. None if not given."""
    if sizes.run_out is None:
        return None
    for kind in sizes.run_out.on.values():
        for name, dimension in ruleset.vocabulary.dimensions.items():
            reads = [formula.reading for formula in dimension.formulas]
            # A sheet may be of a part alone, without the shaft that it runs on.
            if kind in sheet.parts and kind in dimension.kinds and reads == [sizes.run_out.reading]:
                limit = resolve(sheet.parts[kind], kind, name, "discard", ruleset.limits)
                return None if limit is None else limit.at_most
    return None


def complete(item: BenchItem, reading: str, ruleset: RuleSet) -> Taken | None:
    """The readings of one kind on an item; None unless they were taken at every position."""
    read = item.readings.get(reading)
    if read is None or not read.values:
        return None
    kind = ruleset.vocabulary.readings[reading]
    taken = take(read, kind, kind.positions(), ruleset.instruments)
    return None if taken.missing or taken.wrong else taken


def _had(item: BenchItem, size: str) -> Decimal | None:
    """The repair size behind a reading: the one it arrived with, or what it was brought to since; in mm."""
    read = item.readings.get(size)
    worked = read is not None and read.moment == "after machining" and size in item.worked
    return item.worked[size] if worked else item.found_size


def wall_after(
    item: BenchItem, wall: Wall, size: str, new: Decimal, to: tuple[Decimal, Decimal], ruleset: RuleSet
) -> tuple[Decimal, Decimal] | None:
    """The least and the most that can be left of an item's thinnest wall, in mm, on its original axis.

    The hole, whose `size` is read and was `new`, is opened out to between the two diameters `to`. Half of
    what it gains comes off every side, less the wear that is gone there already, and nobody knows whether
    the thinnest side is the worn one. None where wall, hole or found size is not known.
    """
    metal, hole = complete(item, wall.reading, ruleset), complete(item, size, ruleset)
    had = _had(item, size)
    if metal is None or hole is None or had is None:
        return None
    found = new + had
    thinnest = min(metal.values.values())
    wear = max(max(hole.values.values()) + hole.limit_of_error - found, Decimal(0))
    least = thinnest - metal.limit_of_error - max(to[1] - found, Decimal(0)) / 2
    most = thinnest + metal.limit_of_error - max((to[0] - found) / 2 - wear, Decimal(0))
    return least, most


def enough(low: Decimal, high: Decimal, least: Decimal) -> bool | None:
    """Whether what lies from `low` to `high` is at least `least`; None where that cannot be told."""
    if low >= least:
        return True
    return False if high < least else None


def _groups(bench: Bench, kind: str) -> list[tuple[int, ...]]:
    """The items of a kind that come to one size together; without a set, each by itself."""
    grouped = [
        tuple(index for index in group if bench.items[index].key.kind == kind)
        for groups in bench.sets.values()
        for group in groups
    ]
    known = {index for group in grouped for index in group}
    alone = [(i,) for i, item in enumerate(bench.items) if item.key.kind == kind and i not in known]
    return [group for group in grouped if group] + alone


@dataclass(frozen=True)
class _Sizing:
    """One operation that goes to listed sizes, on one kind of part."""

    bench: Bench
    new: Decimal
    sizes: RepairSizes
    ruleset: RuleSet
    most_run_out: Decimal | None
    swings: dict[int, Decimal | None] = field(default_factory=dict)
    """Run-outs that have been read off already, by item: one shaft has many journals. None: not measured."""

    @property
    def sign(self) -> int:
        return -1 if self.sizes.steps[0].value < 0 else 1

    @property
    def _grade(self) -> Decimal:
        """By how much the furthest grade inside a repair size goes beyond that size."""
        return max((each.value * self.sign for each in self.sizes.grades if each.value * self.sign > 0),
                   default=Decimal(0))  # fmt: skip

    def band(self, group: tuple[int, ...], kind: str) -> RepairBand:
        even: list[tuple[Decimal, int]] = []
        one_sided: list[tuple[Decimal, int]] = []
        missing = []
        for index in group:
            need = self._need(index)
            if need is None:
                missing.append(index)
            else:
                even.append((need[0], index))
                one_sided.append((need[1], index))
        sizes = self.sizes
        name = sizes.wall.reading if sizes.wall is not None else ""
        if not even:
            return RepairBand(
                sizes.operation, kind, sizes.size, group, (), None, tuple(missing), None, wall=name
            )
        least, _ = max(even)
        most, worst = max(one_sided)
        steps, doubtful = self._steps(group)
        first, last = self._reaching(steps, least), self._reaching(steps, most)
        run_outs = self._unknown_run_outs([index for _, index in one_sided])
        if run_outs:
            furthest = self._bent(steps, one_sided, run_outs)
            if furthest is not None and furthest == last:
                run_outs = {}
            last = furthest
        band: tuple[Decimal, ...] = ()
        walls: tuple[int, ...] = ()
        possible: bool | None = False
        if first is not None:
            end = abs(last if last is not None else steps[-1])
            band = tuple(step for step in steps if abs(first) <= abs(step) <= end)
            walls = tuple(sorted({index for step in band for index in doubtful[step]}))
            possible = True if last is not None and not (missing or walls or run_outs) else None
        return RepairBand(
            sizes.operation,
            kind,
            sizes.size,
            group,
            band,
            possible,
            tuple(missing),
            worst,
            walls,
            name,
            (least, most),
            tuple(dict.fromkeys(each for found in run_outs.values() for each in found)) if band else (),
            "" if sizes.run_out is None else sizes.run_out.reading,
        )

    def _unknown_run_outs(self, items: Sequence[int]) -> dict[int, list[int]]:
        """By item that nobody has indicated: those whose run-out counts for it and was not measured."""
        found: dict[int, list[int]] = {}
        for index in items:
            if self.sizes.operation not in self.bench.items[index].cleans_up:
                untold = [each for each in self._swinging(index) if self.swings[each] is None]
                if untold:
                    found[index] = untold
        return found

    def _bent(
        self, steps: Sequence[Decimal], needs: Sequence[tuple[Decimal, int]], untold: Collection[int]
    ) -> Decimal | None:
        """The size that serves whatever the run-outs are that nobody told; None where none need serve."""
        if self.most_run_out is None:
            return None
        most = max(need + (self.most_run_out if index in untold else 0) for need, index in needs)
        return self._reaching(steps, most)

    def _steps(self, group: Sequence[int]) -> tuple[list[Decimal], dict[Decimal, list[int]]]:
        """The sizes that leave enough metal, the nearest first; by size, the items of doubtful wall."""
        sizes = self.sizes
        steps = sorted((step.value for step in sizes.steps), key=abs)
        if sizes.furthest is not None:
            steps = [step for step in steps if (self.new + step - sizes.furthest.value) * self.sign <= 0]
        doubtful: dict[Decimal, list[int]] = {step: [] for step in steps}
        if sizes.wall is None:
            return steps, doubtful
        kept = []
        for step in steps:
            states = {index: self._wall_stands(index, sizes.wall, step) for index in group}
            doubtful[step] = [index for index, state in states.items() if state is None]
            if False not in states.values():
                kept.append(step)
        return kept, doubtful

    def _wall_stands(self, index: int, wall: Wall, step: Decimal) -> bool | None:
        to = (self.new + step, self.new + step + self._grade)
        left = wall_after(self.bench.items[index], wall, self.sizes.size, self.new, to, self.ruleset)
        return None if left is None else enough(*left, wall.least.value)

    def _reaching(self, steps: Sequence[Decimal], need: Decimal) -> Decimal | None:
        """The smallest step that goes far enough, with the furthest grade inside it."""
        furthest = self.sizes.furthest
        end = None if furthest is None else abs(furthest.value - self.new)
        for step in steps:
            reach = abs(step) + self._grade
            if (reach if end is None else min(reach, end)) >= need:
                return step
        return None

    def _need(self, index: int) -> tuple[Decimal, Decimal] | None:
        """How far from new the surface must go: the least and the most that the readings leave open.

        The least is for wear that is even all round and for readings that err against the part, the most
        for wear on one side, run-out, and readings that err in its favour. None where it is not known.
        """
        item, sign, new = self.bench.items[index], self.sign, self.new
        indicated = item.cleans_up.get(self.sizes.operation)
        if indicated is not None:
            exact = (indicated - new) * sign
            return exact, exact
        taken = complete(item, self.sizes.size, self.ruleset)
        had = _had(item, self.sizes.size)
        if taken is None or had is None:
            return None
        found = new + had
        wear = max((value - found) * sign for value in taken.values.values())
        if not believable(wear, found, taken.limit_of_error):
            return None
        start = (found - new) * sign + self.sizes.stock.value
        least = max(wear - taken.limit_of_error, Decimal(0))
        most = max(wear + taken.limit_of_error, Decimal(0))
        return start + least, start + 2 * most + self._run_out(index)

    def _run_out(self, index: int) -> Decimal:
        """The run-out that the cut takes out as well, where it is known; its reading errs against the part.

        The swing of a whole shaft is read where it is largest, so at this place it may be nothing: it
        belongs to the far end of the band only.
        """
        swings = [self.swings[each] for each in self._swinging(index)]
        return max((each for each in swings if each is not None), default=Decimal(0))

    def _swinging(self, index: int) -> list[int]:
        """The items whose run-out counts for one; what they have of it is read into `swings`."""
        source = self.sizes.run_out
        if source is None:
            return []
        where = [index]
        for relation, kind in source.on.items():
            linked = self.bench.links.get(relation, {}).get(index, ())
            where = [each for each in linked if self.bench.items[each].key.kind == kind]
        for each in where:
            if each not in self.swings:
                taken = complete(self.bench.items[each], source.reading, self.ruleset)
                self.swings[each] = (
                    None if taken is None else max(taken.values.values()) + taken.limit_of_error
                )
        return where
