"""What a verdict means, point by point, through the whole of `decide` on the small rule set."""

from __future__ import annotations

from dataclasses import replace

import pytest

from advisor.sheets.conditions import State
from advisor.verdicts.judge import NOTHING_BARS
from advisor.verdicts.model import Decision
from tests.decide.deciding import decide_data, decide_text, demo, demo_data, demo_rules, on

ALL_JOURNALS = """
found_sizes: [{part: shaft_journal, size: 0 mm, read_on: the web}]
bench:
  - part: shaft
    findings: {crack: none}
  - part: shaft_journal
    place: all
    readings:
      diameter:
        with: exact_micrometer
        values: {front x: 59.990 mm, front y: 59.990 mm, rear x: 59.990 mm, rear y: 59.990 mm}
    findings: {heat: none, scoring: none}
"""

SOUND_SHELLS = """
  - part: half_shell
    place: all
    findings: {scoring: none, particles: none}
    readings: {bore: {with: micrometer, value: 60.000 mm}}
"""


def worn(place: int, size: str) -> str:
    """An entry after machining time: a journal at another size, taken over the one for all."""
    return f"""
  - part: shaft_journal
    place: {place}
    moment: after machining
    readings:
      diameter:
        with: exact_micrometer
        values: {{front x: {size}, front y: {size}, rear x: {size}, rear y: {size}}}
"""


def sound() -> Decision:
    return decide_text(ALL_JOURNALS + SOUND_SHELLS)


def test_looked_at_and_measured_and_nothing_bars_is_reuse_with_its_reasons() -> None:
    journal = on(sound(), "shaft_journal", "2")
    assert (journal.verdict, journal.ground, journal.possible) == ("reuse", "sound", ("reuse",))
    (reason,) = journal.reasons
    assert reason.because == NOTHING_BARS
    (line,) = reason.evidence
    assert (line.name, line.value, line.limit) == ("wear", "0.010 mm", "at most 0.050 mm")
    assert [cite.source for cite in reason.cites] == ["made_up"]
    assert journal.cleared == ("journal-worn",)


def test_evidence_that_was_asked_for_is_a_reason_for_reuse() -> None:
    shell = on(sound(), "half_shell", "1 upper")
    assert shell.verdict == "reuse"
    asked = shell.reasons[0]
    assert asked.because == "in doubt a shell is renewed"
    assert [(line.name, line.value) for line in asked.evidence] == [("scoring", "none")]


def test_a_bar_that_nothing_mends_condemns() -> None:
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS.replace("particles: none", "particles: many"))
    shell = on(decision, "half_shell", "3 lower")
    assert (shell.verdict, shell.ground, shell.possible) == ("replace", "condemned", ("replace",))
    assert [(reason.rule, reason.because) for reason in shell.reasons] == [
        ("shell-particles", "many particles cut the journal")
    ]
    assert shell.asks == ()


def test_a_bar_that_feasible_work_mends_is_recondition_and_names_the_work() -> None:
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.900 mm"))
    journal = on(decision, "shaft_journal", "2")
    assert (journal.verdict, journal.ground) == ("recondition", "condemned")
    (work,) = journal.operations
    assert (work.operation, work.done_by, work.steps) == (
        "grind",
        "machine shop",
        ("keep the fillet radius",),
    )
    assert "sparks" in journal.cautions, "a caution of the work is inherited"
    assert [reason.rule for reason in journal.reasons] == ["journal-worn"]


def test_a_bar_whose_work_cannot_be_done_is_replace() -> None:
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.300 mm"))
    journal = on(decision, "shaft_journal", "2")
    assert (journal.verdict, journal.possible, journal.operations) == ("replace", ("replace",), ())


def test_a_size_is_held_as_a_band_until_somebody_indicates_it() -> None:
    # Worn 0.100: even all round 0.15 with stock, all on one side 0.25 and a little more.
    case = ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.900 mm")
    journal = on(decide_text(case), "shaft_journal", "2")
    assert journal.verdict == "recondition", "only a size is in doubt, so the verdict stands"
    assert journal.operations[0].sizes == ("-0.250 mm", "-0.500 mm")
    assert len(journal.held) == 1
    assert "-0.250 mm and -0.500 mm" in journal.held[0]
    told = (
        "\ncleans_up: [{part: shaft_journal, place: 2, operation: grind, size: 59.760 mm, by: the grinder}]\n"
    )
    closed = on(decide_text(told + case), "shaft_journal", "2")
    assert closed.operations[0].sizes == ("-0.250 mm",)
    assert closed.held == ()


def test_work_that_may_not_be_feasible_leaves_it_undecided_and_asks_for_the_worn_side() -> None:
    case = ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.700 mm")
    journal = on(decide_text(case), "shaft_journal", "2")
    assert journal.possible == ("recondition", "replace")
    assert [ask.kind for ask in journal.asks] == ["worn side"]
    told = "\ncleans_up: [{part: shaft_journal, place: 2, operation: grind, size: %s, by: the grinder}]\n"
    assert on(decide_text(told % "59.510 mm" + case), "shaft_journal", "2").verdict == "recondition"
    assert on(decide_text(told % "59.400 mm" + case), "shaft_journal", "2").verdict == "replace"


