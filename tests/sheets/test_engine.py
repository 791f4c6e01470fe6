"""Engine sheets and cases that are sound: what is let through, and what their digests show."""

from __future__ import annotations

import tracemalloc
from decimal import Decimal
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.faults import Faults
from advisor.sheets.case import CaseSheet, Value
from advisor.sheets.digest import dump
from advisor.sheets.engine import EngineSheet, Limit
from advisor.sheets.engine_check import MOST_ON_AXIS, load_engine, treatments
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from tests.decide import small


@cache
def rules() -> RuleSet:
    with TemporaryDirectory() as folder:
        return small.ruleset(Path(folder))


def codes(text: str, rule_set: RuleSet | None = None) -> list[str]:
    try:
        small.engine(rule_set or rules(), text)
    except Faults as faults:
        return [fault.code for fault in faults.faults]
    return []


@cache
def two_sided() -> RuleSet:
    """The small rule set, with wear that may be limited from below too."""
    two = "formulas: [{operator: below_size, reading: diameter}]\n    sides: [at_most, at_least]"
    vocabulary = small.VOCABULARY.replace("formulas: [{operator: below_size, reading: diameter}]", two)
    with TemporaryDirectory() as folder:
        return small.ruleset(Path(folder), vocabulary=vocabulary)


def limits(*texts: str) -> str:
    """The rig with other limits for its journals, each the inside of a mapping."""
    start, end = small.ENGINE.index("      - {dimension: wear"), small.ENGINE.index("    repair_sizes:")
    lines = "".join(f"      - {{{text}}}\n" for text in texts)
    return small.ENGINE[:start] + lines + small.ENGINE[end:]


def test_a_sheet_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "engine.yaml"
    path.write_text(small.ENGINE, encoding="utf-8")
    assert load_engine(path, rules()) == small.engine(rules())


@pytest.mark.parametrize(
    ("new", "reassembly", "discard", "sound"),
    [
        ("at_most: 0.02 mm", "at_most: 0.03 mm", "at_most: 0.05 mm", True),
        ("at_most: 0.05 mm", "at_most: 0.05 mm", "at_most: 0.05 mm", True),
        ("at_most: 0.02 mm", "at_most: 0.06 mm", "at_most: 0.05 mm", False),
        ("at_most: 0.04 mm", "at_most: 0.03 mm", "at_most: 0.05 mm", False),
        ("at_least: 0.9 mm", "at_least: 0.8 mm", "at_least: 0.7 mm", True),
        ("at_least: 0.9 mm", "at_least: 0.8 mm", "at_least: 0.85 mm", False),
        (
            "at_least: 0.08 mm, at_most: 0.18 mm",
            "at_least: 0.08 mm, at_most: 0.25 mm",
            "at_most: 0.31 mm",
            True,
        ),
        (
            "at_least: 0.08 mm, at_most: 0.18 mm",
            "at_least: 0.09 mm, at_most: 0.25 mm",
            "at_most: 0.31 mm",
            False,
        ),
        ("at_most: 1 thou", "at_most: 0.0254 mm", "at_most: 0.001 in", True),
        ("at_most: 1 thou", "at_most: 0.0254 mm", "at_most: 0.0009999 in", False),
    ],
)
def test_new_lies_inside_reassembly_and_reassembly_inside_discard(
    new: str, reassembly: str, discard: str, sound: bool
) -> None:
    sides = {"new": new, "reassembly": reassembly, "discard": discard}
    text = limits(*(f"dimension: wear, purpose: {purpose}, {side}" for purpose, side in sides.items()))
    turned = limits(
        *(f"dimension: wear, purpose: {purpose}, {side}" for purpose, side in reversed(sides.items()))
    )
    for each in (text, turned):
        assert codes(each, two_sided()) == ([] if sound else ["limit-nesting"])


@pytest.mark.parametrize(
    ("new", "discard", "sound"),
    [
        ("at_least: 0.01 mm, at_most: 0.02 mm", "at_most: 0.05 mm", True),
        ("at_most: 0.02 mm", "at_least: 0.05 mm", False),
        ("at_least: 0.02 mm", "at_least: 0.01 mm, at_most: 0.05 mm", True),
    ],
)
def test_a_looser_purpose_keeps_a_side_of_the_tighter_one(new: str, discard: str, sound: bool) -> None:
    """What wears one way only may have one side less at its end; another side altogether is a slip."""
    text = limits(f"dimension: wear, purpose: new, {new}", f"dimension: wear, purpose: discard, {discard}")
    assert codes(text, two_sided()) == ([] if sound else ["limit-side"])


