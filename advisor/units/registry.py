"""The one Pint registry, for reckoning with compound units. Pint is imported when it is first asked for.

Pint never reads what people type: it takes `25,4 mm` for 254 mm and `3 1/2 inch` for 1.5 inch.
"""

from __future__ import annotations

import functools
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from advisor.units.fault import UnitFault
from advisor.units.quantity import EXACT, Quantity
from advisor.units.table import UNITS, Unit

if TYPE_CHECKING:
    import pint

# The Pint unit that holds every size of a dimension exactly. Ninths and thirds have no Pint unit, so a
# temperature goes over in °F (5 ninths of a kelvin) and a slope in in/ft (250 thirds of a mm/m).
_EXACT_UNIT: Final = {
    "length": "mm", "pressure": "N/in²", "temperature": "°F", "temperature_difference": "°F difference",
    "torque": "N·m", "force": "N", "mass": "g", "time": "s", "angle": "arcsec", "volume": "mm³",
    "share": "%", "rotational_speed": "rpm", "hardness_hrc": "HRC", "hardness_hb": "HB", "hardness_hv": "HV",
    "slope": "in/ft", "count": "pieces",
}  # fmt: skip


@functools.cache
def registry() -> pint.UnitRegistry[Any]:
    """The registry, in decimals, with a unit of its own for each scale of hardness."""
    import pint

    made: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Decimal)
    for scale in ("hardness_hrc", "hardness_hb", "hardness_hv"):
        made.define(f"{scale} = [{scale}]")
    return made


def to_pint(quantity: Quantity) -> Any:
    """`quantity` as a Pint quantity of the one registry, exactly."""
    unit = UNITS[_EXACT_UNIT[quantity.dimension]]
    number = EXACT.divide(EXACT.subtract(quantity.value, unit.offset), unit.factor)
    return registry().Quantity(number, unit.pint)


def from_pint(measured: Any) -> Quantity:
    """A Pint quantity of the one registry, exactly, where its unit is one of ours.

    Raises `UnitFault` for another unit (convert it first: Pint's conversions may round) and `ValueError`
    for a magnitude that is not a finite decimal or whole number.
    """
    unit = _by_pint_unit().get(measured.units)
    if unit is None:
        raise UnitFault(
            "unknown-unit", f"'{measured.units}' is not a known unit",
            "one of the units in advisor.units.table", "convert it to one of these first",
        )  # fmt: skip
    number = measured.magnitude
    if not isinstance(number, (int, Decimal)):
        raise ValueError(f"a size must be a decimal, not {type(number).__name__}")
    value = EXACT.add(EXACT.multiply(Decimal(number), unit.factor), unit.offset)
    return Quantity(value, unit.dimension)


@functools.cache
def _by_pint_unit() -> dict[Any, Unit]:
    made = registry()
    known = {made.Unit(unit.pint): unit for unit in UNITS.values()}
    # A bare ratio may be a slope, a strain or a share: it is nobody's unit.
    del known[made.Unit("dimensionless")]
    return known