def test_nothing_is_reused_for_lack_of_evidence() -> None:
    decision = decide_text("bench: []")
    assert all(verdict.verdict != "reuse" for verdict in decision.verdicts)
    shaft = on(decision, "shaft")
    assert (shaft.verdict, shaft.ground, shaft.possible) == ("undecided", "open", ("reuse", "replace"))
    assert [ask.reading for ask in shaft.asks if ask.part == "shaft"] == ["crack"]


@pytest.mark.parametrize("state", ["lost", "could not be judged"])
def test_evidence_that_cannot_be_had_ends_on_its_safe_side(state: State) -> None:
    decision = decide_text(f"bench: [{{part: half_shell, place: 1 upper, findings: {{scoring: {state}}}}}]")
    shell = on(decision, "half_shell", "1 upper")
    assert (shell.verdict, shell.ground, shell.possible) == ("replace", "safe side", ("replace",))
    (reason,) = shell.reasons
    assert reason.because == "in doubt a shell is renewed"
    assert state in reason.evidence[0].says
    assert shell.asks == ()


@pytest.mark.parametrize("state", ["lost", "could not be measured"])
def test_without_a_safe_side_it_stays_undecided_and_asks_for_nothing_more(state: str) -> None:
    text = ALL_JOURNALS + SOUND_SHELLS.replace("particles: none", "particles: many")
    text += f"""
  - part: shaft_journal
    place: 1
    moment: after machining
    readings: {{diameter: {{value: {state}}}}}
"""
    text = (
        "\ncleans_up: [{part: shaft_journal, place: 1, operation: grind, size: 59.8 mm, by: the grinder}]"
        "\ndone: [{operation: grind, part: shaft_journal, place: 1}]" + text
    )
    journal = on(decide_text(text), "shaft_journal", "1")
    assert journal.verdict == "undecided"
    assert journal.asks == ()
    assert any("risk by name" in note for note in journal.notes)
    risk = "\nrisks: [{part: shaft_journal, place: 1, answer: reuse, by: M. Reed, because: it ran well}]\n"
    risky = on(decide_text(risk + text), "shaft_journal", "1")
    assert risky.verdict == "undecided", "a risk taken is a course, never a verdict"
    assert (risky.course.answer, risky.course.ground) == ("reuse", "risk taken by name")
    assert "M. Reed" in risky.course.because


def test_a_risk_changes_nothing_where_something_can_still_be_looked_at() -> None:
    text = "risks: [{part: shaft, answer: reuse, by: M. Reed, because: a hurry}]\nbench: []"
    shaft = on(decide_text(text), "shaft")
    assert shaft.asks
    assert (shaft.course.answer, shaft.course.ground) == ("undecided", "open")


def test_what_was_not_opened_is_not_judged_and_says_so() -> None:
    decision = decide_text("bench: [{part: half_shell, place: 2, opened: no}, {part: gasket, opened: no}]")
    for shell in (on(decision, "half_shell", "2 upper"), on(decision, "gasket")):
        assert (shell.verdict, shell.ground, shell.opened) == ("undecided", "open", False)
        assert "not opened, not judged" in shell.notes
        assert shell.asks == ()
        assert shell.not_looked_at == ()


def test_a_kind_of_which_no_rule_speaks_is_never_reused() -> None:
    lever = on(sound(), "lever")
    assert (lever.verdict, lever.possible, lever.asks) == ("undecided", ("reuse", "replace"), ())
    assert any("no rule in this rule set speaks of this kind" in note for note in lever.notes)


def test_no_kind_without_a_barring_rule_is_reused_in_the_demo() -> None:
    rules = replace(
        demo_rules(),
        rules=tuple(rule for rule in demo_rules().rules if rule.for_ != "piston"),
    )
    sheet = demo().sheet
    decision = decide_data(demo_data(), rules, sheet)
    pistons = [verdict for verdict in decision.verdicts if verdict.part == "piston"]
    assert pistons
    assert {verdict.verdict for verdict in pistons} == {"undecided"}


def test_a_verdict_stands_where_one_answer_is_left_and_only_there() -> None:
    decision = decide_data(demo_data(), demo_rules(), demo().sheet)
    for verdict in (*decision.verdicts, *sound().verdicts, *decide_text("bench: []").verdicts):
        assert (verdict.verdict != "undecided") == (len(verdict.possible) == 1), (verdict.part, verdict.place)
    # Renewed whatever its state, so that no rule need speak of it.
    assert (on(decision, "head_gasket").verdict, on(decision, "head_gasket").ground) == ("replace", "routine")


