"""What is uncertain of a reading, through the real way from a typed case, and budgets that add up to it."""

from __future__ import annotations

from decimal import Decimal, localcontext
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from advisor.gauging import Gauged, GaugedDimension, gauge, operators
from advisor.gauging.errors import budget_of, either_way, warmth_at
from advisor.gauging.measure import WORKING, Part, Taken
from advisor.gauging.press import MATERIALS
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Metal
from tests.decide import small

D = Decimal

INSTRUMENTS = """
format: 1
instruments:
  micrometer:
    label: micrometer
    limit: 0.005 mm
    resolution: 0.002 mm
    turns: [0.50 mm, 0.025 in]
    metal: steel
    cite: [{source: made_up}]
  exact_micrometer: {label: a better one, limit: 0.001 mm, metal: steel, cite: [{source: made_up}]}
  bore_gauge:
    label: bore gauge
    limit: 0.003 mm
    repeatability: 0.003 mm
    set_with: micrometer
    metal: steel
    cite: [{source: made_up}]
  feeler: {label: feeler, limit: 0.025 mm, blade: 0.005 mm, cite: [{source: made_up}]}
"""

VOCABULARY = small.VOCABULARY.replace(
    "kinds:\n",
    "materials:\n  iron: {label: iron, metal: grey iron}\n"
    "  light: {label: light metal, metal: aluminium 356}\n"
    "kinds:\n",
    1,
)


@cache
def rules(bore: str = "iron", shaft: str = "light") -> RuleSet:
    """The small rule set: shells of one metal on journals of another, and instruments of every sort."""
    text = VOCABULARY.replace("    label: half shell\n", f"    label: half shell\n    material: {bore}\n", 1)
    text = text.replace(
        "    label: journal\n    assembly", f"    label: journal\n    material: {shaft}\n    assembly", 1
    )
    assert f"material: {bore}" in text
    assert f"material: {shaft}" in text
    start = text.index("instruments: [")
    end = text.index("]", start)
    text = text.replace(
        text[start : end + 1], "instruments: [micrometer, exact_micrometer, bore_gauge, feeler]"
    )
    with TemporaryDirectory() as folder:
        return small.ruleset(Path(folder), vocabulary=text, instruments=INSTRUMENTS)


def play(shell: str, journal: str, head: str = "") -> GaugedDimension:
    return gauged(shell, journal, head).dimensions[FIRST_SHELL]["play"]


FIRST_SHELL = 4


def gauged(shell: str, journal: str, head: str = "") -> Gauged:
    places = ", ".join(f"{each}: {SIZES['journal']}" for each in PLACES)
    text = f"""{head}
bench:
  - part: half_shell
    place: 1 upper
    readings: {{bore: {{{shell}, value: {SIZES["bore"]}}}}}
  - part: shaft_journal
    place: 1
    readings: {{diameter: {{{journal}, values: {{{places}}}}}}}
"""
    rule_set = rules()
    sheet = small.engine(rule_set)
    case, document = small.case(text)
    return gauge(lay_out(sheet, case, rule_set, document), sheet, rule_set)


PLACES = ("front x", "front y", "rear x", "rear y")
SIZES = {"bore": "60.050 mm", "journal": "59.990 mm"}


def variance(of: GaugedDimension) -> Decimal:
    assert of.measure is not None
    return of.measure.variance


def test_a_comparing_instrument_has_the_error_of_what_set_it() -> None:
    """By hand, GUM 5.1.2: 3² + 5² over 3 for gauge and micrometer (rectangular), 3² over 12 for scatter,
    and 5² over 3 and 2² over 12 for the micrometer on the journal, in µm²."""
    found = play("with: bore_gauge", "with: micrometer")
    iron, light = MATERIALS["grey iron"].expansion, MATERIALS["aluminium 356"].expansion
    # Nobody says how warm the shop was: 20 °C within 10 K, alike for both, and the scale drops out.
    warmth = (float(iron) * 60050 - float(light) * 59990) ** 2 * 100 / 3
    assert float(variance(found)) * 1e6 == pytest.approx(
        (9 + 25) / 3 + 9 / 12 + 25 / 3 + 4 / 12 + warmth, rel=1e-3
    )


