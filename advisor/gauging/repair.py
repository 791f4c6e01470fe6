"""Repair sizes: which listed size cleans up a whole set, as a band where the worn side is not known.

A grinder and a boring bar work on the part's original axis. Where all of a wear w lies on one side, the
surface only cleans up at nominal less 2 w; two-point diameters cannot tell. So the size is a band from w
to 2 w, until somebody has set the part up and indicated it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from advisor.gauging.measure import believable, take
from advisor.sheets.bench import Bench, BenchItem
from advisor.sheets.engine import EngineSheet, RepairSizes
from advisor.sheets.ruleset import RuleSet


@dataclass(frozen=True, slots=True)
class RepairBand:
    """What an operation would come to for one set of items.

    `steps` are the repair sizes from the one that suffices if wear is even all round to the one that is
    needed if it is all on one side (differences from new, in mm); empty where not even the first exists.
    `possible` is True where the last of them exists too, False where none serves, None where it hangs on
    the worn side or on items of the set that nobody measured.
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


def repair_bands(bench: Bench, sheet: EngineSheet, ruleset: RuleSet) -> list[RepairBand]:
    """A band for every set of items and every operation that the engine sheet lists sizes for."""
    bands = []
    for kind, part in sheet.parts.items():
        for sizes in part.repair_sizes:
            for group in _groups(bench, kind):
                bands.append(_band(bench, group, kind, part.new[sizes.size].value, sizes, ruleset))
    return bands


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


def _band(
    bench: Bench, group: tuple[int, ...], kind: str, new: Decimal, sizes: RepairSizes, ruleset: RuleSet
) -> RepairBand:
    under = sizes.steps[0].value < 0
    sign = -1 if under else 1
    steps = sorted((step.value for step in sizes.steps), key=abs)
    if sizes.furthest is not None:
        steps = [step for step in steps if (new + step - sizes.furthest.value) * sign <= 0]
    even: list[tuple[Decimal, int]] = []
    one_sided: list[tuple[Decimal, int]] = []
    missing = []
    for index in group:
        need = _need(bench.items[index], new, sign, sizes, ruleset)
        if need is None:
            missing.append(index)
        else:
            even.append((need[0], index))
            one_sided.append((need[1], index))
    if not even:
        return RepairBand(sizes.operation, kind, sizes.size, group, (), None, tuple(missing), None)
    least, _ = max(even)
    most, worst = max(one_sided)
    first = _reaching(steps, least)
    last = _reaching(steps, most)
    if first is None:
        return RepairBand(sizes.operation, kind, sizes.size, group, (), False, tuple(missing), worst)
    band = tuple(
        step for step in steps if abs(first) <= abs(step) <= abs(last if last is not None else steps[-1])
    )
    possible = True if last is not None and not missing else None
    return RepairBand(sizes.operation, kind, sizes.size, group, band, possible, tuple(missing), worst)


def _need(
    item: BenchItem, new: Decimal, sign: int, sizes: RepairSizes, ruleset: RuleSet
) -> tuple[Decimal, Decimal] | None:
    """How far from new the surface must go: if worn evenly, and if all on one side; None if not known."""
    indicated = item.cleans_up.get(sizes.operation)
    if indicated is not None:
        exact = (indicated - new) * sign
        return exact, exact
    read = item.readings.get(sizes.size)
    if read is None or not read.values:
        return None
    worked = read.moment == "after machining" and sizes.size in item.worked
    had = item.worked[sizes.size] if worked else item.found_size
    if had is None:
        return None
    kind = ruleset.vocabulary.readings[sizes.size]
    taken = take(read, kind, kind.positions(), ruleset.instruments)
    if taken.missing:
        return None
    found = new + had
    extreme = max(taken.values.values(), key=lambda each: each * sign)
    wear = (extreme - found) * sign
    if not believable(wear, found, taken.limit_of_error):
        return None
    wear = max(wear, Decimal(0))
    start = (found - new) * sign
    stock = sizes.stock.value
    error = taken.limit_of_error
    return start + max(wear - error, Decimal(0)) + stock, start + 2 * (wear + error) + stock


def _reaching(steps: Sequence[Decimal], need: Decimal) -> Decimal | None:
    """The smallest step that goes far enough."""
    return next((step for step in steps if abs(step) >= need), None)