def test_a_limit_lies_on_the_side_on_which_a_size_goes_wrong() -> None:
    assert codes(limits("dimension: wear, purpose: discard, at_least: 0.05 mm")) == ["limit-side"]
    assert codes(limits("dimension: taper, purpose: discard, at_least: 0.05 mm")) == ["limit-side"]
    assert codes(limits("dimension: wear, purpose: discard, at_least: 0.05 mm"), two_sided()) == []


def test_limits_of_two_dimensions_have_nothing_to_do_with_one_another() -> None:
    one, other = "dimension: wear, purpose: reassembly", "dimension: taper, purpose: discard"
    assert codes(limits(f"{one}, at_most: 1 mm", f"{other}, at_most: 0.1 mm")) == []


def test_an_absurd_count_is_refused_before_a_place_is_laid_out() -> None:
    text = small.ENGINE.replace("journal: 3", "journal: 999999999")
    rule_set = rules()
    tracemalloc.start()
    try:
        with pytest.raises(Faults, match="too-many-places"):
            small.engine(rule_set, text)
        assert tracemalloc.get_traced_memory()[1] < 1_000_000
    finally:
        tracemalloc.stop()


def test_the_largest_engine_that_is_let_through_is_laid_out() -> None:
    sheet = small.engine(rules(), small.ENGINE.replace("journal: 3", f"journal: {MOST_ON_AXIS}"))
    case, document = small.case("bench: []\n")
    assert len(lay_out(sheet, case, rules(), document).items) == 3 + 3 * MOST_ON_AXIS
    assert codes(small.ENGINE.replace("journal: 3", f"journal: {MOST_ON_AXIS + 1}")) == ["too-many-places"]


def test_oversizes_and_undersizes_each_go_one_way() -> None:
    steps = "steps: [-0.25 mm, -0.50 mm]"
    for sizes in ("[0.25 mm, 0.50 mm]", "[-0.25 mm]", "[-10 thou, -0.5 mm]", "[-0.50 mm, -0.25 mm]"):
        assert codes(small.ENGINE.replace(steps, f"steps: {sizes}")) == []


@pytest.mark.parametrize(
    ("steps", "furthest", "sound"),
    [
        ("-0.25 mm, -0.50 mm", "59.50 mm", True),
        ("-0.25 mm, -0.50 mm", "59.60 mm", True),
        ("-0.25 mm, -0.50 mm", "59.75 mm", True),
        ("-0.25 mm, -0.50 mm", "59.751 mm", False),
        ("-0.25 mm, -0.50 mm", "60.50 mm", False),
        ("-0.25 mm, -0.50 mm", "54.00 mm", True),
        ("-0.25 mm, -0.50 mm", "53.99 mm", False),
        ("-0.25 mm, -0.50 mm", "0.50 mm", False),
        ("0.25 mm, 0.50 mm", "66.00 mm", True),
        ("0.25 mm, 0.50 mm", "66.01 mm", False),
        ("0.25 mm, 0.50 mm", "60.50 mm", True),
        ("0.25 mm, 0.50 mm", "59.50 mm", False),
        ("0.25 mm, 0.50 mm", "0.50 mm", False),
    ],
)
def test_the_furthest_size_lies_where_the_steps_go(steps: str, furthest: str, sound: bool) -> None:
    text = small.ENGINE.replace(
        "steps: [-0.25 mm, -0.50 mm], stock: 0.05 mm",
        f"steps: [{steps}], stock: 0.05 mm, furthest: {furthest}",
    )
    assert codes(text) == ([] if sound else ["repair-furthest"])


def test_digests_tell_what_is_said_and_not_how_it_is_ordered() -> None:
    sheet = small.engine(rules())
    gasket, lever = "  gasket: {}\n", "  lever: {}\n"
    turned = small.engine(rules(), small.ENGINE.replace(gasket + lever, lever + gasket))
    other = small.engine(rules(), small.ENGINE.replace("0.050 mm", "0.051 mm"))
    assert sheet.digest == turned.digest != other.digest