def test_the_micrometer_that_set_the_bore_gauge_drops_out_of_the_play() -> None:
    apart = play("with: bore_gauge, set_with: micrometer", "with: micrometer, tool: M2")
    shared = play("with: bore_gauge, set_with: M2", "with: micrometer, tool: M2")
    assert variance(apart) - variance(shared) == pytest.approx(2 * D("0.005") ** 2 / 3)
    certified = "with: micrometer, tool: M2, limit_of_error: 0.002 mm"
    with_certificate = play("with: bore_gauge, set_with: M2", certified)
    assert variance(with_certificate) == variance(shared)


def test_what_a_common_setting_is_worth() -> None:
    """Computed here (GUM 5.2.2): u 3.8 and 4.2 µm make 5.7 µm for the play if
    independent, and 3.9 µm once a shared 2.9 µm is taken out."""
    shared = Part("micrometer", D("2.9") ** 2, D(5), "M2")
    bore = Part("gauge", D("3.8") ** 2 - D("2.9") ** 2, D(5))
    shaft = Part("feel", D("4.2") ** 2 - D("2.9") ** 2, D(5))
    with localcontext(WORKING):
        outer = Taken({"": D(70)}, D(5), own=(bore, shared))
        inner = Taken({"": D(69)}, D(5), own=(shaft, shared))
        together = operators.clearance(outer, inner)
        lone = Part("micrometer", shared.variance, D(5))
        apart = operators.clearance(
            Taken({"": D(70)}, D(5), own=(bore, lone)), Taken({"": D(69)}, D(5), own=(shaft, lone))
        )
    assert together is not None
    assert apart is not None
    assert round(float(together.variance) ** 0.5, 1) == 3.9
    assert round(float(apart.variance) ** 0.5, 1) == 5.7
    # Within one reading nothing is known of how errors go together, so a taper keeps them.
    with localcontext(WORKING):
        taper = operators.spread(Taken({"a": D(70), "b": D(69)}, D(5), own=(shared,)))
    assert taper is not None
    assert taper.variance == 2 * shared.variance


PARTS = st.lists(
    st.tuples(st.decimals("0.001", "0.02", places=3), st.sampled_from(["", "M1", "M2"])),
    min_size=1,
    max_size=4,
)


@given(PARTS, PARTS)
def test_shared_causes_against_the_uncertainties_package(
    hole: list[tuple[Decimal, str]], shaft: list[tuple[Decimal, str]]
) -> None:
    """`uncertainties` keeps correlations by identity: one variable for each cause, scaled."""
    causes = {"M1": ufloat(0, 1), "M2": ufloat(0, 1)}

    def parts(given_: list[tuple[Decimal, str]]) -> tuple[tuple[Part, ...], object]:
        made: list[Part] = []
        peer = 60
        for half, cause in given_:
            made.append(either_way("error", half, cause=cause))
            u = float(half) / 3**0.5
            peer += causes[cause] * u if cause else ufloat(0, u)
        return tuple(made), peer

    with localcontext(WORKING):
        (outer, one), (inner, other) = parts(hole), parts(shaft)
        measure = operators.clearance(
            Taken({"": D(60)}, D(0), own=outer), Taken({"": D(60)}, D(0), own=inner)
        )
        assert measure is not None
        budget = budget_of(measure, "play", "mm")
        assert budget.variance == pytest.approx(measure.variance, abs=D("1e-45"))
    peer = one - other  # type: ignore[operator]
    assert float(measure.variance) == pytest.approx(peer.std_dev**2, rel=1e-9, abs=1e-15)


