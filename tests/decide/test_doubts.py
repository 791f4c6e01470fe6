"""In doubt: it asks for the instrument that can tell; where none can, it names the safe side."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.verdicts.model import Verdict
from tests.decide.deciding import decide_text, on
from tests.decide.test_verdicts import ALL_JOURNALS, SOUND_SHELLS, worn


def journal(size: str, instrument: str = "micrometer") -> Verdict:
    """Journal 1 of the rig, read with one instrument; its wear may be 0.050 mm."""
    text = ALL_JOURNALS + SOUND_SHELLS + worn(1, size).replace("exact_micrometer", instrument)
    return on(decide_text(text), "shaft_journal", "1")


def test_the_ask_says_how_exact_it_has_to_be_and_with_what() -> None:
    verdict = journal("59.951 mm")
    (ask,) = verdict.asks
    # A rectangle alone: 0.95 of its ± 0.005 mm; of what it takes, 0.9 may reach to the limit.
    assert "0.049 mm (± 0.0048 mm at 95 %)" in ask.says
    assert "it takes ± 0.001 mm or better" in ask.says
    assert ask.instruments == ("a better micrometer",)
    (doubt,) = verdict.doubts
    assert (doubt.dimension, doubt.purpose, doubt.limit) == ("wear", "discard", "at most 0.050 mm")
    assert [[use.instrument for use in way] for way in doubt.ways] == [["exact_micrometer"]]
    assert (doubt.settled_by_measuring, doubt.safe_side) == (True, "recondition")
    assert not any("safe side" in note for note in verdict.notes)


def test_where_no_instrument_can_tell_it_says_so_and_names_the_safe_side() -> None:
    verdict = journal("59.9499 mm", "exact_micrometer")
    assert (verdict.verdict, verdict.possible, verdict.asks) == ("undecided", ("reuse", "recondition"), ())
    (doubt,) = verdict.doubts
    assert (doubt.ways, doubt.settled_by_measuring, doubt.safe_side) == ((), False, "recondition")
    (said,) = [note for note in verdict.notes if note.startswith("wear: ")]
    assert "no listed instrument can" in said
    assert said.endswith("the safe side is to recondition")
    assert any(note.startswith("nothing more can be looked at") for note in verdict.notes)


def test_on_the_limit_itself_it_says_that() -> None:
    verdict = journal("59.950 mm", "exact_micrometer")
    assert any("it lies on the limit itself" in note for note in verdict.notes)


def test_near_the_limit_by_a_coarse_instrument_a_new_reading_is_worth_asking_for() -> None:
    verdict = journal("59.950 mm")
    (ask,) = verdict.asks
    assert ask.instruments == ("a better micrometer",)
    assert "of 100 cases" in ask.says


def test_the_risk_of_what_nobody_can_tell_may_be_taken_by_name() -> None:
    text = ALL_JOURNALS + SOUND_SHELLS + worn(1, "59.950 mm")
    text += "risks: [{part: shaft_journal, place: 1, answer: reuse, by: M. Reed, because: it ran well}]\n"
    verdict = on(decide_text(text), "shaft_journal", "1")
    assert (verdict.verdict, verdict.course.answer) == ("undecided", "reuse")


@given(st.integers(-40, 40))
def test_a_size_with_the_instrument_asked_for_is_settled_or_was_not_promised_to_be(tenths: int) -> None:
    size = f"{(599500 + tenths) / 10000:.4f} mm"
    verdict = journal(size)
    again = journal(size, "exact_micrometer")
    assert [doubt for doubt in again.doubts if doubt.ways] == []
    for doubt in verdict.doubts:
        assert bool(doubt.ways) == (again.verdict != "undecided")
        if again.verdict != "undecided":
            assert again.verdict in ("reuse", doubt.safe_side)


@pytest.mark.parametrize("size", ["59.990 mm", "59.900 mm"])
def test_what_is_clear_of_the_limit_is_no_doubt(size: str) -> None:
    verdict = journal(size)
    assert verdict.doubts == ()
    assert verdict.asks == ()
