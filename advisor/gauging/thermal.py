"""Sizes at a temperature: what a part measures at 20 °C, and how far to trust that.

Sizes are stated at 20 °C (ISO 1). A part measured elsewhere is brought there by its linear expansion,
which tables give without a spread although they differ by some per cent: a tenth either way is assumed
(NIST engineering metrology toolbox, temperature tutorial, slides 11 to 13, for the size of it).

All of it is decimal. Each result is a budget, so that `Budget.difference` can take one from the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Final

from advisor.gauging.budget import Budget, Component
from advisor.gauging.measure import WORKING
from advisor.gauging.press import ABSOLUTE_ZERO, REFERENCE, Material

A_TENTH: Final = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class Expansion:
    """Linear expansion in 1/K with its standard uncertainty."""

    per_kelvin: Decimal
    uncertainty: Decimal
    cause: str = ""
    """Named alike for two parts of one casting or bar, whose error is the same; see `Component.cause`."""

    def __post_init__(self) -> None:
        if not self.per_kelvin.is_finite() or self.per_kelvin <= 0:
            raise ValueError(f"expansion must be above nothing, not {self.per_kelvin} 1/K")
        if not self.uncertainty.is_finite() or self.uncertainty < 0:
            raise ValueError(f"the uncertainty of an expansion cannot be {self.uncertainty} 1/K")


def expansion_of(metal: Material, within: Decimal = A_TENTH, *, cause: str = "") -> Expansion:
    """A metal's expansion, taken as right within a share of itself either way, rectangular (GUM 4.3.7).

    ValueError for a share below nothing.
    """
    if not within.is_finite() or within < 0:
        raise ValueError(f"an expansion cannot be right within {within} of itself")
    with localcontext(WORKING):
        return Expansion(metal.expansion, metal.expansion * within / Decimal(3).sqrt(), cause)


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature in °C with its standard uncertainty in kelvins."""

    celsius: Decimal
    uncertainty: Decimal = Decimal(0)
    cause: str = ""
    """Named alike for temperatures from one thermometer or of one room; see `Component.cause`."""
    freedom: Decimal | None = None
    """Degrees of freedom of the uncertainty; None where it is taken as known exactly."""

    def __post_init__(self) -> None:
        if not self.celsius.is_finite() or self.celsius < ABSOLUTE_ZERO:
            raise ValueError(f"there is no temperature of {self.celsius} °C")
        if not self.uncertainty.is_finite() or self.uncertainty < 0:
            raise ValueError(f"the uncertainty of a temperature cannot be {self.uncertainty} K")

    @property
    def above_reference(self) -> Decimal:
        """Kelvins above 20 °C."""
        with localcontext(WORKING):
            return self.celsius - REFERENCE


AT_REFERENCE: Final = Temperature(REFERENCE)


def size_at(size: Decimal, per_kelvin: Decimal, to: Decimal, measured_at: Decimal = REFERENCE) -> Decimal:
    """The size in mm at the temperature `to` of a part that has `size` at `measured_at`, both in °C.

    Expansion in 1/K, counted from the size at 20 °C, so that there and back gives the size again.
    ValueError for a size below nothing or a temperature below absolute zero.
    """
    _check_size(size)
    with localcontext(WORKING):
        start, end = Temperature(measured_at).above_reference, Temperature(to).above_reference
        return size * (1 + per_kelvin * end) / (1 + per_kelvin * start)


