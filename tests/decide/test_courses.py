"""The course beside the verdict: what goes with its set, what follows from other work, and causes."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.verdicts.model import Decision, Verdict
from tests.decide import small
from tests.decide.deciding import decide_data, decide_text, demo, demo_data, demo_rules, on
from tests.decide.test_verdicts import ALL_JOURNALS, SOUND_SHELLS, worn

SCORED_SHELL = """
  - {part: half_shell, place: 3 lower, moment: after machining, findings: {scoring: deep}}
"""


def of(decision: Decision, part: str) -> list[Verdict]:
    return [verdict for verdict in decision.verdicts if verdict.part == part]


def test_without_more_the_course_is_the_verdict() -> None:
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS)
    assert {(v.course.answer, v.course.ground) for v in of(decision, "half_shell")} == {
        ("reuse", "as judged")
    }
    lever = on(decision, "lever")
    assert (lever.course.answer, lever.course.ground) == ("undecided", "open")


def test_a_whole_set_goes_with_its_first_condemned_member_and_stays_judged_as_it_is() -> None:
    shells = of(decide_text(ALL_JOURNALS + SOUND_SHELLS + SCORED_SHELL), "half_shell")
    assert {shell.course.answer for shell in shells} == {"replace"}
    for shell in shells:
        if shell.place == "3 lower":
            assert (shell.verdict, shell.course.ground) == ("replace", "as judged")
        else:
            assert (shell.verdict, shell.course.ground) == ("reuse", "goes with its set, itself sound")
            assert "half shell 3 lower is condemned" in shell.course.because


def test_an_undecided_member_goes_with_its_set_too() -> None:
    text = ALL_JOURNALS + SCORED_SHELL.replace("moment: after machining, ", "")
    shell = on(decide_text(text), "half_shell", "1 upper")
    assert (shell.verdict, shell.course.answer, shell.course.ground) == (
        "undecided",
        "replace",
        "goes with its set",
    )


def test_a_set_that_need_not_be_whole_keeps_its_sound_members(tmp_path: Path) -> None:
    vocabulary = small.VOCABULARY.replace(
        'shells, kinds: [half_shell], whole: "true"', "shells, kinds: [half_shell]"
    )
    apart = small.ruleset(tmp_path, vocabulary=vocabulary)
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS + SCORED_SHELL, apart, small.engine(apart))
    assert on(decision, "half_shell", "3 lower").verdict == "replace"
    assert on(decision, "half_shell", "1 upper").course.answer == "reuse"


def test_one_size_serves_a_set_and_what_must_match_is_renewed_in_that_size() -> None:
    decision = decide_text(ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.900 mm"))
    for journal in of(decision, "shaft_journal"):
        assert (journal.course.answer, journal.course.size) == ("recondition", "-0.250 mm to -0.500 mm")
    fellow = on(decision, "shaft_journal", "1")
    assert (fellow.verdict, fellow.course.ground) == ("reuse", "goes with its set, itself sound")
    assert "journal 2" in fellow.course.because
    for shell in of(decision, "half_shell"):
        assert (shell.verdict, shell.course.answer) == ("reuse", "replace")
        assert shell.course.ground == "follows from another decision"
        assert shell.course.size == "-0.250 mm to -0.500 mm", "the same size everywhere"


def test_the_size_is_the_one_that_the_worst_of_the_set_needs() -> None:
    told = (
        "\ncleans_up: [{part: shaft_journal, place: 2, operation: grind, size: 59.600 mm, by: the grinder}]\n"
    )
    text = ALL_JOURNALS + SOUND_SHELLS + worn(1, "59.900 mm") + worn(2, "59.720 mm")
    open_yet = decide_text(text)
    assert on(open_yet, "shaft_journal", "1").possible == ("recondition", "replace"), "they share one size"
    decision = decide_text(told + text)
    sizes = {
        verdict.course.size for part in ("shaft_journal", "half_shell") for verdict in of(decision, part)
    }
    assert sizes == {"-0.500 mm"}


def test_a_condemned_shell_is_bought_in_the_size_that_the_journal_comes_to() -> None:
    shells = of(decide_text(ALL_JOURNALS + SOUND_SHELLS + SCORED_SHELL + worn(2, "59.900 mm")), "half_shell")
    assert {shell.course.size for shell in shells} == {"-0.250 mm to -0.500 mm"}
    condemned = next(shell for shell in shells if shell.place == "3 lower")
    assert condemned.course.ground == "as judged"


def test_a_whole_that_is_replaced_takes_its_parts_with_it() -> None:
    text = ALL_JOURNALS.replace("crack: none", "crack: line") + SOUND_SHELLS
    journal = on(decide_text(text), "shaft_journal", "1")
    assert (journal.verdict, journal.course.answer) == ("reuse", "replace")
    assert journal.course.ground == "follows from another decision"
    assert "shaft is replaced" in journal.course.because


def test_no_work_is_begun_on_a_part_while_its_whole_is_undecided() -> None:
    text = ALL_JOURNALS.replace("crack: none", "crack: not looked at") + SOUND_SHELLS + worn(2, "59.900 mm")
    decision = decide_text(text)
    for place in ("1", "2"):
        journal = on(decision, "shaft_journal", place)
        assert (journal.course.answer, journal.course.held) == ("recondition", True)
        assert "shaft is undecided" in journal.course.because
    sound = decide_text(ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.900 mm"))
    assert not on(sound, "shaft_journal", "2").course.held


INDICATED = """
cleans_up: [{part: shaft_journal, place: 2, operation: grind, size: 59.760 mm, by: the grinder}]
"""


def test_nothing_is_ordered_before_the_size_and_the_work_it_must_match_are_settled() -> None:
    unseen = ALL_JOURNALS.replace("crack: none", "crack: not looked at")
    for bench, told, held in (
        (ALL_JOURNALS, INDICATED, False),
        (ALL_JOURNALS, "", True),
        (unseen, INDICATED, True),
    ):
        shells = of(decide_text(told + bench + SOUND_SHELLS + worn(2, "59.900 mm")), "half_shell")
        assert {(shell.course.answer, shell.course.held) for shell in shells} == {("replace", held)}
        assert all(("order after" in shell.course.because) == held for shell in shells)
    # A shell that is condemned anyway waits for its size as well.
    shells = of(decide_text(ALL_JOURNALS + SOUND_SHELLS + SCORED_SHELL + worn(2, "59.900 mm")), "half_shell")
    assert {shell.course.held for shell in shells} == {True}


def test_no_part_is_renewed_for_work_on_what_is_replaced() -> None:
    text = ALL_JOURNALS.replace("crack: none", "crack: line") + SOUND_SHELLS + worn(2, "59.900 mm")
    decision = decide_text(text)
    journal = on(decision, "shaft_journal", "2")
    assert (journal.verdict, journal.course.answer, journal.course.size) == ("recondition", "replace", "")
    for shell in of(decision, "half_shell"):
        assert (shell.course.answer, shell.course.size) == ("reuse", "")


def test_what_work_renews_may_end_other_work(tmp_path: Path) -> None:
    # The shaft itself is renewed to match the bent lever: then nothing is ground and no shell bought.
    vocabulary = small.VOCABULARY.replace(
        "    because: brings it true\n",
        """    because: brings it true
  bend_lever:
    {label: bend the lever, kinds: [lever], done_by: shop, renews: {moves: shaft}, because: it is bent}
