"""What is read, what is refused, and in which words."""

import decimal
import pickle
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.faults import OurFault, Position
from advisor.units import CODES, DIMENSIONS, EXACT, UNITS, Quantity, UnitFault, read_quantity
from advisor.units.numerals import MAX_DIGITS, MAX_TEXT, VULGAR
from advisor.units.table import SPELLINGS

READ = [
    # text, value in base units, dimension
    ("0.0015 in", "0.0381", "length"),
    ("1.5 thou", "0.0381", "length"),
    ("38 µm", "0.038", "length"),
    ("38 \u03bcm", "0.038", "length"),
    ("38um", "0.038", "length"),
    ("38 micron", "0.038", "length"),
    ("0.038 mm", "0.038", "length"),
    ("1/16 in", "1.5875", "length"),
    ("7/16 in", "11.1125", "length"),  # 889/80 mm
    ('2.5"', "63.5", "length"),
    ("2.5\u2033", "63.5", "length"),
    ("½ in", "12.7", "length"),
    ("3½ in", "88.9", "length"),
    ("-3 ½ in", "-88.9", "length"),
    ("3-1/2 in", "88.9", "length"),
    ("-3-1/2 in", "-88.9", "length"),
    ("3 1\u20442 in", "88.9", "length"),
    ("5/4 in", "31.75", "length"),
    ("-0.25 mm", "-0.25", "length"),
    ("\u22120.25 mm", "-0.25", "length"),
    ("+0.50 mm", "0.5", "length"),
    (".5 mm", "0.5", "length"),
    (",5 mm", "0.5", "length"),
    ("25,4 mm", "25.4", "length"),
    ("0,038 mm", "0.038", "length"),
    ("0,500 in", "12.7", "length"),
    ("1,5000 in", "38.1", "length"),
    ("1234,567 mm", "1234.567", "length"),
    ("38\u00a0mm", "38", "length"),
    ("38\u2009mm", "38", "length"),
    ("\t38\u202fmm ", "38", "length"),
    ("15 µin", "0.000381", "length"),
    ("1200 h", "4320000", "time"),
    ("30 s", "30", "time"),
    ("1/3 h", "1200", "time"),
    ("⅓ h", "1200", "time"),
    ("85 °C", "765", "temperature"),
    ("185 F", "765", "temperature"),
    ("20C", "180", "temperature"),
    ("20 \u2103", "180", "temperature"),
    ("-273.15 °C", "-2458.35", "temperature"),
    ("10 K", "90", "temperature_difference"),
    ("18 °F difference", "90", "temperature_difference"),
    ("90 N·m", "90", "torque"),
    ("90 N\u22c5m", "90", "torque"),
    ("90 N*m", "90", "torque"),
    ("90 N-m", "90", "torque"),
    ("90 Nm", "90", "torque"),
    ("10 lb-ft", "13.558179483314004", "torque"),
    ("10 ft lb", "13.558179483314004", "torque"),
    ("100 psi", "444.82216152605", "pressure"),
    ("27 bar", "1741.932", "pressure"),
    ("2.7 MPa", "1741.932", "pressure"),
    ("2.7 N/mm^2", "1741.932", "pressure"),
    ("0.5 kg", "500", "mass"),
    ("12 %", "12", "share"),
    ("45°", "162000", "angle"),
    ("90 arcmin", "5400", "angle"),
    ("1100 rpm", "1100", "rotational_speed"),
    ("55 HRC", "55", "hardness_hrc"),
    ("220 HB", "220", "hardness_hb"),
    ("600 HV", "600", "hardness_hv"),
    ("4 pieces", "4", "count"),
    ("2 cu. in.", "32774.128", "volume"),
    ("0.001 in/in", "3", "slope"),
    ("0.05 mm / m", "0.15", "slope"),
    ("0.03 mm/100 mm", "0.9", "slope"),
    ("0.012 in/ft", "3", "slope"),
]


@pytest.mark.parametrize(("text", "value", "dimension"), READ)
def test_read(text: str, value: str, dimension: str) -> None:
    quantity = read_quantity(text)
    assert (quantity.value, quantity.dimension) == (Decimal(value), dimension)
    assert read_quantity(text, dimension) == quantity
    assert read_quantity(quantity.text) == quantity


