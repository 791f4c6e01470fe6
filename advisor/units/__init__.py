"""Sizes and sums as people type them: read strictly, held exactly, shown in mm or inch."""

from __future__ import annotations

from advisor.units.fault import CODES, UnitFault
from advisor.units.money import CURRENCIES, Money, read_money
from advisor.units.precision import typed_step
from advisor.units.quantity import DIMENSIONS, EXACT, Dimension, Quantity
from advisor.units.reader import read_quantity
from advisor.units.registry import from_pint, registry, to_pint
from advisor.units.show import System, show, show_both
from advisor.units.table import UNITS, Unit

__all__ = [
    "CODES",
    "CURRENCIES",
    "DIMENSIONS",
    "EXACT",
    "UNITS",
    "Dimension",
    "Money",
    "Quantity",
    "System",
    "Unit",
    "UnitFault",
    "from_pint",
    "read_money",
    "read_quantity",
    "registry",
    "show",
    "show_both",
    "to_pint",
    "typed_step",
]