""",
    )
    vocabulary = vocabulary.replace(
        "relations:\n", "relations:\n  moves: {label: moves, links: [{of: lever, to: shaft}]}\n"
    ).replace(
        "assembly: controls\n    answers: [reuse, replace]",
        "assembly: controls\n    answers: [reuse, recondition, replace]",
    )
    vocabulary = vocabulary.replace(
        "readings:\n",
        """  bend:
    label: bend
    kinds: [lever]
    look: against a straightedge
    extents: {none: straight, bent: bent}
readings:
""",
        1,
    )
    rule = """
  - id: lever-bent
    for: lever
    when: {finding: bend, at_least: bent}
    then: {bar: {answers: reuse, mend: bend_lever}}
    because: a bent lever sticks
    cite: [{source: made_up}]
    examples: {fires: [{bend: bent}], holds: [{}]}
"""
    rules = small.ruleset(tmp_path, rules=small.RULES.rstrip("\n") + "\n" + rule, vocabulary=vocabulary)
    text = ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.900 mm")
    bent = text + "  - {part: lever, findings: {bend: bent}}\n"
    decision = decide_text(bent, rules, small.engine(rules))
    assert on(decision, "lever").course.answer == "recondition"
    assert (on(decision, "shaft").verdict, on(decision, "shaft").course.answer) == ("reuse", "replace")
    assert {v.course.answer for v in of(decision, "shaft_journal")} == {"replace"}
    assert {v.course.answer for v in of(decision, "half_shell")} == {"reuse"}
    straight = decide_text(text + "  - {part: lever, findings: {bend: none}}\n", rules, small.engine(rules))
    assert {v.course.answer for v in of(straight, "half_shell")} == {"replace"}


def test_a_set_follows_a_member_that_is_renewed_by_name(tmp_path: Path) -> None:
    # Without a safe side a shell that nobody can judge stays open, until somebody decides it by name.
    rules = small.ruleset(
        tmp_path, vocabulary=small.VOCABULARY.replace("before: reuse, safe_side: replace", "before: reuse")
    )
    shell = "  - {part: half_shell, place: 3 lower, moment: after machining, findings: {scoring: lost}}\n"
    text = ALL_JOURNALS + SOUND_SHELLS.replace("scoring: none, ", "")
    text += "  - {part: half_shell, place: '1, 2, 3 upper', findings: {scoring: none}}\n" + shell
    risk = "\nrisks: [{part: half_shell, place: 3 lower, answer: replace, by: M. Reed, because: cheap}]\n"
    before = of(decide_text(text, rules, small.engine(rules)), "half_shell")
    assert {shell.course.answer for shell in before} == {"reuse", "undecided"}
    after = of(decide_text(risk + text, rules, small.engine(rules)), "half_shell")
    assert {shell.course.answer for shell in after} == {"replace"}
    others = [shell for shell in after if shell.place != "3 lower"]
    assert all("half shell 3 lower is replaced" in shell.course.because for shell in others)


def test_a_set_follows_a_member_that_is_renewed_to_match(tmp_path: Path) -> None:
    # Each journal by itself: only the shells on the worn one must match, and the others go with them.
    vocabulary = small.VOCABULARY.replace(
        "  journals: {label: the journals, kinds: [shaft_journal], because: one undersize for all}\n", ""
    )
    rules = small.ruleset(tmp_path, vocabulary=vocabulary)
    text = ALL_JOURNALS + SOUND_SHELLS + worn(2, "59.900 mm")
    decision = decide_text(text, rules, small.engine(rules))
    assert on(decision, "shaft_journal", "1").course.answer == "reuse"
    assert on(decision, "half_shell", "2 upper").course.ground == "follows from another decision"
    other = on(decision, "half_shell", "1 upper")
    assert (other.course.answer, other.course.ground, other.course.size) == (
        "replace",
        "goes with its set, itself sound",
        "",
    )


def test_what_is_replaced_has_no_tasks_left(tmp_path: Path) -> None:
    rules = small.RULES.replace("then: {concern: overheated}", "then: {concern: overheated, task: polish}")
    trial = small.ruleset(tmp_path, rules=rules)
    text = ALL_JOURNALS.replace("heat: none", "heat: blue") + SOUND_SHELLS
    kept = on(decide_text(text, trial, small.engine(trial)), "shaft_journal", "1")
    assert [task.task for task in kept.tasks] == ["polish"]
    gone = on(
        decide_text(text.replace("crack: none", "crack: line"), trial, small.engine(trial)),
        "shaft_journal",
        "1",
    )
    assert (gone.verdict, gone.course.answer, gone.tasks) == ("reuse", "replace", ())


def test_the_course_never_changes_a_verdict(tmp_path: Path) -> None:
    text = ALL_JOURNALS + SOUND_SHELLS + SCORED_SHELL + worn(2, "59.900 mm")
    vocabulary = small.VOCABULARY.replace('whole: "true", ', "").replace("renews: {carries: half_shell}", "")
    apart = small.ruleset(tmp_path, vocabulary=vocabulary)
    one, other = decide_text(text), decide_text(text, apart, small.engine(apart))
    assert [(v.part, v.place, v.verdict, v.possible) for v in one.verdicts] == [
        (v.part, v.place, v.verdict, v.possible) for v in other.verdicts
    ]


def test_in_the_demo_every_course_is_at_least_as_harsh_as_its_verdict() -> None:
    order = ("reuse", "recondition", "replace")
    decision = decide_data(demo_data(), demo_rules(), demo().sheet)
    settled = [v for v in decision.verdicts if v.verdict != "undecided" and v.course.answer != "undecided"]
    assert settled
    assert all(order.index(v.course.answer) >= order.index(v.verdict) for v in settled)


DIRTY = ALL_JOURNALS + SOUND_SHELLS.replace("particles: none", "particles: many")


def test_a_cause_is_open_until_somebody_says_by_name_what_became_of_it() -> None:
    causes = decide_text(DIRTY).causes
    assert {(cause.concern, cause.part, cause.state, cause.certain) for cause in causes} == {
        ("dirty_oil", "half_shell", "open", True)
    }
    assert len(causes) == 6
    assert causes[0].rules == ("shell-particles",)


@pytest.mark.parametrize("state", ["found", "ruled out", "accepted"])
def test_a_cause_is_closed_by_name_and_for_that_place_only(state: str) -> None:
    told = (
        f"\ncauses: [{{concern: dirty_oil, part: half_shell, place: 2 lower, state: {state}, "
        "by: M. Reed, because: the strainer was torn}]\n"
    )
    causes = {cause.place: cause for cause in decide_text(told + DIRTY).causes}
    assert (causes["2 lower"].state, causes["2 lower"].by) == (state, "M. Reed")
    assert causes["2 lower"].because == "the strainer was torn"
    assert {cause.state for place, cause in causes.items() if place != "2 lower"} == {"open"}


def test_what_became_of_a_cause_changes_no_verdict() -> None:
    told = "\ncauses: [{concern: dirty_oil, part: half_shell, state: ruled out, by: M., because: seen}]\n"
    assert decide_text(told + DIRTY).verdicts == decide_text(DIRTY).verdicts


def test_a_cause_that_may_be_is_told_as_such_and_one_that_cannot_be_is_not() -> None:
    unseen = decide_text(ALL_JOURNALS + SOUND_SHELLS.replace("particles: none", "particles: not looked at"))
    assert {(cause.state, cause.certain) for cause in unseen.causes} == {("open", False)}
    assert decide_text(ALL_JOURNALS + SOUND_SHELLS).causes == ()
    hot = decide_text(ALL_JOURNALS.replace("heat: none", "heat: blue") + SOUND_SHELLS)
    assert hot.causes == (), "a concern that is no cause is not told as one"