WHOLE_MESSAGES = [
    ("38", None,
     "'38' has no unit; expected a number and its unit, such as 38 µm, 1/16 in or 90 N·m;"
     " write the unit after the number [no-unit]"),
    ("38", "length",
     "'38' has no unit; expected a length (mm, µm, in or thou);"
     " write the unit after the number [no-unit]"),
    ("0.038 psi", "length",
     "'0.038 psi' is a pressure; expected a length (mm, µm, in or thou) [wrong-dimension]"),
    ("44 lb", "force",
     "'44 lb' is a mass; expected a force (N, kN, lbf or kgf);"
     " write lbf if a force is meant [wrong-dimension]"),
    ("15 °C", "temperature_difference",
     "'15 °C' is a temperature; expected a difference of temperature"
     " (K, °C difference or °F difference); write K or °C difference for a difference [wrong-dimension]"),
    ("288 K", "temperature",
     "'288 K' is a difference of temperature; expected a temperature (°C or °F);"
     " write °C or °F: K is read as a difference [wrong-dimension]"),
    ("2 mil", None,
     "'mil' may mean a thousandth of an inch, a millimetre or an angle;"
     " expected a unit with one meaning; write thou or mm [ambiguous-unit]"),
    ("5 NM", None,
     "'NM' is not a known unit; expected a unit such as mm, in, °C, N·m or psi;"
     " write nm or N·m if that is meant [unknown-unit]"),
    ("5 micorn", "length",
     "'micorn' is not a known unit; expected a length (mm, µm, in or thou);"
     " write micron if that is meant [unknown-unit]"),
    ("0.5 rad", None,
     "a radian is not an exact decimal of a degree; expected a unit that is exact here;"
     " write the angle in ° [inexact-unit]"),
    ("1,500 mm", None,
     "the comma in '1,500' may mark thousands or decimals; expected a comma that can be only a"
     " decimal mark, or a point; write 1500 mm or 1.500 mm [ambiguous-comma]"),
    ("1.234,5 mm", None,
     "the number in '1.234,5 mm' has several marks; expected one decimal mark at most and no"
     " mark between thousands; keep only the decimal mark [mixed-marks]"),
    ("1 200 mm", None,
     "a space breaks the number in '1 200 mm'; expected a number without spaces, or a whole"
     " number and a fraction; write one number, such as 1200, 1.2 or 3 1/2 [space-in-number]"),
    ("1 in 3/16", None,
     "'3/16' follows the unit 'in'; expected one number and one unit;"
     " leave it out, or write the whole size in one unit [after-unit]"),
    ("1e-5 mm", None,
     "'1e-5 mm' is in exponent form; expected plain digits; write the number out [exponent]"),
    ("NaN mm", None,
     "'NaN mm' does not begin with a number; expected the number first, then its unit or currency;"
     " begin with the number, in figures [no-number]"),
    ("4.030 +/- .001 in", None,
     "'4.030 +/- .001 in' holds a tolerance; expected one size;"
     " write the size you read; the instrument's error goes under limit_of_error,"
     " and the ends of a limit are two sizes [tolerance-sign]"),
    ("0.03-0.05 mm", None,
     "'0.03-0.05 mm' holds two numbers; expected one number and its unit;"
     " write the ends of a range as two sizes [several-numbers]"),
    ("38-mm", None,
     "'-' stands after the number in '38-mm'; expected the unit right after the number;"
     " leave out the '-' [bad-number]"),
    ("5. mm", None,
     "no digit follows the '.' in '5. mm'; expected a digit after a decimal mark;"
     " add the digit or drop the mark [bad-number]"),
    ("- 0.25 mm", None,
     "the sign in '- 0.25 mm' stands apart; expected the sign next to its number;"
     " close the gap [bad-number]"),
    ("\u20130.25 mm", None,
     "'\u20130.25 mm' begins with a dash; expected a minus sign;"
     " type - before the number [bad-number]"),
    ("1/3 in", None,
     "'1/3 in' is not an exact decimal of mm; expected a fraction with a lower figure such as"
     " 2, 4, 8, 16, 32 or 64; write a decimal [bad-fraction]"),
    ("3 5/4 in", None,
     "the fraction in '3 5/4' is not below one; expected a whole number and a fraction below one;"
     " write it so, or as a decimal [bad-fraction]"),
    ("1/0 in", None,
     "'1/0' divides by zero; expected a fraction; mend the lower figure [bad-fraction]"),
    ("1/2/3 in", None,
     "'1/2/3 in' is not a fraction that is read; expected a fraction such as 1/16, 3 1/2 or 3½;"
     " write it so, or as a decimal [bad-fraction]"),
    ("\uff13\uff18 mm", None,
     "'\uff13\uff18 mm' has digits other than 0 to 9; expected the digits 0 to 9;"
     " type them anew [foreign-digits]"),
    ("123456789012345678901 mm", None,
     "'123456789012345678901' has more digits than are read;"
     " expected at most 20 digits; round it to what was measured [too-many-digits]"),
    (" ", None,
     "nothing is written here; expected a number, then its unit or currency [empty-quantity]"),
    ("5 mm" + " " * 61, None,
     "'5 mm                …' has 65 characters; expected at most 64;"
     " write one number and one unit [too-long]"),
    ("-300 °C", None,
     "'-300 °C' is below absolute zero; expected -273.15 °C or more;"
     " mend the number [below-absolute-zero]"),
    ("3.5 pieces", None,
     "'3.5 pieces' is not a whole count; expected a whole number from 0 up;"
     " mend the number [count-not-whole]"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "dimension", "message"), WHOLE_MESSAGES)
