"""What would settle a doubt: the uncertainty it takes, and the instruments that have it."""

from __future__ import annotations

import random
from decimal import Decimal
from pathlib import Path
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.gauging import Confidence, Gauged, Measure, ResolvedLimit, gauge, standing
from advisor.gauging.doubt import Settling, needed, settling, with_instruments
from advisor.sheets.bench import Bench
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from tests.decide import small
from tests.decide.deciding import small_rules

D = Decimal
SURE = Confidence()
INSTRUMENTS = "    instruments: [micrometer, exact_micrometer]"
BOTH_WAYS = small.VOCABULARY.replace(
    "consequence: mild\n    own_place", "consequence: grave\n    own_place"
).replace("    instruments: [micrometer]\ndimensions", f"{INSTRUMENTS}\ndimensions")
"""The rig with shells whose discard limit is guarded, and a bore that can be read more exactly as well."""


def limit(low: str | None = None, high: str | None = None) -> ResolvedLimit:
    return ResolvedLimit("discard", D(low) if low else None, D(high) if high else None)


def outcomes(value: Decimal, u: Decimal, of: ResolvedLimit, sure: Confidence) -> int:
    return len(standing(Measure(value, u * u), of.at_least, of.at_most, sure))


@pytest.mark.parametrize(
    ("value", "u", "low", "high", "probability"),
    [
        # JCGM 106:2012, clause 7.4, cited from memory: a Zener diode, -5.47 V, u 0.05 V, at most -5.40 V.
        ("-5.47", "0.05", None, "-5.40", 0.919),
        # The same, from memory: burst strength 509.7 kPa, u 8.6 kPa, at least 490 kPa.
        ("509.7", "8.6", "490", None, 0.989),
    ],
)
def test_published_probabilities_of_conformity_and_what_it_takes(
    value: str, u: str, low: str | None, high: str | None, probability: float
) -> None:
    """Distance over deviate: with u_need in place of u the probability of conformity is just 95 %."""
    of = limit(low, high)
    margin = float(D(high) - D(value)) if high else float(D(value) - D(low or 0))
    assert NormalDist().cdf(margin / float(u)) == pytest.approx(probability, abs=0.001)
    enough = needed(D(value), of, SURE)
    assert float(enough) == pytest.approx(margin / 1.644854, rel=1e-6)
    assert (outcomes(D(value), D(u), of, SURE) == 1) == (D(u) <= enough)


probabilities = st.builds(
    Confidence,
    st.sampled_from([D("0.9"), D("0.95"), D("0.975"), D("0.99")]),
    st.sampled_from([D("0.1"), D("0.05"), D("0.025")]),
)


@given(
    st.decimals("-1", "1", places=4), st.decimals("0.001", "0.5", places=3), probabilities, st.integers(0, 2)
)
def test_at_what_it_takes_it_is_settled_and_just_above_it_is_not(
    value: Decimal, width: Decimal, sure: Confidence, sides: int
) -> None:
    of = limit("0" if sides != 1 else None, str(width) if sides != 0 else None)
    enough = needed(value, of, sure)
    if enough == 0:
        assert value in (0, width)
        return
    assert outcomes(value, enough, of, sure) == 1
    assert outcomes(value, enough * D("0.5"), of, sure) == 1
    assert outcomes(value, enough * D("1.0001"), of, sure) > 1


# --- on the rig: journals with a limit of wear of 0.050 mm, guarded ---------------------------------------


def journals(size: str, instrument: str = "micrometer", bore: str = "60.000 mm") -> str:
    values = ", ".join(f"{place}: {size}" for place in ("front x", "front y", "rear x", "rear y"))
    return f"""
found_sizes: [{{part: shaft_journal, size: 0 mm, read_on: the web}}]
bench:
  - part: shaft_journal
    place: all
    readings: {{diameter: {{with: {instrument}, values: {{{values}}}}}}}
  - part: half_shell
    place: all
    readings: {{bore: {{with: micrometer, value: {bore}}}}}
"""


def gauged(text: str, rules: RuleSet | None = None) -> tuple[Bench, Gauged]:
    rules = rules or small_rules()
    case, document = small.case(text)
    sheet = small.engine(rules)
    bench = lay_out(sheet, case, rules, document)
    return bench, gauge(bench, sheet, rules)


def settled(text: str, kind: str, name: str, rules: RuleSet | None = None) -> Settling | None:
    bench, found = gauged(text, rules)
    rules = rules or small_rules()
    index = next(i for i, item in enumerate(bench.items) if item.key.kind == kind)
    dimension = found.dimensions[index][name]
    return settling(bench, small.engine(rules), rules, index, name, "discard", dimension)


def instruments(found: Settling) -> list[list[tuple[str, str]]]:
    return [[(use.reading, use.instrument) for use in way] for way in found.ways]


def test_the_instrument_that_is_exact_enough_is_named() -> None:
    found = settled(journals("59.951 mm"), "shaft_journal", "wear")
    assert found is not None
    assert float(found.needed) == pytest.approx(0.001 / 1.558846, rel=1e-6)
    assert instruments(found) == [[("diameter", "exact_micrometer")]]
    assert found.worth_measuring


