"""What is uncertain of a reading: its instrument, what that was set with, repetition, and temperature.

The figures of an instrument are spreads (GUM 4.3.7): its limit of error and the error of a blade are
rectangular either way, the least step that can be read and the spread of repeated readings are the whole
width of one. What these add is kept as exact variances; a budget is made only where somebody asks.

A size that was typed to fewer digits than the instrument shows is no better than its last digit: the step of
that is rectangular too, and stands in place of the instrument's own (GUM F.2.2.1, number from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext
from functools import cached_property, lru_cache
from typing import Final

from advisor.gauging.budget import Budget, Component
from advisor.gauging.measure import WORKING, Measure, Part
from advisor.gauging.press import MATERIALS, REFERENCE, material
from advisor.gauging.thermal import Expansion, Temperature, brought_to, expansion_of, read_by
from advisor.sheets.bench import Read
from advisor.sheets.ruleset_files import Instrument
from advisor.sheets.vocabulary import Metal, ReadingKind
from advisor.units import Quantity, read_quantity

THERMOMETER: Final = Decimal(1)
"""How far in kelvins a thermometer in a shop may be off, either way (common practice, no source)."""

NOT_TOLD: Final = Decimal(10)
"""How far in kelvins a shop of which nobody says how warm it was may be from 20 °C, either way: 10 °C is an
unheated shop in winter and 30 °C a hot day (common practice, no source)."""

_KELVIN: Final = read_quantity("1 K", "temperature_difference").value
SHOP: Final = "temperature of the shop"


@dataclass(frozen=True)
class Errors:
    """What errs in one reading."""

    own: tuple[Part, ...]
    """Afresh at every position, without repetition."""
    repeatability: Part | None
    """The spread of repeated readings that the instrument is known for."""
    common: tuple[Part, ...]
    """Alike at every position."""
    blade: Decimal | None
    """The error of one blade, where the instrument has blades."""
    step: Decimal = Decimal(0)
    """The coarsest step of a typed digit that these cover: the resolution. Where the table lists none, the
    limit of error is that of a reading as it is read off, to a division of about twice the limit."""

    def typed_to(self, step: Decimal | None) -> Errors:
        """The errors of a size that was typed to a step, in base units; None where nobody knows to which."""
        if step is None or step <= self.step:
            return self
        return _coarser(self, step)

    @cached_property
    def once(self) -> tuple[Part, ...]:
        """What errs afresh in a reading that was taken once."""
        return self.own if self.repeatability is None else (*self.own, self.repeatability)

    @cached_property
    def bound(self) -> Decimal:
        """The greatest error of one reading, either way."""
        return sum((each.bound for each in (*self.once, *self.common)), Decimal(0))

    @cached_property
    def variance(self) -> Decimal:
        """Variance of one reading."""
        return sum((each.variance for each in (*self.once, *self.common)), Decimal(0))


def either_way(name: str, half: Decimal, *, cause: str = "") -> Part:
    """A rectangular spread of ± half."""
    return Part(name, half * half / 3, half, cause, f"rectangular, ± {half.normalize():f}")


def whole_width(name: str, width: Decimal) -> Part:
    """A rectangular spread of `width` altogether: a step, or how far readings lie apart."""
    return Part(name, width * width / 12, width / 2, how=f"rectangular, {width.normalize():f} wide")


_RESOLUTION: Final = "resolution"


@lru_cache(maxsize=512)
def _coarser(errors: Errors, step: Decimal) -> Errors:
    with localcontext(WORKING):
        own = (*(each for each in errors.own if each.name != _RESOLUTION), whole_width("last digit", step))
        return replace(errors, own=own, step=step)


def errors_of(read: Read, kind: ReadingKind, instruments: Mapping[str, Instrument]) -> Errors:
    """The errors of a reading, but for temperature.

    A certificate's figure goes before the table. Where no instrument is named, the least exact one that
    serves for this reading is assumed, so that leaving it out never makes a part look better.
    """
    if read.instrument is not None:
        return _errors_with(instruments[read.instrument], read, instruments)
    if read.limit_of_error is not None:
        return _Known(read.limit_of_error.value, read.tool).errors
    return max(
        (_errors_with(each, read, instruments) for each in _usual(read, kind, instruments)),
        key=lambda each: each.variance,
    )


def _usual(read: Read, kind: ReadingKind, instruments: Mapping[str, Instrument]) -> list[Instrument]:
    """The instruments that serve for a reading, by what they can measure and whether they have blades."""
    sizes = [each for values in read.values.values() for each in values]
    usual = [instruments[name] for name in kind.instruments]
    if read.intervals:
        usual = [each for each in usual if each.blade is not None] or usual
    return [each for each in usual if all(map(each.spans, sizes))] or usual


@dataclass(frozen=True, slots=True)
class _Known:
    """Figures of an instrument that a case gives or takes over, so that equal ones are worked out once."""

    limit: Decimal
    tool: str = ""
    resolution: Decimal | None = None
    repeatability: Decimal | None = None
    blade: Decimal | None = None
    master: Decimal | None = None
    master_tool: str = ""

    @property
    def errors(self) -> Errors:
        return _worked_out(self)


@lru_cache(maxsize=512)
def _worked_out(known: _Known) -> Errors:
    with localcontext(WORKING):
        cause = f"limit of error of {known.tool}" if known.tool else ""
        limit = either_way("limit of error", known.limit, cause=cause)
        own, common = [limit], []
        if known.resolution is not None:
            own.append(whole_width(_RESOLUTION, known.resolution))
        if known.master is not None:
            shared = f"limit of error of {known.master_tool}" if known.master_tool else ""
            common.append(either_way("limit of error of what it was set with", known.master, cause=shared))
        repeat = None if known.repeatability is None else whole_width("repeatability", known.repeatability)
        step = 2 * known.limit if known.resolution is None else known.resolution
        return Errors(tuple(own), repeat, tuple(common), known.blade, step)


_LISTED: dict[int, tuple[Instrument, Instrument | None, Errors]] = {}
"""By identity of an instrument: it, what it is set with, and its errors where a case says nothing more."""

_MOST_LISTED: Final = 1024


def _errors_with(instrument: Instrument, read: Read, instruments: Mapping[str, Instrument]) -> Errors:
    if read.limit_of_error is not None or read.set_with is not None or read.tool:
        return _errors(instrument, read, instruments)
    setter = setter_of(instrument, read, instruments)
    known = _LISTED.get(id(instrument))
    if known is None or known[0] is not instrument or known[1] is not setter:
        if len(_LISTED) >= _MOST_LISTED:
            _LISTED.clear()
        known = _LISTED[id(instrument)] = instrument, setter, _errors(instrument, read, instruments)
    return known[2]


def _errors(instrument: Instrument, read: Read, instruments: Mapping[str, Instrument]) -> Errors:
    master: Decimal | None = None
    tool = ""
    if read.set_with is not None:
        certified = read.set_with.limit_of_error
        master = (certified or instruments[read.set_with.instrument].limit).value
        tool = read.set_with.tool
    elif read.limit_of_error is None:
        # A certificate that does not say what the instrument is set with speaks of both together.
        setter = setter_of(instrument, read, instruments)
        master = None if setter is None else setter.limit.value
    return _Known(
        (read.limit_of_error or instrument.limit).value,
        read.tool,
        _value(instrument.resolution),
        _value(instrument.repeatability),
        _value(instrument.blade),
        master,
        tool,
    ).errors


def setter_of(instrument: Instrument, read: Read, instruments: Mapping[str, Instrument]) -> Instrument | None:
    """What a comparing instrument is set with if a case does not say: the first listed that spans the size.

    Where none does, the least exact of them, so that leaving it out never makes a part look better.
    """
    if not instrument.set_with:
        return None
    if len(instrument.set_with) == 1:
        return instruments[instrument.set_with[0]]
    listed = [instruments[name] for name in instrument.set_with]
    sizes = [each for values in read.values.values() for each in values]
    fitting = (each for each in listed if all(map(each.spans, sizes)))
    return next(fitting, None) or max(listed, key=lambda each: each.limit.value)


def _value(quantity: Quantity | None) -> Decimal | None:
    return None if quantity is None else quantity.value


# --- temperature ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Warmth:
    """What one millimetre that was read at some temperature is at 20 °C, and its errors."""

    factor: Decimal
    parts: tuple[Part, ...]

    def of(self, size: Decimal) -> tuple[Part, ...]:
        """The errors for a size in mm."""
        square, far = size * size, abs(size)
        return tuple(
            Part(
                each.name,
                each.variance * square,
                each.bound * far,
                each.cause,
                each.how,
                each.sign,
                each.freedom,
            )
            for each in self.parts
        )


def warmth(read: Read, kind: ReadingKind, instruments: Mapping[str, Instrument]) -> Warmth | None:
    """What temperature does to a reading; None where it is no size.

    Only what is read off a scale of metal is a size of the part: a gap, a swing or a strip is not. A shop of
    which nobody says how warm it was is taken as 20 °C with a wide spread; where scale and part are of one
    metal, that does nothing.
    """
    if kind.quantity != "length":
        return None
    names = [read.instrument] if read.instrument is not None else kind.instruments
    scale = next((each.metal for name in names if (each := instruments[name]).metal is not None), None)
    if scale is None:
        return None
    shop = REFERENCE if read.shop_at is None else read.shop_at.value / _KELVIN
    own = None if read.part_at is None else read.part_at.value / _KELVIN
    found = warmth_at(read.metal, scale, shop, own, THERMOMETER if read.shop_at is not None else NOT_TOLD)
    return found if found.parts or found.factor != 1 else None


@lru_cache(maxsize=256)
def warmth_at(
    metal: Metal | None,
    scale: Metal | None,
    shop: Decimal,
    own: Decimal | None = None,
    within: Decimal = THERMOMETER,
) -> Warmth:
    """What becomes of 1 mm read by a scale of one metal on a part of another; temperatures in °C.

    The scale is as warm as the shop, which is known `within` some kelvins, and so is the part unless it has a
    temperature of its own. Without a scale the reading is right at any temperature; without a metal, the part
    may be of any that is known.
    """
    with localcontext(WORKING):
        of_shop = Temperature(shop, within / Decimal(3).sqrt(), SHOP)
        of_part = of_shop if own is None else Temperature(own, THERMOMETER / Decimal(3).sqrt())
        part = _any_metal() if metal is None else expansion_of(material(metal))
        read = Budget("reading", Decimal(1), "mm", ())
        if scale is not None:
            read = read_by(read, of_shop, expansion_of(material(scale)))
        budget = brought_to(read, of_part, part)
        by_cause: dict[str, list[Component]] = {}
        for index, each in enumerate(budget.components):
            by_cause.setdefault(each.cause or f"\0{index}", []).append(each)
        parts = []
        for cause, together in by_cause.items():
            total = sum((each.contribution for each in together), Decimal(0))
            if not total:
                continue
            shared = "" if cause.startswith("\0") else cause
            name = shared or together[0].name
            parts.append(
                Part(
                    name,
                    total * total,
                    # All of them are rectangular, but for nothing: the half-width is √3 times the spread.
                    abs(total) * Decimal(3).sqrt(),
                    shared,
                    _how(name, shared, within),
                    -1 if total < 0 else 1,
                )
            )
        if metal is None:
            # Where neither metal nor temperature is known, the two together matter too (note to GUM 5.1.2).
            both = part.uncertainty * of_part.uncertainty
            parts.append(Part("metal and temperature", both * both, both * 3, how="neither known"))
        return Warmth(budget.value, tuple(parts))


def _how(name: str, shared: str, within: Decimal) -> str:
    if shared and within == NOT_TOLD:
        return f"not told: 20 °C within {within} K"
    return f"within {within if shared else THERMOMETER} K" if "temperature" in name else "within a tenth"


def _any_metal() -> Expansion:
    """The expansion of a part whose metal nobody names: anything from the least to the most."""
    known = [each.expansion for each in MATERIALS.values()]
    least, most = min(known), max(known)
    return Expansion((least + most) / 2, (most - least) / 2 / Decimal(3).sqrt())


# --- budgets ----------------------------------------------------------------------------------------------


def budget_of(measure: Measure, name: str, unit: str) -> Budget:
    """The uncertainty of a measure, line by line, in its base unit; its variance is that of the measure."""
    with localcontext(WORKING):
        return Budget(
            name,
            measure.value,
            unit,
            tuple(
                Component(
                    f"{term.whose}: {part.name}" if term.whose else part.name,
                    part.variance.sqrt(),
                    term.sensitivity * part.sign,
                    None if part.freedom is None else Decimal(part.freedom),
                    part.cause,
                    how=part.how,
                )
                for term in measure.terms
                for part in term.parts
            ),
        )