def test_sheet_and_case_are_written_as_they_were_typed() -> None:
    sheet = small.engine(rules())
    assert dump(sheet)["parts"]["shaft_journal"]["new"] == {"diameter": "60.000 mm"}
    assert EngineSheet.model_validate(dump(sheet)) == sheet
    case, _ = small.case(
        "bench: {part: half_shell, place: '1', "
        "readings: {bore: {with: micrometer, value: [60.05 mm, 2.3641 in]}}}\n"
    )
    assert dump(case)["bench"][0]["readings"]["bore"] == {
        "with": "micrometer",
        "value": ["60.05 mm", "2.3641 in"],
    }
    assert CaseSheet.model_validate(dump(case)) == case


def test_one_bench_entry_stands_for_a_list_of_one() -> None:
    case, _ = small.case("bench: {part: shaft, findings: {crack: none}}\n")
    assert [entry.part for entry in case.bench] == ["shaft"]


@pytest.mark.parametrize(
    ("written", "taken", "state"),
    [
        ("60.05 mm", [Decimal("60.05")], None),
        (["60.05 mm", "1 in"], [Decimal("60.05"), Decimal("25.4")], None),
        ("could not be measured", [], "could not be judged"),
        ("lost", [], "lost"),
    ],
)
def test_what_may_stand_at_a_position(written: object, taken: list[Decimal], state: str | None) -> None:
    value = Value.read(written)
    assert ([each.value for each in value.taken], value.state) == (taken, state)
    assert value.written() == written
    assert Value.read(value) is value


def test_a_treatment_that_nobody_knows_is_none() -> None:
    part = small.engine(rules()).parts["shaft"]
    assert treatments(part, {"treatment": ["none", "nitrided"], "lining": ["tin"]}) == {
        "treatment": "nitrided",
        "lining": None,
    }


@given(st.decimals("-5", "5", places=3), st.decimals("-5", "5", places=3))
def test_a_limit_leaves_room_or_is_refused(low: Decimal, high: Decimal) -> None:
    body = {"dimension": "wear", "purpose": "new", "at_least": f"{low} mm", "at_most": f"{high} mm"}
    if low <= high:
        assert Limit.model_validate(body).at_most is not None
    else:
        with pytest.raises(ValueError, match="leave nothing between them"):
            Limit.model_validate(body)


@pytest.mark.parametrize(
    ("new", "code"),
    [
        # A slip in the new size shows where the sizes that hang on it no longer fit.
        ("6.000 mm", "repair-furthest"),
        ("600.00 mm", "repair-furthest"),
        ("0 mm", "size-not-positive"),
        ("-60 mm", "size-not-positive"),
    ],
)
def test_a_new_size_that_cannot_be_is_refused(new: str, code: str) -> None:
    text = small.ENGINE.replace("stock: 0.05 mm", "stock: 0.05 mm, furthest: 59.000 mm")
    assert code in codes(text.replace("diameter: 60.000 mm", f"diameter: {new}"))


@pytest.mark.parametrize(("step", "sound"), [("-6.00 mm", True), ("-6.01 mm", False), ("-25 mm", False)])
def test_a_repair_size_lies_within_a_tenth_of_the_new_size(step: str, sound: bool) -> None:
    found = codes(small.ENGINE.replace("-0.50 mm", step))
    assert found == ([] if sound else ["repair-size-far"])


@pytest.mark.parametrize(("limit", "sound"), [("5.99 mm", True), ("6 mm", False), ("50 mm", False)])
def test_a_limit_for_wear_leaves_the_part_over(limit: str, sound: bool) -> None:
    assert codes(small.ENGINE.replace("at_most: 0.050 mm", f"at_most: {limit}")) == (
        [] if sound else ["limit-beyond-part"]
    )


def test_a_sheet_for_another_rule_set_is_told_that_and_no_more() -> None:
    text = small.ENGINE.replace("ruleset: trial", "ruleset: other").replace("shaft_journal:", "axle:")
    assert codes(text) == ["other-ruleset"]


def test_a_sheet_may_say_which_of_the_places_there_are() -> None:
    text = small.ENGINE.replace("  shaft_journal:\n", "  shaft_journal:\n    places: ['1']\n")
    case, document = small.case("bench: {part: shaft_journal, place: all}\n")
    bench = lay_out(small.engine(rules(), text), case, rules(), document)
    assert [item.key.place for item in bench.items if item.key.kind == "shaft_journal"] == [("1",)]
    assert codes(text.replace("places: ['1']", "places: ['9']")) == ["unknown-place"]
