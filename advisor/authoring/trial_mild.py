"""Readings on which nothing is wrong: every dimension of every part well inside its limits.

All items of a kind read alike, and alike at every position, so taper and out-of-round are nothing. What is
left are sizes with bounds, and plays between two of them; they are settled one after another and then tried
by gauging, which has the last word.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Final, TypeAlias

from advisor.authoring.trial_engine import WEAR
from advisor.authoring.trial_sizes import Scale, scale_of
from advisor.gauging.limits import ResolvedLimit, resolve
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import PURPOSES, Dimension, Formula, Purpose
from advisor.units import Quantity

Reading: TypeAlias = tuple[str, str]
"""A kind of part and a reading of it."""

PLAIN: Final = ("value", "largest", "smallest", "mean")
PLAY: Final = ("clearance", "least_clearance")

_QUARTER: Final = Decimal("0.25")
_READ_TO: Final = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a size must lie between; None where it is open."""

    low: Decimal | None = None
    high: Decimal | None = None

    def within(self, other: Bounds) -> Bounds:
        """What lies inside both."""
        lows = [each for each in (self.low, other.low) if each is not None]
        highs = [each for each in (self.high, other.high) if each is not None]
        return Bounds(max(lows, default=None), min(highs, default=None))

    def hold(self, value: Decimal) -> bool:
        """Whether a size lies well inside, and not at a bound."""
        return (self.low is None or value > self.low) and (self.high is None or value < self.high)

    def middle(self, otherwise: Decimal) -> Decimal:
        """A size well inside."""
        if self.low is not None and self.high is not None:
            return (self.low + self.high) / 2
        if self.high is not None:
            return self.high * _QUARTER if self.high > 0 else self.high - abs(otherwise)
        if self.low is not None:
            return self.low * (1 + _QUARTER) if self.low > 0 else self.low + abs(otherwise)
        return otherwise