def test_refusals_word_for_word(text: str, dimension: str | None, message: str) -> None:
    with pytest.raises(UnitFault) as caught:
        read_quantity(text, dimension)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("1,234.5 mm", "mixed-marks"),
        ("1,234,567 mm", "mixed-marks"),
        ("1.2.3 mm", "mixed-marks"),
        ("3.5 1/2 in", "space-in-number"),
        ("1 / 2 in", "bad-fraction"),
        ("½½ in", "bad-fraction"),
        ("3 4/4 in", "bad-fraction"),
        ("10-12 mm", "several-numbers"),
        ("3 -1/2 in", "several-numbers"),
        ("3 - 1/2 in", "several-numbers"),
        ("1e5mm", "exponent"),
        ("inf mm", "no-number"),
        ("-Infinity mm", "no-number"),
        ("HRC 55", "no-number"),
        ("+ mm", "no-number"),
        ("mm", "no-number"),
        ("-1 pieces", "count-not-whole"),
        ("1/2 piece", "count-not-whole"),
        ("-460 °F", "below-absolute-zero"),
        ("45°30'", "after-unit"),
        ("38 mm approx", "after-unit"),
        ("20 m in", "after-unit"),
        ("30 s each", "after-unit"),
        ("2' 6\"", "after-unit"),
        ("5 k g", "unknown-unit"),
        ("90 mPa", "unknown-unit"),
        ("5 mm²", "unknown-unit"),
        ("38\u200bmm", "invisible-character"),
        ("3\u00ad8 mm", "invisible-character"),
        ("38\nmm", "unknown-unit"),
        ("5 '", "ambiguous-unit"),
        ("5 kg/cm2", "ambiguous-unit"),
        ("5 gal", "ambiguous-unit"),
        ("1 rad", "inexact-unit"),
        ("± 1 mm", "tolerance-sign"),
        ("1_000 mm", "unknown-unit"),
        ("0x10 mm", "unknown-unit"),
    ],
)
def test_refused(text: str, code: str) -> None:
    with pytest.raises(UnitFault) as caught:
        read_quantity(text)
    assert caught.value.code == code


# Strings that Pint 0.25.3 turns into another number or another kind of quantity without an error, or
# refuses although people write them. None: refused here.
@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("3 1/2 inch", "88.9"),  # Pint: 1.5 inch
        ("25,4 mm", "25.4"),  # Pint: 254 mm
        ("1 in 3/16", None),  # Pint: 0.1875 inch
        ('4.030"', "102.362"),  # Pint: dimensionless
        ("20C", "180"),  # Pint: coulombs
        ("2 mil", None),  # Pint: an angle
        ("20 degC", "180"),  # Pint raises
        ("20 °C", "180"),  # Pint raises
        ("3-1/2 in", "88.9"),  # Pint raises
        ("4.030 +/- 0.001 in", None),  # Pint raises
    ],
)
def test_strings_that_pint_gets_wrong(text: str, right: str | None) -> None:
    if right is None:
        with pytest.raises(UnitFault):
            read_quantity(text)
    else:
        assert read_quantity(text).value == Decimal(right)


def test_a_dimension_that_is_none_of_ours_is_our_own_fault() -> None:
    with pytest.raises(OurFault):
        read_quantity("1 mm", "lenght")


def test_a_fault_takes_its_place_and_survives_pickling() -> None:
    fault = UnitFault("no-unit", "'38' has no unit", "a length", "write it")
    assert str(fault.at(Position("case.yaml", 3, 9))) == (
        "case.yaml:3:9: '38' has no unit; expected a length; write it [no-unit]"
    )
    copy = pickle.loads(pickle.dumps(fault))
    assert (str(copy), copy.code, copy.mend) == (str(fault), "no-unit", "write it")


def read_or_told(text: str, dimension: str | None) -> Quantity | UnitFault:
    try:
        return read_quantity(text, dimension)
    except UnitFault as fault:
        return fault


