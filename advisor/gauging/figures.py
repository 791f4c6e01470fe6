"""What gauging found out about a piece of work: its figures, what is missing, and whether it can be done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from advisor.units import show
from advisor.units.show import System

MEGAPASCAL: Final = Decimal("645.16")
"""In the base unit of pressure, N/in²."""

CELSIUS: Final = Decimal(9)
"""A kelvin in the base unit of temperature and its differences."""

_STRESS: Final[dict[System, str]] = {"mm": "MPa", "inch": "psi"}


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that goes with the work, from `low` to `high` where it is not one.

    In base units of `quantity`; a plain number where that is empty. `at_least` and `at_most` are what it
    must keep.
    """

    name: str
    label: str
    low: Decimal
    high: Decimal
    quantity: str = "length"
    at_least: Decimal | None = None
    at_most: Decimal | None = None

    @property
    def kept(self) -> bool | None:
        """Whether what it must keep is kept; None where that is true of a part of the span only."""
        states = [
            *(() if self.at_least is None else (_inside(self.low, self.high, self.at_least),)),
            *(() if self.at_most is None else (_inside(-self.high, -self.low, -self.at_most),)),
        ]
        return worst(states)

    def told(self, system: System = "mm") -> str:
        """As a line of an order: `housing bore 105.950 mm to 105.970 mm`."""
        low, high = self._shown(self.low, system), self._shown(self.high, system)
        line = f"{self.label} {low if low == high else f'{low} to {high}'}"
        if self.at_least is not None:
            line += f", at least {self._shown(self.at_least, system)}"
        if self.at_most is not None:
            line += f", at most {self._shown(self.at_most, system)}"
        return line

    def _shown(self, value: Decimal, system: System) -> str:
        if not self.quantity:
            return f"{value:.2f}"
        return show(
            value, self.quantity, _STRESS[system] if self.quantity == "pressure" else None, system=system
        )


@dataclass(frozen=True, slots=True)
class Lack:
    """A reading or dimension of an item that nobody has, and that the work hangs on."""

    item: int
    name: str


@dataclass(frozen=True, slots=True)
class WorkFacts:
    """What is known of one operation on one item before any rule is asked."""

    feasible: bool | None
    """Whether it can be done; None where that hangs on `lacks` or on a size too close to its limit."""
    figures: tuple[Figure, ...] = ()
    lacks: tuple[Lack, ...] = ()
    says: tuple[str, ...] = ()
    """What else the order must say."""
    against: tuple[str, ...] = ()
    """Why it cannot be done."""
    unsure: tuple[str, ...] = ()
    """Why nobody can tell yet whether it can, where that hangs on no reading that is missing."""

    def lines(self, system: System = "mm") -> tuple[str, ...]:
        """Figures and sayings as lines for the order, in that order."""
        return (*(each.told(system) for each in self.figures), *self.says)

    def and_(self, other: WorkFacts) -> WorkFacts:
        """Both together: what one forbids is forbidden."""
        return WorkFacts(
            worst((self.feasible, other.feasible)),
            self.figures + other.figures,
            tuple(dict.fromkeys(self.lacks + other.lacks)),
            self.says + other.says,
            self.against + other.against,
            self.unsure + other.unsure,
        )

    def why_open(self, system: System = "mm") -> tuple[str, ...]:
        """Why nobody can tell whether it can be done: figures on both sides of what they must keep."""
        return (*(each.told(system) for each in self.figures if each.kept is None), *self.unsure)


def worst(states: Iterable[bool | None]) -> bool | None:
    """False where one is False, else None where one is None, else True."""
    given = list(states)
    if False in given:
        return False
    return None if None in given else True


def _inside(low: Decimal, high: Decimal, least: Decimal) -> bool | None:
    if low >= least:
        return True
    return False if high < least else None
