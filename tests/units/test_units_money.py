"""Sums of money: what is read, refused and reckoned."""

import decimal
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from advisor.units import CODES, CURRENCIES, Money, UnitFault, read_money


@pytest.mark.parametrize(
    ("text", "amount", "currency"),
    [
        ("18.50 EUR", "18.5", "EUR"),
        ("18,50 EUR", "18.5", "EUR"),
        ("18 EUR", "18", "EUR"),
        ("-3.20USD", "-3.2", "USD"),
        ("1500 JPY", "1500", "JPY"),
        ("1.500 KWD", "1.5", "KWD"),
        ("0,5\u00a0GBP", "0.5", "GBP"),
    ],
)
def test_read(text: str, amount: str, currency: str) -> None:
    assert read_money(text) == Money(Decimal(amount), currency)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("18.50",
         "'18.50' has no currency; expected a currency code of ISO 4217, such as EUR;"
         " write the code after the amount [no-currency]"),
        ("18.50 eur",
         "'eur' is not a known currency code; expected a currency code of ISO 4217, such as EUR;"
         " write EUR if that is meant [unknown-currency]"),
        ("18.50 €",
         "'€' is not a known currency code; expected a currency code of ISO 4217, such as EUR;"
         " write EUR if that is meant [unknown-currency]"),
        ("18.50 $",
         "'$' is not a known currency code; expected a currency code of ISO 4217, such as EUR;"
         " write USD, CAD, AUD or another code if that is meant [unknown-currency]"),
        ("EUR 18.50",
         "'EUR 18.50' does not begin with the amount; expected an amount, then its currency;"
         " write 18.50 EUR [no-number]"),
        ("18.500 EUR",
         "'18.500' has more decimal places than EUR; expected at most 2;"
         " round it, or leave out the mark between thousands [too-many-places]"),
        ("1,500 EUR",
         "the comma in '1,500' may mark thousands or decimals; expected a comma that can be only a"
         " decimal mark, or a point; write 1500 EUR or 1.500 EUR [ambiguous-comma]"),
        ("15.5 JPY",
         "'15.5' has more decimal places than JPY; expected at most 0;"
         " round it, or leave out the mark between thousands [too-many-places]"),
        ("½ EUR", "'½' is a fraction; expected a decimal amount; write a decimal [bad-fraction]"),
        ("4/1 EUR", "'4/1' is a fraction; expected a decimal amount; write a decimal [bad-fraction]"),
    ],
)  # fmt: skip
def test_refusals_word_for_word(text: str, message: str) -> None:
    with pytest.raises(UnitFault) as caught:
        read_money(text)
    assert str(caught.value) == message


@example("EUR\x1b[2J")
@example("EUR 5\x1b")
@given(st.text(max_size=80) | st.text("0123456789.,-+ /½EURJPY€", max_size=14))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        money = read_money(text)
    except UnitFault as fault:
        told = fault
    else:
        assert read_money(str(money)) == money
        return
    assert told.code in CODES
    assert str(told).isprintable()


SUMS = st.builds(
    lambda minor, code: Money(Decimal(minor).scaleb(-CURRENCIES[code]), code),
    st.integers(-(10**12), 10**12),
    st.sampled_from(sorted(CURRENCIES)),
)


@given(SUMS)
def test_written_money_reads_back(money: Money) -> None:
    # With three places, the point is still the decimal mark: it is always one.
    assert read_money(str(money)) == money


@given(st.integers(-(10**12), 10**12), st.integers(-(10**12), 10**12), st.integers(0, 1000))
def test_reckoning_is_that_of_whole_cents(a: int, b: int, times: int) -> None:
    def euros(cents: int) -> Money:
        with decimal.localcontext(prec=50):
            return Money(Decimal(cents).scaleb(-2), "EUR")

    with decimal.localcontext(prec=1):
        assert euros(a) + euros(b) == euros(a + b)
        assert euros(a) - euros(b) == euros(a - b)
        assert euros(a) * times == euros(a * times)


def test_currencies_are_never_mixed_and_amounts_never_rounded() -> None:
    one = Money(Decimal(1), "EUR")
    with pytest.raises(TypeError, match="cannot reckon EUR and USD together"):
        one + Money(Decimal(1), "USD")
    for wrong in (1, Decimal(1), "1 EUR"):
        with pytest.raises(TypeError):
            one - wrong
    with pytest.raises(TypeError):
        one * Decimal("0.5")
    for amount, code in (("0.001", "EUR"), ("0.5", "JPY"), ("NaN", "EUR"), ("1", "EURO")):
        with pytest.raises(ValueError, match=r"EUR|JPY|finite|ISO 4217"):
            Money(Decimal(amount), code)


def test_minor_units_of_currencies_without_cents() -> None:
    # ISO 4217, list one (from memory): no decimals for the yen and the CFA francs, three for the dinars.
    assert {CURRENCIES[code] for code in ("JPY", "KRW", "XOF", "XAF", "CLP", "ISK")} == {0}
    assert {CURRENCIES[code] for code in ("KWD", "BHD", "TND", "JOD", "OMR")} == {3}
    assert {CURRENCIES[code] for code in ("EUR", "USD", "GBP", "CHF", "SEK", "AUD")} == {2}
