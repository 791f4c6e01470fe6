"""The readings of one kind on one item: repeated ones combined, blades read, sizes brought to 20 °C.

Readings that cannot all be right are not averaged. Two readings of one spot lie no further apart than
twice the greatest error of one; where they do, none of them counts. The same goes for one position that
lies a turn of the instrument's screw away from all the others, unless it was read twice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from advisor.gauging.errors import Errors, either_way, errors_of, warmth
from advisor.gauging.measure import Part, Taken
from advisor.sheets.bench import Read
from advisor.sheets.ruleset_files import Instrument
from advisor.sheets.vocabulary import ReadingKind
from advisor.units import Quantity

SLACK: Final = Decimal("0.2")
"""How far from a whole turn, as a share of it, a reading may lie and still be one that slipped."""

_NOTHING: Final[Mapping[str, tuple[Part, ...]]] = {}

_FEWEST_OTHERS: Final = 2
"""Positions that must agree before another one is held against them."""


@dataclass(frozen=True, slots=True)
class Slip:
    """One position that lies a turn of the screw from all the others."""

    position: str
    turn: Quantity


def take(
    read: Read, kind: ReadingKind, positions: Sequence[str], instruments: Mapping[str, Instrument]
) -> Taken:
    """The readings with their errors; see `errors.errors_of` for whose errors these are.

    Where they contradict one another there are no values, and `Taken.wrong` says why.
    """
    missing = tuple(position for position in positions if position not in read.values)
    errors = errors_of(read, kind, instruments)
    rest = read.state or "not looked at"
    wrong = _apart(read, errors) if _repeated(read) else ""
    slip = slip_of(read, turns_of(read, kind, instruments)) if not wrong else None
    if slip is not None:
        wrong = f"{_at(slip.position)}one turn of the screw from the others"
    if wrong:
        return Taken({}, errors.bound, tuple(positions), "contradictory", wrong=wrong, whose=kind.label)
    values = {
        position: each[0].value if len(each) == 1 else _mean(each) for position, each in read.values.items()
    }
    own, common, special = errors.once, errors.common, _NOTHING
    if read.intervals or _repeated(read):
        spread = _repeatability(read, values, errors)
        own = errors.own if spread is None else (*errors.own, spread)
        special = _special(read, errors, spread)
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


def believable(wear: Decimal, size: Decimal, error: Decimal, tolerance: Decimal | None = None) -> bool:
    """Whether a part can have worn by `wear` from `size`.

    A new part may be off its size by its own tolerance (a thousandth of the size where none is given) and a
    reading by its error. More than both on the far side, or a wear larger than any, and the figure, or the
    size that the part is said to have had, was written down wrongly.
    """
    allowed = size / 1000 if tolerance is None else tolerance
    return -(error + allowed) <= wear <= size * _FURTHEST_FROM_SIZE


def turns_of(read: Read, kind: ReadingKind, instruments: Mapping[str, Instrument]) -> list[Quantity]:
    """By how much a reading slips when a turn is miscounted, on the instrument or on what set it."""
    names = [read.instrument] if read.instrument is not None else kind.instruments
    turns: list[Quantity] = []
    for name in names:
        instrument = instruments[name]
        turns += instrument.turns
        setter = read.set_with.instrument if read.set_with is not None else instrument.set_with
        if setter is not None:
            turns += instruments[setter].turns
    return turns


def slipped(difference: Decimal, turns: Sequence[Quantity]) -> Quantity | None:
    """The turn that a difference is as good as equal to, either way."""
    near = [each for each in turns if abs(abs(difference) - each.value) <= each.value * SLACK]
    return min(near, key=lambda each: abs(abs(difference) - each.value), default=None)


def slip_of(read: Read, turns: Sequence[Quantity]) -> Slip | None:
    """The one position, read once, that lies a turn from all the others, which agree among themselves."""
    if not turns or len(read.values) <= _FEWEST_OTHERS:
        return None
    firsts = [each[0].value for each in read.values.values()]
    if max(firsts) - min(firsts) < min(each.value for each in turns) * (1 - SLACK):
        return None
    sizes = sorted((each[0].value, position) for position, each in read.values.items())
    # Only the smallest or the largest can stand alone.
    for (odd, position), others in ((sizes[0], sizes[1:]), (sizes[-1], sizes[:-1])):
        low, high = others[0][0], others[-1][0]
        turn = slipped((low + high) / 2 - odd, turns)
        if turn is not None and high - low <= turn.value * SLACK and len(read.values[position]) == 1:
            return Slip(position, turn)
    return None


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


def _special(read: Read, errors: Errors, spread: Part | None) -> dict[str, tuple[Part, ...]]:
    """By position: what errs there, where it was read several times or with blades."""
    special: dict[str, tuple[Part, ...]] = {}
    for position, each in read.values.items():
        if len(each) > 1 and spread is not None:
            mean = Part(
                f"repeatability, mean of {len(each)}",
                spread.variance / len(each),
                spread.bound,
                how=spread.how,
                freedom=spread.freedom,
            )
            special[position] = (*errors.own, mean)
    for position, interval in read.intervals.items():
        # The step between the blades is told, so it stands in place of the usual one.
        blades = [either_way("step between two blades", interval.half)] if interval.half else []
        if errors.blade is not None:
            blades.append(either_way("thickness of a blade", errors.blade))
        special[position] = tuple(blades) or errors.own
    return special


def _mean(values: Sequence[Quantity]) -> Decimal:
    return sum((each.value for each in values), Decimal(0)) / len(values)


def _at(position: str) -> str:
    return f"at {position}, " if position else ""