def brought_to(
    measured: Budget,
    measured_at: Temperature,
    expansion: Expansion,
    to: Temperature = AT_REFERENCE,
    *,
    whose: str = "part",
) -> Budget:
    """The size in mm of a part at the temperature `to`, from its size as measured at another.

    The budget of the measured size is carried over and joined by whatever is uncertain of the expansion and
    the two temperatures, each with its partial derivative as sensitivity. `whose` names them. The
    measured size is the part's true size at `measured_at`: for a gauge that is not at 20 °C see `read_by`.
    ValueError for a size below nothing.
    """
    value = size_at(measured.value, expansion.per_kelvin, to.celsius, measured_at.celsius)
    with localcontext(WORKING):
        alpha, size = expansion.per_kelvin, measured.value
        start = 1 + alpha * measured_at.above_reference
        end = 1 + alpha * to.above_reference
        of_alpha = size * (to.celsius - measured_at.celsius) / (start * start)
        of_start = -size * alpha * end / (start * start)
        of_end = size * alpha / start
        carried = tuple(each.scaled(end / start) for each in measured.components)
    added = (
        Component(
            f"expansion of the {whose}", expansion.uncertainty, of_alpha, cause=expansion.cause, unit="1/K"
        ),
        _of_temperature(f"temperature of the {whose} when measured", measured_at, of_start),
        _of_temperature(f"temperature that the {whose} is brought to", to, of_end),
    )
    return Budget(
        measured.name, value, measured.unit, carried + tuple(each for each in added if each.uncertainty)
    )


def read_by(reading: Budget, gauge_at: Temperature, gauge: Expansion) -> Budget:
    """The true size in mm of what a gauge read that is right at 20 °C and was at another temperature.

    A warm gauge has grown and reads too little, by as much as its own expansion: with gauge and part of
    one metal and equally warm, the reading is the size at 20 °C. ValueError for a size below nothing.
    """
    return brought_to(reading, AT_REFERENCE, gauge, gauge_at, whose="gauge")


def clearance(
    hole: Budget,
    shaft: Budget,
    hole_expansion: Expansion,
    shaft_expansion: Expansion,
    hole_at: Temperature,
    shaft_at: Temperature,
    *,
    hole_to: Temperature = AT_REFERENCE,
    shaft_to: Temperature = AT_REFERENCE,
) -> Budget:
    """The play in mm between a hole and a shaft at the temperatures wanted, from sizes measured at others.

    Each part has its own metal, its temperature when measured and the one it is brought to. Below nothing
    it is an interference. Errors with one cause in both parts cancel as far as they are alike.
    """
    return Budget.difference(
        brought_to(hole, hole_at, hole_expansion, hole_to),
        brought_to(shaft, shaft_at, shaft_expansion, shaft_to),
        "clearance",
    )


def expansion_from_sizes(cold: Budget, warm: Budget, cold_at: Temperature, warm_at: Temperature) -> Budget:
    """The expansion in 1/K of a part that was measured at two temperatures: its mean between them.

    (L1 - L0) / (L0 (T1 - T0)), counted from the size at `cold_at`, with its budget by partial derivatives.
    ValueError for a cold size of nothing, for different units, or for two temperatures alike.
    """
    if cold.unit != warm.unit:
        raise ValueError(f"{cold.name} is in {cold.unit} and {warm.name} in {warm.unit}; one unit is needed")
    _check_size(warm.value)
    if cold.value <= 0:
        raise ValueError(f"a part that expands must have a size above nothing, not {cold.value} {cold.unit}")
    with localcontext(WORKING):
        rise = warm_at.celsius - cold_at.celsius
        if rise == 0:
            raise ValueError("two temperatures that are alike tell nothing of the expansion")
        value = (warm.value - cold.value) / (cold.value * rise)
        of_warm = 1 / (cold.value * rise)
        of_cold = -warm.value * of_warm / cold.value
        components = (
            *(each.scaled(of_cold) for each in cold.components),
            *(each.scaled(of_warm) for each in warm.components),
            _of_temperature("temperature when cold", cold_at, value / rise),
            _of_temperature("temperature when warm", warm_at, -value / rise),
        )
    return Budget("expansion", value, "1/K", components)


def _of_temperature(name: str, at: Temperature, sensitivity: Decimal) -> Component:
    return Component(name, at.uncertainty, sensitivity, at.freedom, at.cause, "K")


def _check_size(size: Decimal) -> None:
    if not size.is_finite() or size < 0:
        raise ValueError(f"a size cannot be {size} mm")