def test_renewed_as_a_matter_of_course_is_routine() -> None:
    gasket = on(sound(), "gasket")
    assert (gasket.verdict, gasket.ground) == ("replace", "routine")
    assert [reason.rule for reason in gasket.reasons] == ["gasket-always"]


def test_a_shell_from_an_unknown_place_stands_for_those_it_may_be() -> None:
    text = (
        ALL_JOURNALS
        + SOUND_SHELLS.replace("place: all", "place: 1, 3")
        + ("\n  - {part: half_shell, place: unknown, tag: bag, from_among: 2, findings: {scoring: none}}\n")
        + ("  - {part: half_shell, place: unknown, tag: box, from_among: 2}\n")
    )
    decision = decide_text(text)
    bag = on(decision, "half_shell", "unknown", tag="bag")
    assert (bag.verdict, bag.ground) == ("replace", "condemned")
    assert [reason.rule for reason in bag.reasons] == ["shell-mixed-up"]
    places = [verdict.place for verdict in decision.verdicts if verdict.part == "half_shell"]
    assert places == ["1 upper", "1 lower", "3 upper", "3 lower", "unknown", "unknown"]


def test_a_shell_from_an_unknown_place_taints_every_journal_it_may_have_run_on() -> None:
    text = ALL_JOURNALS + SOUND_SHELLS.replace("place: all", "place: 3")
    text += "".join(
        f"  - {{part: half_shell, place: unknown, tag: {tag}, from_among: '1, 2', findings: {{{seen}}}}}\n"
        for tag, seen in zip("ABCD", ["particles: many", "", "", ""], strict=True)
    )
    suspects = {step.place for step in decide_text(text).steps if step.rule == "journal-under-dirt"}
    assert suspects == {"1", "2"}


def test_own_place_is_said_with_reuse_and_only_with_reuse() -> None:
    decision = sound()
    note = "put back only in its own place"
    assert note in on(decision, "half_shell", "1 upper").notes
    assert note not in on(decision, "shaft_journal", "1").notes
    scored = decide_text(ALL_JOURNALS + SOUND_SHELLS.replace("scoring: none", "scoring: deep"))
    assert note not in on(scored, "half_shell", "1 upper").notes


def test_between_reassembly_and_discard_it_is_reused_only_where_it_was() -> None:
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS + worn(3, "59.960 mm"))
    journal = on(decision, "shaft_journal", "3")
    assert journal.verdict == "reuse", "only a discard limit condemns"
    assert [note for note in journal.notes if "beyond the limit for reassembly" in note]
    assert not [note for note in on(decision, "shaft_journal", "1").notes if "reassembly" in note]


def test_a_task_goes_with_reuse_and_needs_the_firing_to_be_certain() -> None:
    shaft = on(sound(), "shaft")
    assert [(task.task, task.because) for task in shaft.tasks] == [("polish", "nothing speaks against it")]
    assert on(decide_text("bench: []"), "shaft").tasks == (), "it may fire, and need not"
    cracked = decide_text(ALL_JOURNALS.replace("crack: none", "crack: line"))
    assert on(cracked, "shaft").tasks == (), "no task on what is replaced"


def test_in_doubt_against_a_discard_limit_is_undecided_and_asks_for_a_better_instrument() -> None:
    text = (ALL_JOURNALS + worn(1, "59.951 mm")).replace("with: exact_micrometer", "with: micrometer")
    journal = on(decide_text(text), "shaft_journal", "1")
    assert journal.verdict == "undecided"
    (ask,) = journal.asks
    assert (ask.reading, ask.kind) == ("wear", "dimension")
    assert "more exactly" in ask.says
    assert "a better micrometer" in ask.instruments
    exact = on(decide_text(ALL_JOURNALS + worn(1, "59.951 mm")), "shaft_journal", "1")
    assert exact.verdict == "reuse"


def test_caution_of_the_kind_is_on_every_item_of_it() -> None:
    assert on(sound(), "shaft").cautions == ("heavy",)
    assert on(decide_text("bench: []"), "shaft").cautions == ("heavy",)
    assert on(sound(), "lever").cautions == ()


def test_what_nobody_looked_at_is_shown_and_blocks_nothing() -> None:
    journal = on(
        decide_text(ALL_JOURNALS.replace(", scoring: none", "") + SOUND_SHELLS), "shaft_journal", "1"
    )
    assert journal.not_looked_at == ("scoring",)
    assert journal.verdict == "reuse"


def test_a_rule_is_told_as_a_step_with_what_it_used_and_concluded() -> None:
    decision = decide_text(ALL_JOURNALS.replace("heat: none", "heat: blue") + SOUND_SHELLS)
    hot = [step for step in decision.steps if step.rule == "shaft-hot"]
    assert [(step.certain, step.concludes) for step in hot] == [(True, ("suspect",))]
    assert [(line.kind, line.name, line.place) for line in hot[0].uses] == [
        ("concern", "overheated", place) for place in ("1", "2", "3")
    ]