def checked(text: str, dimension: str | None) -> None:
    outcome = read_or_told(text, dimension)
    if isinstance(outcome, UnitFault):
        assert outcome.code in CODES
        assert outcome.what
        assert str(outcome).isprintable()
        assert len(str(outcome)) < 400
    else:
        assert dimension in (None, outcome.dimension)
        assert read_quantity(outcome.text) == outcome


DIMENSION = st.none() | st.sampled_from(sorted(DIMENSIONS))
PIECES = st.lists(
    st.sampled_from([*"0123456789", *"+-−–±.,/\u2044 eE'\"\t\u00a0·^²", *VULGAR, "10", "1/2", *SPELLINGS]),
    max_size=10,
).map("".join)


@given(st.text(max_size=80), DIMENSION)
def test_any_text_is_read_or_refused(text: str, dimension: str | None) -> None:
    checked(text, dimension)


@given(PIECES, DIMENSION)
def test_any_mixture_of_pieces_is_read_or_refused(text: str, dimension: str | None) -> None:
    checked(text, dimension)


NUMBERS = st.decimals(min_value=-(10**9), max_value=10**9, places=6).map(lambda d: f"{d:f}")
SYMBOLS = st.sampled_from(sorted(UNITS))


@given(
    st.integers(-(10**14), 10**14), st.integers(0, 5), SYMBOLS, st.sampled_from(["", " ", "\u2009", "   "])
)
def test_value_is_number_times_factor_in_fractions(scaled: int, places: int, symbol: str, gap: str) -> None:
    unit = UNITS[symbol]
    number = f"{Decimal(scaled).scaleb(-places):f}"
    true = Fraction(scaled, 10**places) * Fraction(unit.factor) + Fraction(unit.offset)
    low = unit.dimension == "temperature" and true < Fraction("-2458.35")
    broken = unit.dimension == "count" and (true < 0 or true.denominator != 1)
    if low or broken:
        with pytest.raises(UnitFault):
            read_quantity(number + gap + symbol)
    else:
        assert Fraction(read_quantity(number + gap + symbol).value) == true


@given(NUMBERS)
def test_inch_twins(number: str) -> None:
    twin = f"{EXACT.multiply(Decimal(number), Decimal('25.4')):f}"
    assert read_quantity(f"{number} in") == read_quantity(f"{twin} mm")
    assert hash(read_quantity(f"{number} in")) == hash(read_quantity(f"{twin} mm"))
    assert read_quantity(f"{number} thou") == read_quantity(
        f"{EXACT.divide(Decimal(number), Decimal(1000)):f} in"
    )


@given(st.sampled_from("+-"), st.integers(0, 99), st.integers(1, 63), st.integers(1, 6))
def test_mixed_fractions_of_an_inch(sign: str, whole: int, over: int, power: int) -> None:
    under = 2**power
    over %= under
    true = (whole + Fraction(over, under)) * Fraction("25.4") * (-1 if sign == "-" else 1)
    for joint in (" ", "-", "  "):
        assert Fraction(read_quantity(f"{sign}{whole}{joint}{over}/{under} in").value) == true


@pytest.mark.parametrize(("char", "parts"), VULGAR.items())
def test_fraction_characters_equal_their_typed_fractions(char: str, parts: tuple[int, int]) -> None:
    over, under = parts
    text = f"{over}/{under} h"
    try:
        plain = read_quantity(text)
    except UnitFault:
        with pytest.raises(UnitFault):
            read_quantity(f"{char} h")
    else:
        assert read_quantity(f"{char} h") == plain


@given(st.integers(1, 999), st.integers(0, 999))
def test_a_comma_before_three_digits_is_refused_whenever_it_could_mark_thousands(
    whole: int, rest: int
) -> None:
    with pytest.raises(UnitFault) as caught:
        read_quantity(f"{whole},{rest:03} mm")
    assert caught.value.code == "ambiguous-comma"
    assert read_quantity(f"{whole},{rest:04} mm") == read_quantity(f"{whole}.{rest:04} mm")


def test_the_callers_decimal_context_changes_nothing() -> None:
    with decimal.localcontext(decimal.Context(prec=1, traps=[decimal.Inexact, decimal.Rounded])):
        for text, value, _ in READ:
            assert read_quantity(text).value == Decimal(value)
        assert read_quantity("123 in") - read_quantity("0.001 mm") == read_quantity("3124.199 mm")


def test_bounds() -> None:
    longest = "9" * MAX_DIGITS
    assert read_quantity(f"{longest} mm").value == Decimal(longest)
    assert read_quantity("5 mm".ljust(MAX_TEXT)).value == 5
