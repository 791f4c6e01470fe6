"""Figures that cannot be right, that disagree, or that were taken after the work: none is passed as sound.

The rig's journals are 60 mm when new, worn out at 0.050 mm below that, and measured to 0.005 mm. A limit for
new of 0.010 mm is added here.
"""

from __future__ import annotations

import pytest

from advisor.sheets.engine import EngineSheet
from advisor.verdicts.model import Verdict
from tests.decide import small
from tests.decide.deciding import decide_text, on, small_rules

FOUND = "found_sizes: [{part: shaft_journal, size: 0 mm, read_on: the backs of the shells}]\n"
GROUND = "done: [{operation: grind, part: shaft_journal, to_size: -0.25 mm}]\n"


@pytest.fixture(scope="module")
def sheet() -> EngineSheet:
    """The rig, with a limit for freshly ground journals."""
    limit = "    limits:\n      - {dimension: wear, purpose: new, at_most: 0.010 mm, read_at: p. 4}\n"
    return small.engine(small_rules(), small.ENGINE.replace("    limits:\n", limit, 1))


def _journal(sheet: EngineSheet, head: str, figures: str, *, moment: str = "clean") -> Verdict:
    """The verdict on journal 2 with these figures at its four positions, front x to rear y."""
    positions = zip(("front x", "front y", "rear x", "rear y"), figures.split("; "), strict=True)
    values = ", ".join(f"{position}: {figure}" for position, figure in positions)
    sound = ", ".join(f"{p}: 59.995 mm" for p in ("front x", "front y", "rear x", "rear y"))
    text = f"""{head}
bench:
  - part: shaft_journal
    place: 1, 3
    moment: {moment}
    otherwise: none
    readings: {{diameter: {{with: micrometer, values: {{{sound}}}}}}}
  - part: shaft_journal
    place: 2
    moment: {moment}
    otherwise: none
    readings: {{diameter: {{with: micrometer, values: {{{values}}}}}}}
  - {{part: half_shell, place: all, otherwise: none}}
"""
    return on(decide_text(text, small_rules(), sheet), "shaft_journal", "2")


def test_the_figures_of_a_sound_journal_are_sound(sheet: EngineSheet) -> None:
    assert _journal(sheet, FOUND, "59.99 mm; 59.99 mm; 59.99 mm; 59.99 mm").verdict == "reuse"


@pytest.mark.parametrize(
    ("found", "figure"),
    [
        ("0 mm", "69.98 mm"),  # a slipped digit
        ("0 mm", "599.9 mm"),  # a slipped point
        ("-0.25 mm", "59.99 mm"),  # it measures standard, and is said to have been ground
        ("0 mm", "60.02 mm"),  # more on it than a new one may have
    ],
)
def test_a_figure_that_cannot_be_right_settles_nothing(sheet: EngineSheet, found: str, figure: str) -> None:
    head = FOUND.replace("0 mm", found)
    verdict = _journal(sheet, head, "; ".join([figure] * 4))
    assert verdict.verdict == "undecided"
    assert "reuse" in verdict.possible
    assert {"recondition", "replace"} & set(verdict.possible)
    assert any("cannot be right" in ask.says for ask in verdict.asks)


def test_less_than_any_part_wears_to_is_asked_about_and_lets_nothing_back(sheet: EngineSheet) -> None:
    """A slipped point, or a wreck: it is not condemned on that, and it does not go back as it is either."""
    verdict = _journal(sheet, FOUND, "; ".join(["5.998 mm"] * 4))
    assert (verdict.verdict, verdict.possible) == ("undecided", ("recondition", "replace"))
    assert any("cannot be right" in ask.says for ask in verdict.asks)
    assert any("cannot be right" in note for note in verdict.notes)


def test_a_part_may_be_off_its_size_by_its_tolerance_and_the_reading_by_its_error(sheet: EngineSheet) -> None:
    assert _journal(sheet, FOUND, "60.015 mm; 60.01 mm; 60.0 mm; 60.0 mm").verdict == "reuse"


