"""Sums of money: an exact amount in a currency of ISO 4217. Nothing is ever converted."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, Inexact
from typing import Final

from advisor.faults import nearest
from advisor.units.fault import UnitFault, quoted
from advisor.units.numerals import read_numeral, tidy
from advisor.units.quantity import EXACT, held

# ISO 4217 codes of money in use, by the decimal places of the minor unit. The codes were compared with
# the list in pycountry 26.2 (funds, metals and test codes are left out); the places
# are from memory of the standard's list one.
_CODES: Final = {
    2: """AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY
          COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF
          IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR
          MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG
          SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES
          WST XCD XCG YER ZAR ZMW ZWG""",
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
}
CURRENCIES: Final[Mapping[str, int]] = {
    code: places for places, codes in _CODES.items() for code in codes.split()
}
"""Every currency that is read, with the decimal places of its minor unit."""

_SIGNS: Final = {
    "€": "EUR",
    "£": "GBP",
    "¥": "JPY or CNY",
    "$": "USD, CAD, AUD or another code",
    "kr": "SEK, NOK or DKK",
}
_STEP: Final = {0: Decimal(1), 2: Decimal("0.01"), 3: Decimal("0.001")}
_CODE_FIRST: Final = re.compile(r"([A-Za-z]{3}) *([-+0-9.,]+)")


@dataclass(frozen=True, slots=True)
class Money:
    """An exact sum: `amount` in `currency`, a key of `CURRENCIES`; negative for a credit.

    `+` and `-` work inside one currency and raise `TypeError` across two; `*` takes a whole number of
    times. `str` writes it as `read_money` reads it. Raises `ValueError` for an unknown currency or an
    amount that is not finite or has more places than the currency.
    """

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        places = CURRENCIES.get(self.currency)
        if places is None:
            raise ValueError(f"no currency of ISO 4217 has the code {self.currency!r}")
        try:
            EXACT.quantize(held(self.amount), _STEP[places])
        except Inexact:
            raise ValueError(f"{self.amount} has more than the {places} places of {self.currency}") from None

    def __str__(self) -> str:
        return f"{EXACT.quantize(self.amount, _STEP[CURRENCIES[self.currency]]):f} {self.currency}"

    def __add__(self, other: object) -> Money:
        if not isinstance(other, Money):
            return NotImplemented
        return Money(EXACT.add(self.amount, self._alike(other).amount), self.currency)

    def __sub__(self, other: object) -> Money:
        if not isinstance(other, Money):
            return NotImplemented
        return Money(EXACT.subtract(self.amount, self._alike(other).amount), self.currency)

    def __mul__(self, times: object) -> Money:
        if not isinstance(times, int):
            return NotImplemented
        return Money(EXACT.multiply(self.amount, Decimal(times)), self.currency)

    def _alike(self, other: Money) -> Money:
        if other.currency != self.currency:
            raise TypeError(f"cannot reckon {self.currency} and {other.currency} together")
        return other


def read_money(text: str) -> Money:
    """The sum that `text` states: an amount, then a currency code of ISO 4217, as in `18.50 EUR`.

    The amount is read as a quantity's number is (see `advisor.units.numerals`), without fractions and with
    no more decimal places than the currency has. Raises `UnitFault` for anything else.
    """
    plain = tidy(text)
    if first := _CODE_FIRST.fullmatch(plain):
        raise UnitFault(
            "no-number",
            f"{quoted(plain)} does not begin with the amount",
            "an amount, then its currency",
            f"write {first[2]} {first[1].upper()}",
        )
    numeral = read_numeral(plain)
    if "/" in numeral.written or numeral.bottom != 1:
        raise UnitFault(
            "bad-fraction", f"{quoted(numeral.written)} is a fraction", "a decimal amount", "write a decimal"
        )
    code = numeral.rest
    if not code:
        raise UnitFault(
            "no-currency",
            f"{quoted(plain)} has no currency",
            "a currency code of ISO 4217, such as EUR",
            "write the code after the amount",
        )
    places = CURRENCIES.get(code)
    if places is None:
        guess = _SIGNS.get(code) or (
            code.upper() if code.upper() in CURRENCIES else nearest(code, CURRENCIES)
        )
        raise UnitFault(
            "unknown-currency",
            f"{quoted(code)} is not a known currency code",
            "a currency code of ISO 4217, such as EUR",
            f"write {guess} if that is meant" if guess else "",
        )
    exponent = numeral.top.as_tuple().exponent
    if isinstance(exponent, int) and -exponent > places:
        raise UnitFault(
            "too-many-places",
            f"{quoted(numeral.written)} has more decimal places than {code}",
            f"at most {places}",
            "round it, or leave out the mark between thousands",
        )
    return Money(numeral.top, code)
