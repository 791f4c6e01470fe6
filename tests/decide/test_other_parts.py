"""What is said of one part because of another: barred on its size, work that hangs on it, fresh from work."""

from __future__ import annotations

from decimal import Decimal

from tests.gauging.trial import STANDARD, bore, journal, verdict
from tests.gauging.work_rig import item, workshop

SOUND = ("readings:", "findings: {crack_test: none}\n    otherwise: none\n    readings:")


def test_a_journal_whose_shells_are_barred_on_its_play_says_so() -> None:
    """0.160 mm of play: the shells go, the journal stays, and no note says that no rule bars on it."""
    text = journal("69.990 mm").replace(*SOUND) + bore("70.150 mm")
    text += "  - {part: main_shell, place: all, moment: strip, otherwise: none}\n"
    assert verdict(text, "main_shell", "2 lower").verdict == "replace"
    found = verdict(text, "main_journal", "2")
    assert found.verdict == "reuse"
    (said,) = [note for note in found.notes if "beyond its discard limit" in note]
    assert "bars" in said
    assert "main shell 2 lower" in said
    assert not any("no rule bars on it" in note for note in found.notes)


def test_what_was_just_made_says_to_which_limit_it_is_held() -> None:
    text = (
        journal("69.960 mm").replace(*SOUND).replace("place: 2\n", "place: 2\n    moment: after machining\n")
    )
    done = "done:\n  - {operation: grind_main_journals, part: main_journal, place: all, to_size: 0 mm}\n"
    found = verdict(text, "main_journal", "2", STANDARD + done)
    lines = [line for reason in found.reasons for line in reason.evidence if line.name == "journal_wear"]
    assert lines
    for each in lines:
        assert "the limit for new" in each.says
        assert each.limit_from.endswith("held to the limit for new, being fresh")


def test_a_run_out_that_nobody_measured_leaves_a_size_open_that_it_could_change() -> None:
    """By hand: the mains want 0.297 mm with even run-out. 0.080 mm more is the same size, 0.400 mm is not."""
    untold = ("run_out: {with: dial_indicator, value: 0.03 mm}", "run_out: {value: not looked at}")
    discard = "shaft_run_out, purpose: discard, at_most:"
    bends = (f"{discard} 0.080 mm", f"{discard} 0.400 mm")
    for engine, open_ in (((), False), ((bends,), True)):
        shop = workshop(engine, (untold,))
        band = shop.band(item(shop, "main_journal", "1"), "grind_main_journals")
        assert band is not None
        assert band.run_outs == ((item(shop, "crankshaft"),) if open_ else ())
        assert (band.possible is None) == open_
        assert band.steps[-1] == Decimal("-0.75" if open_ else "-0.50")
    shop = workshop((bends,))
    told = shop.band(item(shop, "main_journal", "1"), "grind_main_journals")
    assert told is not None
    assert (told.run_outs, told.possible) == ((), True)
