"""Limits that look like a slip of the unit, remarked on with the sheet and beside what they let back."""

from __future__ import annotations

import pytest

from advisor.authoring.remarks import engine_remarks
from advisor.gauging.slips import far_limits
from advisor.sheets.text import parse
from tests.gauging.trial import ENGINE, STANDARD, bore, journal, rules, sheet, verdict

_WEAR = "{dimension: journal_wear, purpose: discard, at_most:"
WEAR = (f"{_WEAR} 0.060 mm", f"{_WEAR} 0.060 in")


def far(*edits: tuple[str, str]) -> list[tuple[str, str, str]]:
    return [
        (each.part, each.limit.dimension, each.limit.purpose) for each in far_limits(sheet(edits), rules())
    ]


def test_nothing_is_said_of_a_sheet_that_is_right() -> None:
    assert far() == []


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        (*WEAR, ("main_journal", "journal_wear", "discard")),
        (
            "main_clearance, purpose: discard, at_most: 0.150 mm",
            "main_clearance, purpose: discard, at_most: 0.150 in",
            ("main_journal", "main_clearance", "discard"),
        ),
        (
            "{dimension: bore_wear, purpose: reassembly, at_most: 0.080 mm, read_at: p. 2-7}",
            "{dimension: bore_wear, purpose: reassembly, at_most: 0.100 mm, read_at: p. 2-7}",
            None,
        ),
        (
            "{dimension: end_play, purpose: discard, at_most: 0.310 mm",
            "{dimension: end_play, purpose: discard, at_most: 0.310 in",
            ("crankshaft", "end_play", "discard"),
        ),
        (
            "{dimension: bolt_stretch, purpose: discard, at_most: 0.20 mm",
            "{dimension: bolt_stretch, purpose: discard, at_most: 0.20 in",
            ("rod_bolt", "bolt_stretch", "discard"),
        ),
    ],
)
def test_an_inch_for_a_millimetre(old: str, new: str, what: tuple[str, str, str] | None) -> None:
    assert far((old, new)) == ([] if what is None else [what])


def test_without_any_other_limit_the_size_or_the_handbook_tells() -> None:
    lone = tuple(
        (
            f"      - {{dimension: journal_wear, purpose: {purpose}, at_most: {size} mm, read_at: p. 3-7}}\n",
            "",
        )
        for purpose, size in (("new", "0.020"), ("reassembly", "0.035"))
    )
    found = [each for each in far_limits(sheet((*lone, WEAR)), rules()) if each.part == "main_journal"]
    assert [each.why for each in found] == ["2.2 % of the new size (70.000 mm)"]


def test_the_remark_names_the_line_and_says_what_to_look_at() -> None:
    text = ENGINE.read_text("utf-8").replace(*WEAR)
    (remark,) = engine_remarks(sheet((WEAR,)), rules(), parse(text, "engine.yaml"))
    assert remark.at is not None
    assert "0.060 in for discard, which is 44 times the limit for reassembly (0.035 mm)" in remark.what
    assert "in for mm" in remark.mend


def test_what_goes_back_by_such_a_limit_says_so() -> None:
    text = journal("69.880 mm").replace(
        "readings:", "findings: {crack_test: none}\n    otherwise: none\n    readings:"
    ) + bore("69.950 mm")
    found = verdict(text, "main_journal", "2", STANDARD, (WEAR,))
    noted = [note for note in found.notes if "looks like a slip" in note]
    assert (found.verdict, len(noted)) == ("reuse", 1)
    assert "0.060 in" in noted[0]
