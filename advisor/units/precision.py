"""How finely a size was typed: the step of its last digit."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache

from advisor.units.fault import UnitFault
from advisor.units.numerals import read_numeral, tidy
from advisor.units.quantity import EXACT
from advisor.units.table import PLAIN, SPELLINGS, plain_spelling


@lru_cache(maxsize=8192)
def typed_step(text: str) -> Decimal | None:
    """The step of the last digit of a typed size, in the base unit of its dimension; None where it has none.

    `70 mm` is typed to 1 mm and `69.990 mm` to 0.001 mm: zeros at the end count, since whoever reads a
    thousandth writes it. Of a fraction the lower figure tells: `7/16 in` is typed to 1/16 in. A plain `0 mm`
    says that nothing moved, and not how finely that was read, so it has no step. Nor has what was worked out,
    or is no size.
    """
    try:
        numeral = read_numeral(tidy(text))
    except UnitFault:
        return None
    unit = SPELLINGS.get(numeral.rest) or PLAIN.get(plain_spelling(numeral.rest))
    if unit is None:
        return None
    if numeral.bottom != 1:
        return EXACT.divide(unit.factor, Decimal(numeral.bottom)) if _exact(numeral.bottom) else None
    exponent = numeral.top.as_tuple().exponent
    assert isinstance(exponent, int)  # a numeral is finite
    if not numeral.top and not exponent:
        return None
    return EXACT.multiply(unit.factor, Decimal(1).scaleb(min(exponent, 0)))


def _exact(bottom: int) -> bool:
    """Whether a fraction with this lower figure ends as a decimal, whatever the unit."""
    for factor in (2, 5):
        while bottom % factor == 0:
            bottom //= factor
    return bottom == 1