def test_a_budget_lists_what_a_measure_rests_on() -> None:
    found = play("with: bore_gauge, set_with: M2", "with: micrometer, tool: M2", "temperature: 28 °C")
    assert found.measure is not None
    budget = budget_of(found.measure, "play", "mm")
    names = [line.name for line in budget.lines()]
    assert "limit of error of M2" in names
    assert "temperature of the shop" in names
    assert any("repeatability" in name for name in names)
    assert budget.value == found.measure.value
    assert budget.variance == pytest.approx(found.measure.variance, rel=D("1e-40"))
    assert sum(line.share for line in budget.lines()) == pytest.approx(D(1))


@pytest.mark.parametrize(("metal", "micrometres"), [("grey iron", "14.7"), ("aluminium 356", "27.7")])
def test_a_warm_part_reads_more_than_it_is(metal: Metal, micrometres: str) -> None:
    """Computed here from the expansions of Callister's appendix B: a bore of 86 mm at 35 °C, by a gauge that
    is right at any temperature."""
    warm = warmth_at(metal, None, D(35))
    assert round((1 - warm.factor) * 86 * 1000, 1) == pytest.approx(D(micrometres), abs=D("0.05"))


def test_an_aluminium_piston_in_an_iron_bore_at_shop_temperature() -> None:
    """Computed here, with the expansions of Callister's appendix B: both of 86 mm and at 28 °C, the play
    is 6.9 µm more at 20 °C than in the shop. Whatever the scale is made of, since both were read with it."""
    with localcontext(WORKING):
        for scale in ("steel", None):
            bore, piston = warmth_at("grey iron", scale, D(28)), warmth_at("aluminium 356", scale, D(28))
            assert round(86 * (bore.factor - piston.factor) * 1000, 1) == D("6.9")


def test_the_same_through_a_typed_case() -> None:
    cold, warm = (
        play("with: micrometer", "with: micrometer", f"temperature: {each} °C") for each in ("20", "28")
    )
    assert cold.measure is not None
    assert warm.measure is not None
    gained = (warm.measure.value - cold.measure.value) * 1000
    expansion = (MATERIALS["aluminium 356"].expansion - MATERIALS["grey iron"].expansion) * 60 * 8 * 1000
    assert gained == pytest.approx(expansion, abs=D("0.02"))
    assert warm.measure.variance > cold.measure.variance
    untold = play("with: micrometer", "with: micrometer")
    assert untold.measure is not None
    assert untold.measure.value == cold.measure.value
    assert untold.measure.variance > warm.measure.variance


def test_a_part_with_a_temperature_of_its_own() -> None:
    """By hand: only the journal is 10 K warmer than shop and scale, and of 59.99 mm it shrinks by 12.9 µm."""
    head = "temperature: 20 °C"
    cold = play("with: micrometer", "with: micrometer", head)
    warm = play("with: micrometer", "with: micrometer, temperature: 30 °C", head)
    assert cold.measure is not None
    assert warm.measure is not None
    assert round((warm.measure.value - cold.measure.value) * 1000, 1) == D("12.9")


@given(st.sampled_from(sorted(MATERIALS)), st.decimals("-10", "45", places=1))
def test_a_part_of_the_scales_own_metal_needs_no_correction(metal: Metal, shop: Decimal) -> None:
    """Scale and part of one metal and equally warm: the reading is the size at 20 °C, and how warm it was
    hardly matters."""
    warm = warmth_at(metal, metal, shop)
    assert warm.factor == pytest.approx(D(1), abs=D("1e-40"))
    of_shop = [part for part in warm.parts if part.cause]
    assert all(part.variance < D("1e-20") for part in of_shop)


@given(st.sampled_from(sorted(MATERIALS)), st.decimals("-10", "45", places=1))
def test_a_metal_that_nobody_names_is_no_surer_than_any_that_is_known(metal: Metal, shop: Decimal) -> None:
    known, unknown = warmth_at(metal, "steel", shop), warmth_at(None, "steel", shop)
    spread = sum((part.variance for part in unknown.parts), D(0)).sqrt()
    assert abs(known.factor - unknown.factor) <= spread * D(3).sqrt() + D("1e-12")