def test_what_is_clear_of_its_limit_is_no_doubt() -> None:
    assert settled(journals("59.990 mm"), "shaft_journal", "wear") is None
    assert settled(journals("59.951 mm", "exact_micrometer"), "shaft_journal", "wear") is None


def test_on_the_limit_itself_nothing_settles_it_and_an_exact_instrument_is_told_to_be_of_no_use() -> None:
    found = settled(journals("59.950 mm", "exact_micrometer"), "shaft_journal", "wear")
    assert found is not None
    assert (found.needed, found.chance) == (D(0), 0.0)
    assert not found.ways
    assert not found.again
    assert not found.worth_measuring


def test_a_much_better_instrument_is_worth_trying_even_on_the_limit() -> None:
    """The new reading will be another one. The chance is held against a hundred thousand drawn readings."""
    found = settled(journals("59.950 mm"), "shaft_journal", "wear")
    assert found is not None
    assert not found.ways
    assert [use.instrument for use in found.again] == ["exact_micrometer"]
    draw = random.Random(20)
    coarse, fine = 0.005 / 3**0.5, 0.0005 / 3**0.5
    clear = sum(abs(draw.gauss(0, coarse) + draw.gauss(0, fine)) >= 1.644854 * fine for _ in range(100_000))
    assert found.chance == pytest.approx(clear / 100_000, abs=0.005)
    assert found.worth_measuring


@given(st.integers(-60, 60))
def test_the_ways_named_settle_it_and_no_others_do(microns: int) -> None:
    """Against gauging itself: the same sizes written down with the other instrument."""
    size = f"{D('59.95') + D(microns) / 10000} mm"
    found = settled(journals(size), "shaft_journal", "wear")
    again = settled(journals(size, "exact_micrometer"), "shaft_journal", "wear")
    if found is not None:
        assert bool(found.ways) == (again is None)


def test_of_a_clearance_it_says_which_of_the_two_readings_to_improve(tmp_path: Path) -> None:
    """By hand: limit 0.120; the bore alone by the exact one leaves u 2.90 µm, both leave 0.41 µm."""
    rules = small.ruleset(tmp_path, vocabulary=BOTH_WAYS)
    # 0.119: it takes 0.61 µm, which only both have.
    found = settled(journals("59.990 mm", bore="60.109 mm"), "half_shell", "play", rules)
    assert found is not None
    assert instruments(found) == [[("bore", "exact_micrometer"), ("diameter", "exact_micrometer")]]
    # 0.115: it takes 3.04 µm; the two as they are leave 4.08, and either alone is enough.
    found = settled(journals("59.990 mm", bore="60.105 mm"), "half_shell", "play", rules)
    assert found is not None
    assert instruments(found) == [[("bore", "exact_micrometer")], [("diameter", "exact_micrometer")]]
    # With the journal read exactly, only the bore is left to improve.
    found = settled(journals("59.990 mm", "exact_micrometer", "60.114 mm"), "half_shell", "play", rules)
    assert found is not None
    assert instruments(found) == [[("bore", "exact_micrometer")]]


def test_a_certificate_speaks_for_the_instrument_that_was_used_and_for_no_other() -> None:
    coarse = journals("59.951 mm").replace(
        "with: micrometer, values", "with: micrometer, limit_of_error: 0.02 mm, values"
    )
    bench, _ = gauged(coarse)
    index = next(i for i, item in enumerate(bench.items) if item.key.kind == "shaft_journal")
    found = settled(coarse, "shaft_journal", "wear")
    assert found is not None
    other = with_instruments(bench, found.ways[0]).items[index].readings["diameter"]
    assert (other.instrument, other.limit_of_error) == ("exact_micrometer", None)
    assert bench.items[index].readings["diameter"].limit_of_error is not None


def test_what_lacks_readings_is_no_doubt_that_an_instrument_settles() -> None:
    text = journals("59.951 mm").replace(", rear y: 59.951 mm", "")
    assert settled(text, "shaft_journal", "wear") is None


def test_only_instruments_whose_range_holds_the_size_are_offered(tmp_path: Path) -> None:
    """A micrometer from 75 mm up is no help at 60 mm, however exact it is."""
    fine = "limit: 0.0005 mm, from: 75 mm, "
    rules = small.ruleset(tmp_path, instruments=small.INSTRUMENTS.replace("limit: 0.0005 mm, ", fine))
    assert settled(journals("59.951 mm"), "shaft_journal", "wear") is not None
    found = settled(journals("59.951 mm"), "shaft_journal", "wear", rules)
    assert found is not None
    assert (found.ways, found.again) == ((), ())


def test_digits_that_were_left_out_can_be_read_with_the_same_instrument() -> None:
    """To a hundredth, 0.020 mm of 0.050 mm is clear; to a whole millimetre it is not."""
    assert settled(journals("59.98 mm", "exact_micrometer"), "shaft_journal", "wear") is None
    found = settled(journals("60 mm", "exact_micrometer"), "shaft_journal", "wear")
    assert found is not None
    assert [("diameter", "exact_micrometer")] in instruments(found)
