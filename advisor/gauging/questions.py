"""Readings that cannot be right, or hardly: one turn of the screw off, asked about before anybody acts.

A micrometer has a screw of 0.50 mm or 0.025 in to the turn, and a turn is easily miscounted. A shaft that
measures half a millimetre under new may also have been ground to just that size; then its stamp tells.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from advisor.gauging.readings import middle_of, slip_of, slipped, turns_of
from advisor.sheets.bench import BenchItem
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.units import Quantity, show

CANNOT_BE_RIGHT = "that cannot be right"


@dataclass(frozen=True, slots=True)
class Question:
    """A reading that is questioned, what is odd about it, and what to do."""

    reading: str
    positions: tuple[str, ...]
    says: str
    do: str
    stamp: bool = False
    """It may be a repair size that nobody has read: the stamp tells."""


def questions_of(item: BenchItem, sheet: EngineSheet, ruleset: RuleSet) -> Iterator[Question]:
    """What is to be asked of the readings of one item."""
    for name, read in item.readings.items():
        kind = ruleset.vocabulary.readings[name]
        if not read.values or kind.quantity != "length":
            continue
        turns = turns_of(read, kind, ruleset.instruments)
        if not turns:
            continue
        slip = slip_of(read, turns)
        if slip is not None:
            told = ", ".join(f"{each} ({read.values[each][0].text})" for each in slip.positions)
            others = "as many others, and one of the two is wrong" if slip.alike else "the other positions"
            yield Question(
                name,
                slip.positions,
                f"{CANNOT_BE_RIGHT}: {kind.label} at {told} is one turn of the screw ({slip.turn.text}) "
                f"from {others}",
                "look at the lines of the sleeve and read them again; if it is so, write both readings: "
                "[first, second]",
            )
            continue
        question = _from_the_size_it_had(item, name, kind.label, sheet, turns)
        if question is not None:
            yield question


def _from_the_size_it_had(
    item: BenchItem, name: str, label: str, sheet: EngineSheet, turns: Sequence[Quantity]
) -> Question | None:
    part = sheet.parts[item.key.kind]
    new = part.new.get(name)
    if new is None:
        return None
    read = item.readings[name]
    middle = middle_of([each[0].value for each in read.values.values()])
    off = middle - (new.value + (item.found_size or Decimal(0)))
    turn = slipped(off, turns)
    if turn is None:
        return None
    had = "new" if item.found_size is None else "the size that it arrived with"
    says = (
        f"{label} is about {show(middle, 'length', system=sheet.units)}, one turn of the screw ({turn.text}) "
        f"{'above' if off > 0 else 'below'} {had}"
    )
    positions = tuple(read.values)
    step = _step_at(item, name, sheet, middle, turn)
    if step is not None:
        return Question(
            name,
            positions,
            f"{says}; {step} is a repair size too",
            "read the stamp on it, or on what was fitted to it, and write it under found_sizes",
            stamp=True,
        )
    return Question(
        name,
        positions,
        f"{CANNOT_BE_RIGHT}: {says}",
        "set the instrument to its gauge again and read it once more",
    )


def _step_at(item: BenchItem, name: str, sheet: EngineSheet, middle: Decimal, turn: Quantity) -> str | None:
    """The listed repair size, or standard, that a size is as good as equal to, as it is called."""
    part = sheet.parts[item.key.kind]
    steps = [step for each in part.repair_sizes if each.size == name for step in each.steps]
    if not steps:
        return None
    near = [(abs(middle - part.new[name].value - step.value), step.text) for step in steps]
    near.append((abs(middle - part.new[name].value), "standard"))
    apart, text = min(near)
    return text if slipped(turn.value + apart, [turn]) is not None else None
