"""Readings that put one dimension of one item at a size that is wanted, all else as mild as it was."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Final

from advisor.authoring.trial import Changes, Spot, Yard
from advisor.authoring.trial_mild import PLAIN, PLAY, Reading
from advisor.authoring.trial_sizes import last_place, scale_of
from advisor.gauging.spread import square
from advisor.sheets.conditions import Outcome
from advisor.sheets.vocabulary import PURPOSES, Formula, Purpose
from advisor.units import Quantity

_HALF: Final = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class Edge:
    """One side of one limit, as it bears on one dimension of a kind of part."""

    purpose: Purpose
    side: str
    """at_most or at_least."""
    size: Decimal
    step: Decimal
    """The smallest difference that one would type, in base units."""
    band: Decimal
    """Half of the width in which the instruments cannot tell; 0 where the value alone decides."""
    rule_of_thumb: bool

    @property
    def outward(self) -> int:
        """The way out of the limit: up for at_most, down for at_least."""
        return 1 if self.side == "at_most" else -1


def sized(yard: Yard, kind: str, place: str, name: str, target: Decimal) -> Iterator[Changes]:
    """Readings that bring a dimension to `target` (base units), by one reading or another."""
    dimension = yard.ruleset.vocabulary.dimensions[name]
    formula = yard.mild.first_formula(kind, dimension)
    if formula is None:
        return
    sources = yard.mild.sources(kind, formula)
    mild = [_mild(yard, source) for source in sources]
    if formula.operator in PLAIN:
        yield _all(yard, place, sources[0], target)
    elif formula.operator == "below_size":
        yield _all(yard, place, sources[0], _new(yard, sources[0]) - target)
    elif formula.operator == "above_size":
        yield _all(yard, place, sources[0], _new(yard, sources[0]) + target)
    elif formula.operator == "short_of_new":
        yield _all(yard, place, sources[0], _new(yard, sources[0]) * (1 - target / 100))
    elif formula.operator in PLAY:
        outer, inside = _places(yard, kind, place, formula)
        # At one position alone, the widest play and the least part company.
        if outer is not None:
            yield _all(yard, outer, sources[0], mild[1] + target, positions=1)
        if outer is not None:
            yield _all(yard, outer, sources[0], mild[1] + target)
        if inside is not None:
            yield _all(yard, inside, sources[1], mild[0] - target)
    else:
        yield from _spread(yard, place, sources[0], formula, target)


def edges(yard: Yard, kind: str, name: str) -> Iterator[Edge]:
    """Every side of every limit of a dimension, on the engine as it is."""
    limits = yard.mild.limits(kind, name)
    for purpose in PURPOSES:
        limit = limits.get(purpose)
        for side in ("at_least", "at_most"):
            size = None if limit is None else getattr(limit, side)
            if limit is not None and size is not None:
                step = _step(yard, kind, name, purpose, side)
                band = _band(yard, kind, name, purpose, step)
                yield Edge(purpose, side, size, step, band, limit.rule_of_thumb)


def standing_at(
    yard: Yard, kind: str, place: str, name: str, purpose: Purpose, outcome: Outcome
) -> Iterator[Changes]:
    """Readings on which a dimension surely stands so against a limit, made up where there is none."""
    if outcome == "inside":
        yield {}
        return
    side = "at_most" if outcome == "above" else "at_least"
    found = next(
        (each for each in edges(yard, kind, name) if (each.purpose, each.side) == (purpose, side)), None
    )
    limit: Changes = {}
    if found is None:
        made = _made_up(yard, kind, name, purpose, side)
        if made is None:
            return
        size, step, text = made
        found = Edge(purpose, side, size, step, _band(yard, kind, name, purpose, step), False)
        limit = {Spot("limit", kind, "", name, f"{purpose} {side}"): text}
    for away in (abs(found.size) * _HALF, abs(found.size) / 20, Decimal(0)):
        steps = (away // found.step) * found.step
        target = found.size + found.outward * (2 * found.band + 2 * found.step + steps)
        for each in sized(yard, kind, place, name, target):
            yield {**limit, **each}


def _made_up(
    yard: Yard, kind: str, name: str, purpose: Purpose, side: str
) -> tuple[Decimal, Decimal, str] | None:
    """A limit where the engine sheet has none: clear of the mild size, and nested with its others."""
    dimension = yard.ruleset.vocabulary.dimensions[name]
    formula = yard.mild.first_formula(kind, dimension)
    if formula is None or side not in dimension.limited:
        return None
    sources = yard.mild.sources(kind, formula)
    mild = _mild_size(yard, formula, sources)
    scale = yard.mild.scale(sources[0])
    if formula.operator == "short_of_new":
        scale = scale_of(None, "share")
    step = scale.factor / 1000
    known = [each for each in edges(yard, kind, name) if each.side == side]
    rank = PURPOSES.index(purpose)
    within = [each.size for each in known if PURPOSES.index(each.purpose) < rank]
    beyond = [each.size for each in known if PURPOSES.index(each.purpose) > rank]
    out = 1 if side == "at_most" else -1
    near = max((out * each for each in within), default=out * mild)
    if beyond:
        size = out * (near + min(out * each for each in beyond)) / 2
    else:
        size = out * (near + max(abs(near) * _HALF, 50 * step))
    text = scale.text(size)
    return scale.value(text), step, text


def _mild_size(yard: Yard, formula: Formula, sources: tuple[Reading, ...]) -> Decimal:
    """What a dimension comes to on mild readings."""
    mild = [_mild(yard, source) for source in sources]
    if formula.operator in PLAIN:
        return mild[0] if sources[0] in yard.mild.values else Decimal(0)
    return mild[0] - mild[1] if formula.operator in PLAY else Decimal(0)


def _mild(yard: Yard, reading: Reading) -> Decimal:
    return yard.mild.scale(reading).value(yard.text(reading))


def _new(yard: Yard, reading: Reading) -> Decimal:
    new = yard.mild.new_size(reading)
    assert new is not None  # a formula that needs it is taken only where it is given
    return new.value


def _all(yard: Yard, place: str, reading: Reading, value: Decimal, positions: int | None = None) -> Changes:
    """A reading changed at all its positions, or at the first few."""
    text = yard.mild.scale(reading).text(value)
    kind, name = reading
    where = yard.ruleset.vocabulary.readings[name].positions()[:positions]
    return {Spot("reading", kind, place, name, position): text for position in where}


def _spread(yard: Yard, place: str, reading: Reading, formula: Formula, target: Decimal) -> Iterator[Changes]:
    """Taper or out-of-round: one section, or one direction, apart from the rest, to either side."""
    kind, name = reading
    read = yard.ruleset.vocabulary.readings[name]
    along = formula.operator == "taper"
    words = read.sections if along else read.directions
    if len(words) < 2:
        return
    mild, scale = _mild(yard, reading), yard.mild.scale(reading)
    others = (read.directions if along else read.sections) or [""]
    for sign in (1, -1):
        yield {
            Spot("reading", kind, place, name, " ".join(filter(None, pair))): scale.text(mild + sign * target)
            for other in others
            for pair in [(words[-1], other) if along else (other, words[-1])]
        }


def _places(yard: Yard, kind: str, place: str, formula: Formula) -> tuple[str | None, str | None]:
    """Where the hole is read, and what sits in it; None where that is not one item."""
    found: list[str | None] = []
    for source in (formula.outer, formula.inner):
        assert source is not None  # only a clearance comes here
        if not source.on:
            found.append(place)
            continue
        relation, other = next(iter(source.on.items()))
        linked = yard.linked(kind, place, relation, other)
        found.append(linked[0] if len(linked) == 1 else None)
    return found[0], found[1]


def _step(yard: Yard, kind: str, name: str, purpose: Purpose, side: str) -> Decimal:
    """One in the last place of a limit as it is written; a thousandth of the unit where it is worked out."""
    part = yard.cut.parts[kind]
    for limit in part.limits:
        size: Quantity | None = getattr(limit, side)
        if (limit.dimension, limit.purpose) == (name, purpose) and size is not None:
            return last_place(size)
    formula = yard.mild.first_formula(kind, yard.ruleset.vocabulary.dimensions[name])
    if formula is None:
        return Decimal("0.001")
    return yard.mild.scale(yard.mild.sources(kind, formula)[0]).factor / 1000


def _band(yard: Yard, kind: str, name: str, purpose: Purpose, step: Decimal) -> Decimal:
    """How near to a limit the instruments cannot tell, in whole steps; 0 where the value alone decides."""
    vocabulary = yard.ruleset.vocabulary
    consequence = vocabulary.consequences[vocabulary.kinds[kind].consequence]
    formula = yard.mild.first_formula(kind, vocabulary.dimensions[name])
    if formula is None or (purpose == "discard" and not consequence.guard_discard):
        return Decimal(0)
    variance = Decimal(0)
    for reading in yard.mild.sources(kind, formula):
        instrument = yard.instrument(reading)
        error = yard.ruleset.instruments[instrument].limit.value if instrument else Decimal(0)
        times = 2 if formula.operator in ("taper", "out_of_round") else 1
        scale = Decimal(1)
        if formula.operator == "short_of_new":
            scale = 100 / _new(yard, reading)
        variance += times * (error * scale) ** 2 / 3
    widest = max(square(consequence.inside), square(1 - consequence.outside))
    steps = ((widest * variance).sqrt() / step).to_integral_value(ROUND_CEILING)
    return steps * step