class Mild:
    """The mild readings of an engine, and the units that they are typed in."""

    def __init__(self, sheet: EngineSheet, ruleset: RuleSet, kinds: Collection[str]) -> None:
        self._sheet = sheet
        self._ruleset = ruleset
        self._vocabulary = ruleset.vocabulary
        self._kinds = [kind for kind in kinds if kind in sheet.parts]
        self.values: dict[Reading, Decimal] = {}
        """In base units."""
        self._bounds: dict[Reading, Bounds] = {}
        self._plays: dict[tuple[Reading, Reading], Bounds] = {}
        self._worn: dict[Reading, None] = {}
        for kind in self._kinds:
            for name, dimension in self._vocabulary.dimensions.items():
                if kind in dimension.kinds:
                    self._take(kind, name, dimension)
        self._settle()

    def limits(self, kind: str, name: str) -> dict[Purpose, ResolvedLimit]:
        """The limits of a dimension, by purpose."""
        part = self._sheet.parts[kind]
        found = {each: resolve(part, kind, name, each, self._ruleset.limits) for each in PURPOSES}
        return {purpose: limit for purpose, limit in found.items() if limit is not None}

    def new_size(self, reading: Reading) -> Quantity | None:
        """The size of a new one, where the engine sheet gives it."""
        return self._sheet.parts[reading[0]].new.get(reading[1])

    def scale(self, reading: Reading) -> Scale:
        """The unit in which a reading is typed: that of the new size or of a limit, on this engine sheet."""
        kind, name = reading
        quantity = self._vocabulary.readings[name].quantity
        like = self.new_size(reading)
        if like is None:
            like = next(
                (
                    side
                    for limit in self._sheet.parts[kind].limits
                    for formula in self._vocabulary.dimensions[limit.dimension].formulas
                    if formula.reading == name
                    for side in (limit.at_most, limit.at_least)
                    if side is not None
                ),
                None,
            )
        return scale_of(like, quantity)

    def sources(self, kind: str, formula: Formula) -> tuple[Reading, ...]:
        """The readings of a formula: one, or the hole and what sits in it."""
        if formula.reading is not None:
            return ((kind, formula.reading),)
        assert formula.outer is not None  # the model holds that one of the two ways is given
        assert formula.inner is not None
        return tuple(
            (next(iter(source.on.values()), kind), source.reading)
            for source in (formula.outer, formula.inner)
        )

    def first_formula(self, kind: str, dimension: Dimension) -> Formula | None:
        """The first way to work a dimension out for which this engine has the parts and the sizes."""
        for formula in dimension.formulas:
            sources = self.sources(kind, formula)
            if any(source[0] not in self._kinds for source in sources):
                continue
            if formula.operator in WEAR and self.new_size(sources[0]) is None:
                continue
            return formula
        return None

    def _take(self, kind: str, name: str, dimension: Dimension) -> None:
        formula = self.first_formula(kind, dimension)
        limits = self.limits(kind, name)
        if formula is None or (dimension.optional and not limits and formula.operator in PLAIN):
            return  # nobody would measure what nothing limits, unless it says something of something else
        bounds = Bounds()
        for limit in limits.values():
            bounds = bounds.within(Bounds(limit.at_least, limit.at_most))
        sources = self.sources(kind, formula)
        for source in sources:
            self._bounds.setdefault(source, Bounds())
        if formula.operator in PLAY:
            pair = (sources[0], sources[1])
            self._plays[pair] = self._plays.get(pair, Bounds()).within(bounds)
        elif formula.operator in PLAIN:
            self._bounds[sources[0]] = self._bounds[sources[0]].within(bounds)
        elif formula.operator in WEAR:
            self._worn[sources[0]] = None

    def _settle(self) -> None:
        for reading in self._worn:
            new = self.new_size(reading)
            assert new is not None  # a wear is taken up only where the sheet gives the new size
            self.values[reading] = new.value
        for reading, bounds in self._bounds.items():
            new = self.new_size(reading)
            if reading in self.values:
                continue
            if new is not None and bounds.hold(new.value):
                self.values[reading] = new.value
            elif bounds != Bounds():
                self.values[reading] = bounds.middle(self._usual(reading))
        for (outer, inside), bounds in self._plays.items():
            self._play(outer, inside, bounds)
        for reading in self._bounds:
            if reading not in self.values:
                new = self.new_size(reading)
                self.values[reading] = self._usual(reading) if new is None else new.value
        for reading, value in self.values.items():
            self.values[reading] = self._rounded(reading, value)

    def _rounded(self, reading: Reading, value: Decimal) -> Decimal:
        """A size as one would read it off: in thousandths of its unit, if it stays inside its bounds."""
        scale = self.scale(reading)
        with localcontext() as context:
            context.prec = 40
            typed = ((value - scale.offset) / scale.factor).quantize(_READ_TO) * scale.factor + scale.offset
        return typed if typed and self._bounds[reading].hold(typed) else value

    def _play(self, outer: Reading, inside: Reading, bounds: Bounds) -> None:
        """Settle two sizes so that the play between them lies inside its bounds."""
        wanted = bounds.middle(self._usual(inside) / 1000)
        if outer in self.values and inside in self.values:
            if bounds.hold(self.values[outer] - self.values[inside]):
                return
            # Whichever is not held by a wear of its own gives way.
            if outer not in self._worn or inside in self._worn:
                del self.values[outer]
            else:
                del self.values[inside]
        if outer in self.values:
            self.values[inside] = self.values[outer] - wanted
            return
        new = self.new_size(inside)
        self.values.setdefault(inside, self._usual(inside) if new is None else new.value)
        self.values[outer] = self.values[inside] + wanted

    def _usual(self, reading: Reading) -> Decimal:
        """Ten of the unit that it is typed in, where nobody says what size it has."""
        scale = self.scale(reading)
        return 10 * scale.factor + scale.offset