def test_repeated_readings_far_apart_are_not_averaged(sheet: EngineSheet) -> None:
    apart = _journal(sheet, FOUND, "[59.90 mm, 59.999 mm]; 59.99 mm; 59.99 mm; 59.99 mm")
    assert apart.verdict == "undecided"
    assert any("cannot both be right" in ask.says for ask in apart.asks)
    near = _journal(sheet, FOUND, "[59.985 mm, 59.993 mm]; 59.99 mm; 59.99 mm; 59.99 mm")
    assert near.verdict == "reuse"


def test_after_grinding_the_size_it_was_brought_to_is_the_one_it_had(sheet: EngineSheet) -> None:
    ground = FOUND + GROUND
    assert _journal(sheet, ground, "; ".join(["59.745 mm"] * 4), moment="after machining").possible != (
        "replace",
    )
    text_sound = "; ".join(["59.748 mm"] * 4)
    sound = FOUND + GROUND
    verdict = _on_all_ground(sheet, sound, text_sound)
    assert (verdict.verdict, verdict.ground) == ("reuse", "sound")


def test_what_was_just_ground_is_held_to_the_limit_for_new(sheet: EngineSheet) -> None:
    # 0.02 mm short: inside what a used journal may be, and twice what a fresh one may.
    verdict = _on_all_ground(sheet, FOUND + GROUND, "; ".join(["59.730 mm"] * 4))
    assert verdict.verdict != "reuse"
    assert "reuse" not in verdict.possible
    (reason,) = [each for each in verdict.reasons if each.rule == "journal-worn"]
    assert "the limit for new" in reason.evidence[0].says
    # The same wear on a journal that nobody has ground is no reason to throw it out.
    assert _journal(sheet, FOUND, "; ".join(["59.980 mm"] * 4)).verdict == "reuse"


def test_ground_to_nobody_says_what_size_it_asks(sheet: EngineSheet) -> None:
    unsaid = FOUND + GROUND.replace(", to_size: -0.25 mm", "")
    verdict = _on_all_ground(sheet, unsaid, "; ".join(["59.748 mm"] * 4))
    assert verdict.verdict == "undecided"
    assert any("brought to" in ask.says for ask in verdict.asks)


def _on_all_ground(sheet: EngineSheet, head: str, figures: str) -> Verdict:
    """The verdict on journal 2 where all journals measure alike after grinding."""
    positions = zip(("front x", "front y", "rear x", "rear y"), figures.split("; "), strict=True)
    values = ", ".join(f"{position}: {figure}" for position, figure in positions)
    text = f"""{head}
bench:
  - part: shaft_journal
    place: all
    moment: after machining
    otherwise: none
    readings: {{diameter: {{with: micrometer, values: {{{values}}}}}}}
  - {{part: half_shell, place: all, otherwise: none}}
"""
    return on(decide_text(text, small_rules(), sheet), "shaft_journal", "2")


def test_what_is_beyond_discard_is_not_said_to_be_inside_it() -> None:
    limits = "    limits:\n" + "".join(
        f"      - {{dimension: taper, purpose: {purpose}, at_most: {most}, read_at: p. 4}}\n"
        for purpose, most in (("reassembly", "0.010 mm"), ("discard", "0.020 mm"))
    )
    sheet = small.engine(small_rules(), small.ENGINE.replace("    limits:\n", limits, 1))
    # No rule of the small set looks at taper, so the verdict stays and the note has to speak.
    verdict = _journal(sheet, FOUND, "59.990 mm; 59.990 mm; 59.955 mm; 59.955 mm")
    assert verdict.verdict == "reuse"
    told = [note for note in verdict.notes if note.startswith("taper")]
    assert ["beyond its discard limit" in note for note in told] == [True]
    within = _journal(sheet, FOUND, "59.990 mm; 59.990 mm; 59.972 mm; 59.972 mm")
    assert any("only in its own place" in note for note in within.notes)
