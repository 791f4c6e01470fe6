"""Forecasts of what is measured on a bench: when there is one, and that it is the calculator's."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings

from advisor.gauging.lasting import Running
from advisor.verdicts.model import Verdict, WearForecast
from tests.decide import small
from tests.decide.deciding import bare, decide_data, decide_text, on, plain, small_rules
from tests.decide.generate import cases

D = Decimal
PLACES = ("front x", "front y", "rear x", "rear y")
HOURS = "hours: 3000 h\nhours_wanted: {wanted} h\n"


def journals(size: str, error: str, wanted: str = "1000", head: str = HOURS) -> str:
    values = ", ".join(f"{place}: {size}" for place in PLACES)
    return f"""{head.format(wanted=wanted)}
found_sizes: [{{part: shaft_journal, size: 0 mm, read_on: the web}}]
bench:
  - part: shaft
    findings: {{crack: none}}
  - part: half_shell
    place: all
    findings: {{scoring: none, particles: none}}
    readings: {{bore: {{with: micrometer, value: 60.000 mm}}}}
  - part: shaft_journal
    place: all
    findings: {{heat: none, scoring: none}}
    readings: {{diameter: {{with: micrometer, limit_of_error: {error} mm, values: {{{values}}}}}}}
"""


def judged(text: str, engine: str = small.ENGINE) -> Verdict:
    return on(decide_text(text, sheet=small.engine(small_rules(), engine)), "shaft_journal", "1")


def forecast(text: str, engine: str = small.ENGINE) -> WearForecast:
    (found,) = judged(text, engine).forecasts
    return found


U = "0.00692820323"
"""Half a rectangle, in mm, whose standard uncertainty is 0.004 mm."""


def test_the_worked_example_through_the_whole_of_decide() -> None:
    """Worked out by hand: 0.030 ± 0.004 mm in 3000 h, limit 0.050 mm: 2000 h, but 1100 h at the 5 % bound."""
    found = forecast(journals("59.970 mm", U))
    assert (found.hours_run, found.hours_left, found.at_least, found.at_most) == (3000, 2000, 1100, 3405)
    assert found.look_again == 1000
    assert found.outcome == "lasts"
    assert not found.beyond_observed


@pytest.mark.parametrize(
    ("wanted", "outcome"),
    [("1000", "lasts"), ("2000", "cannot be told"), ("3400", "cannot be told"), ("3500", "does not last")],
)
def test_a_reuse_that_will_not_last_is_said_to_be_so(wanted: str, outcome: str) -> None:
    verdict = judged(journals("59.970 mm", U, wanted))
    (found,) = verdict.forecasts
    assert (verdict.verdict, found.outcome, found.hours_wanted) == ("reuse", outcome, int(wanted))
    said = [note for note in verdict.notes if f"the {wanted} h wanted" in note]
    assert len(said) == (outcome != "lasts")
    if said:
        assert ("will not stay" in said[0]) == (outcome == "does not last")
        assert ("further ahead than the 3000 h" in said[0]) == (int(wanted) > 3000)
        assert ("further ahead" in said[0]) == found.beyond_observed


@pytest.mark.parametrize("head", ["", "hours: 3000 h\n", "hours_wanted: 3000 h\n"])
def test_unknown_hours_say_nothing(head: str) -> None:
    verdict = judged(journals("59.970 mm", U, head=head))
    assert verdict.forecasts == ()
    assert not any("wanted" in note for note in verdict.notes)


def test_the_tolerance_of_a_new_part_is_where_wear_begins() -> None:
    """New anywhere from 0 to 0.020: wear of 0.020 since, and 0.020 left, so as many hours again."""
    new = small.ENGINE.replace(
        "    repair_sizes:",
        "      - {dimension: wear, purpose: new, at_most: 0.020 mm}\n    repair_sizes:",
        1,
    )
    with_new, without = forecast(journals("59.970 mm", U), new), forecast(journals("59.970 mm", U))
    assert (with_new.when_new, without.when_new) == ("0.010 mm", "0.000 mm")
    assert with_new.hours_left == 3000
    assert without.hours_left == 2000
    # Nobody knows where in its tolerance it was: the rate is less sure than by the reading alone.
    assert with_new.at_least / 3000 < without.at_least / 2000


PLAY = small.ENGINE.replace(
    "    limits:\n      - {dimension: play, purpose: discard, at_most: 0.120 mm, read_at: p. 5}",
    "    limits:\n      - {dimension: play, purpose: discard, at_most: 0.120 mm, read_at: p. 5}\n"
    "      - {dimension: play, purpose: new, at_least: 0.020 mm, at_most: 0.040 mm, read_at: p. 5}",
)


def test_a_play_that_was_there_when_new_grows_from_the_middle_of_its_tolerance() -> None:
    """Play 0.060, 0.030 when new, 0.120 at the end: 0.030 in 3000 h, so 6000 h more."""
    text = journals("59.990 mm", U).replace("value: 60.000 mm", "value: 60.050 mm")
    sheet = small.engine(small_rules(), PLAY)
    shell = on(decide_text(text, sheet=sheet), "half_shell", "1 upper")
    (found,) = shell.forecasts
    assert (found.dimension, found.when_new, found.hours_left) == ("play", "0.030 mm", 6000)
    # Without the play when new there is no telling how much of it is wear.
    shell = on(decide_text(text), "half_shell", "1 upper")
    assert shell.forecasts == ()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("size: 0 mm", "size: -0.25 mm"),
        (f"{PLACES[3]}: 59.970 mm", f"{PLACES[3]}: not looked at"),
        (
            "  - part: shaft_journal\n    place: all\n    findings",
            "  - part: shaft_journal\n    place: all\n    moment: after machining\n    findings",
        ),
    ],
    ids=["ground before", "not all measured", "machined since"],
)
def test_hours_that_are_not_the_parts_own_foretell_nothing(old: str, new: str) -> None:
    text = journals("59.970 mm", U)
    assert old in text
    assert judged(text.replace(old, new)).forecasts == ()


def test_what_is_at_its_limit_already_needs_no_forecast() -> None:
    assert judged(journals("59.950 mm", U)).forecasts == ()


def test_hours_of_nothing_are_not_known() -> None:
    assert Running.of(D(0), D(3600)) is None
    assert Running.of(None, D(3600)) is None
    assert Running.of(D(7200), D(3600)) == Running(D(2), D(1))


@settings(max_examples=60)
@given(cases())
def test_hours_change_no_verdict(data: dict[str, object]) -> None:
    without = decide_data({**data})
    hours = decide_data({**data, "hours": "4000 h", "hours_wanted": "9000 h"})

    def stripped(verdict: object) -> object:
        told = plain(bare(verdict))
        told.pop("forecasts")
        told["notes"] = [note for note in told["notes"] if "9000 h wanted" not in note]
        return told

    assert list(map(stripped, hours.verdicts)) == list(map(stripped, without.verdicts))
