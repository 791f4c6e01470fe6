"""Tolerances that no listed instrument can prove, found from the engine sheet alone."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.gauging import Confidence, Measure, standing
from advisor.gauging.provable import Unprovable, unprovable
from advisor.gauging.spread import deviate
from advisor.sheets.crosscheck import load_ruleset
from tests.decide import small
from tests.decide.deciding import small_rules

D = Decimal
FINE = 0.0005 / 3**0.5
"""Standard uncertainty in mm of one reading with the better of the rig's micrometers."""


def found(journal: str = "", shell: str = "") -> list[Unprovable]:
    text = small.ENGINE
    if journal:
        text = text.replace("    repair_sizes:", f"      - {{{journal}}}\n    repair_sizes:", 1)
    if shell:
        text = text.replace("  gasket: {}", f"      - {{{shell}}}\n  gasket: {{}}", 1)
    rules = small_rules()
    return list(unprovable(small.engine(rules, text), rules))


def test_the_rig_itself_has_none() -> None:
    assert found() == []


@pytest.mark.parametrize(
    ("limit", "provable"),
    [
        # A difference of two readings, u = √2 · 0.29 = 0.41 µm, must leave 1.645 u = 0.67 µm above nothing.
        ("dimension: taper, purpose: new, at_most: 0.0006 mm", False),
        ("dimension: taper, purpose: new, at_most: 0.0007 mm", True),
        # Guarded, since a wrong reuse of a journal is grave.
        ("dimension: taper, purpose: discard, at_most: 0.0006 mm", False),
        # Wear may come out below nothing, and then keeps any limit.
        ("dimension: wear, purpose: new, at_most: 0.0001 mm", True),
    ],
)
def test_a_limit_too_close_to_nothing(limit: str, provable: bool) -> None:
    assert [each.limit.dimension for each in found(limit)] == ([] if provable else ["taper"])


def test_it_says_what_there_is_and_what_it_takes() -> None:
    (each,) = found("dimension: taper, purpose: new, at_most: 0.0006 mm")
    assert (each.part, each.instruments) == ("shaft_journal", ("exact_micrometer",))
    assert float(each.best) == pytest.approx(2**0.5 * FINE, rel=1e-9)
    assert float(each.needed) == pytest.approx(0.0006 / float(deviate(D("0.95"), D("0.5"))), rel=1e-6)


def test_a_discard_limit_that_holds_its_own_margin_is_not_looked_at() -> None:
    """The shells of the rig are not of a guarded class: two-sided, and as narrow as can be."""
    play = "dimension: play, purpose: {}, at_least: 0.0500 mm, at_most: 0.0501 mm"
    assert [each.part for each in found(shell=play.format("reassembly"))] == ["half_shell"]
    sheet = small.ENGINE.replace("at_most: 0.120 mm", "at_least: 0.1200 mm, at_most: 0.1201 mm")
    assert list(unprovable(small.engine(small_rules(), sheet), small_rules())) == []


@given(st.integers(1, 200))
def test_two_sided_it_is_told_where_no_size_at_all_would_stand_inside(tenths: int) -> None:
    """Held against every size there could be, a tenth of a micron apart."""
    low, high = D("0.05"), D("0.05") + D(tenths) / 10_000
    told = found(shell=f"dimension: play, purpose: new, at_least: {low} mm, at_most: {high} mm")
    # The bore by the rig's only instrument for it, the journal by the better one.
    lead = D("0.005") ** 2 / 3
    variance = lead + D("0.0005") ** 2 / 3
    inside = [
        step
        for step in range(2 * tenths + 1)
        if standing(Measure(low + D(step) / 20_000, variance, lead=lead), low, high, Confidence())
        == frozenset(("inside",))
    ]
    assert bool(told) == (not inside)


def test_an_instrument_that_does_not_reach_does_not_count(tmp_path: Path) -> None:
    rules = small.ruleset(tmp_path)
    text = (tmp_path / "instruments.yaml").read_text(encoding="utf-8")
    (tmp_path / "instruments.yaml").write_text(
        text.replace("limit: 0.0005 mm,", "limit: 0.0005 mm, up_to: 25 mm,"), encoding="utf-8"
    )
    short = load_ruleset(tmp_path)
    limit = "      - {dimension: taper, purpose: new, at_most: 0.004 mm}\n    repair_sizes:"
    sheet = small.ENGINE.replace("    repair_sizes:", limit, 1)
    assert list(unprovable(small.engine(rules, sheet), rules)) == []
    (each,) = unprovable(small.engine(short, sheet), short)
    assert each.instruments == ("micrometer",)
