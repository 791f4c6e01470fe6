"""The readings of one kind on one item: repeated ones combined, blades read, sizes brought to 20 °C.

Readings that cannot all be right are not averaged. Two readings of one spot lie no further apart than
twice the greatest error of one; where they do, none of them counts. The same goes for one position that
lies a turn of the instrument's screw away from all the others, unless it was read twice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Final

from advisor.gauging.errors import Errors, either_way, errors_of, setter_of, warmth
from advisor.gauging.measure import Part, Taken
from advisor.sheets.bench import Read
from advisor.sheets.ruleset_files import Instrument
from advisor.sheets.vocabulary import ReadingKind
from advisor.units import Quantity, typed_step

SLACK: Final = Decimal("0.2")
"""How far from a whole turn, as a share of it, a reading may lie and still be one that slipped."""

_NOTHING: Final[Mapping[str, tuple[Part, ...]]] = {}


@dataclass(frozen=True, slots=True)
class Slip:
    """Positions that lie a turn of the screw from all the others, the fewer of the two groups."""

    positions: tuple[str, ...]
    turn: Quantity
    alike: bool = False
    """Whether the others are as many, so that nobody can say which of the two are right."""


def take(
    read: Read, kind: ReadingKind, positions: Sequence[str], instruments: Mapping[str, Instrument]
) -> Taken:
    """The readings with their errors; see `errors.errors_of` for whose errors these are.

    Where they contradict one another there are no values, and `Taken.wrong` says why.
    """
    missing = tuple(position for position in positions if position not in read.values)
    plain = errors_of(read, kind, instruments)
    typed = {position: plain.typed_to(_step(read, position)) for position in read.values}
    # Most sets are typed alike; then one set of errors serves every position.
    errors, uneven = plain, False
    for each in typed.values():
        if each is not errors:
            uneven = len(typed) > 1
            errors = max(errors, each, key=_coarseness)
    uneven = uneven and any(each is not errors for each in typed.values())
    rest = read.state or "not looked at"
    wrong = _apart(read, errors) if _repeated(read) else ""
    slip = None
    if not wrong and len(read.values) > 1:
        slip = slip_of(read, turns_of(read, kind, instruments))
    if slip is not None:
        wrong = f"{_at(', '.join(slip.positions))}one turn of the screw from the others"
    if wrong:
        return Taken({}, errors.bound, tuple(positions), "contradictory", wrong=wrong, whose=kind.label)
    values = {
        position: each[0].value if len(each) == 1 else _mean(each) for position, each in read.values.items()
    }
    own, common, special = errors.once, errors.common, _NOTHING
    if read.intervals or _repeated(read):
        spread = _repeatability(read, values, errors)
        own = errors.own if spread is None else (*errors.own, spread)
        special = _special(read, typed, spread)
    elif uneven:
        special = {position: each.once for position, each in typed.items() if each is not errors}
    warm = warmth(read, kind, instruments)
    if warm is not None:
        common += warm.of(max(values.values(), key=abs))
        values = {position: value * warm.factor for position, value in values.items()}
    return Taken(
        values,
        errors.bound
        if own is errors.once and common is errors.common
        else sum((each.bound for each in (*own, *common)), Decimal(0)),
        missing,
        rest,
        own,
        common,
        special,
        tuple(position for position, each in read.intervals.items() if each.open),
        whose=kind.label,
    )


_FURTHEST_FROM_SIZE: Final = Decimal("0.05")
"""Share of its size beyond which a wear is a slipped figure: no engine runs so far."""

_THIN: Final = Decimal("0.5")
"""In mm: what a washer, a shell or the lift of a lobe may lose, though it is more than that share of it. None
of them comes in repair sizes, so the size that it had is not in question (common practice, no source)."""


def believable(
    wear: Decimal, size: Decimal, error: Decimal, tolerance: Decimal | None = None, *, resized: bool = True
) -> bool:
    """Whether a part can have worn by `wear` from `size`.

    A new part may be off its size by its own tolerance (a thousandth of the size where none is given) and a
    reading by its error. More than both on the far side, or a wear larger than any, and the figure, or the
    size that the part is said to have had, was written down wrongly. `resized` says that it comes in repair
    sizes, one of which it may have had.
    """
    allowed = size / 1000 if tolerance is None else tolerance
    return -(error + allowed) <= wear <= most_wear(size, resized=resized)


def most_wear(size: Decimal, *, resized: bool) -> Decimal:
    """The most that a part of some size, in mm, can have worn and still be on the bench."""
    share = size * _FURTHEST_FROM_SIZE
    return share if resized else max(share, _THIN)


def turns_of(read: Read, kind: ReadingKind, instruments: Mapping[str, Instrument]) -> list[Quantity]:
    """By how much a reading slips when a turn is miscounted, on the instrument or on what set it."""
    names = [read.instrument] if read.instrument is not None else kind.instruments
    turns: list[Quantity] = []
    for name in names:
        instrument = instruments[name]
        turns += instrument.turns
        if read.set_with is not None:
            turns += instruments[read.set_with.instrument].turns
        elif (setter := setter_of(instrument, read, instruments)) is not None:
            turns += setter.turns
    return turns


def slipped(difference: Decimal, turns: Sequence[Quantity]) -> Quantity | None:
    """The turn that a difference is as good as equal to, either way."""
    near = [each for each in turns if abs(abs(difference) - each.value) <= each.value * SLACK]
    return min(near, key=lambda each: abs(abs(difference) - each.value), default=None)


def slip_of(read: Read, turns: Sequence[Quantity]) -> Slip | None:
    """Positions that lie a turn from all the others, where both groups agree among themselves.

    A group that was read a second time, everywhere, is believed.
    """
    if not turns or len(read.values) <= 1:
        return None
    sizes = sorted((each[0].value, position) for position, each in read.values.items())
    if sizes[-1][0] - sizes[0][0] < min(each.value for each in turns) * (1 - SLACK):
        return None
    gaps = [(after[0] - before[0], index) for index, (before, after) in enumerate(pairwise(sizes), 1)]
    _, cut = max(gaps)
    low, high = sizes[:cut], sizes[cut:]
    middles = [(group[0][0] + group[-1][0]) / 2 for group in (low, high)]
    turn = slipped(middles[1] - middles[0], turns)
    if turn is None or any(group[-1][0] - group[0][0] > turn.value * SLACK for group in (low, high)):
        return None
    fewer = min(low, high, key=len)
    if all(len(read.values[position]) > 1 for _, position in fewer):
        return None
    named = {position for _, position in fewer}
    return Slip(tuple(each for each in read.values if each in named), turn, len(low) == len(high))


def middle_of(values: Sequence[Decimal]) -> Decimal:
    """The middle value, or the mean of the two that lie there."""
    ordered = sorted(values)
    half, odd = divmod(len(ordered), 2)
    return ordered[half] if odd else (ordered[half - 1] + ordered[half]) / 2


def _repeated(read: Read) -> bool:
    return max(map(len, read.values.values()), default=0) > 1


def _apart(read: Read, errors: Errors) -> str:
    """Which repeated readings lie further apart than the instrument allows, in words."""
    for position, each in read.values.items():
        sizes = [one.value for one in each]
        if len(sizes) > 1 and max(sizes) - min(sizes) > 2 * errors.bound:
            low, high = (pick(each, key=lambda one: one.value) for pick in (min, max))
            return f"{_at(position)}{low.text} and {high.text} cannot both be right"
    return ""


def _repeatability(read: Read, values: Mapping[str, Decimal], errors: Errors) -> Part | None:
    """The repeatability of one reading: what the instrument is known for, or what was seen, if it is more.

    What was seen at all positions together counts (a pooled variance), since at one position two readings
    may agree by chance.
    """
    squares, freedom = Decimal(0), 0
    lowest: Decimal | None = None
    widest = Decimal(0)
    for position, each in read.values.items():
        if len(each) > 1:
            squares += sum(((one.value - values[position]) ** 2 for one in each), Decimal(0))
            freedom += len(each) - 1
            sizes = [one.value for one in each]
            widest = max(widest, max(sizes) - min(sizes))
            lowest = Decimal(0)
    known = errors.repeatability
    if lowest is None:
        return known
    seen = squares / freedom
    if known is not None and known.variance >= seen:
        return known
    if not seen:
        return None
    return Part("repeatability", seen, widest / 2, how=f"seen, freedom {freedom}", freedom=freedom)


def _special(read: Read, typed: Mapping[str, Errors], spread: Part | None) -> dict[str, tuple[Part, ...]]:
    """By position: what errs there, where that is its own; it was read several times, or with blades."""
    special: dict[str, tuple[Part, ...]] = {}
    for position, each in read.values.items():
        errors = typed[position]
        if spread is None or len(each) == 1:
            special[position] = errors.own if spread is None else (*errors.own, spread)
        else:
            mean = Part(
                f"repeatability, mean of {len(each)}",
                spread.variance / len(each),
                spread.bound,
                how=spread.how,
                freedom=spread.freedom,
            )
            special[position] = (*errors.own, mean)
    for position, interval in read.intervals.items():
        errors = typed[position]
        # The step between the blades is told, so it stands in place of the usual one.
        blades = [either_way("step between two blades", interval.half)] if interval.half else []
        if errors.blade is not None:
            blades.append(either_way("thickness of a blade", errors.blade))
        special[position] = tuple(blades) or errors.own
    return special


def _coarseness(errors: Errors) -> Decimal:
    return errors.step


def _step(read: Read, position: str) -> Decimal | None:
    """The coarsest step to which the readings at a position were typed; blades have one of their own."""
    if position in read.intervals:
        return None
    values = read.values[position]
    if len(values) == 1:
        return typed_step(values[0].text)
    steps = [typed_step(each.text) for each in values]
    return max((each for each in steps if each is not None), default=None)


def _mean(values: Sequence[Quantity]) -> Decimal:
    return sum((each.value for each in values), Decimal(0)) / len(values)


def _at(position: str) -> str:
    return f"at {position}, " if position else ""
