"""`advisor gauge`: sizes, uncertainties, limits, budgets and repair sizes, for people and for programs."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from tests.cli.rig import DEMO, Ran, Rig

Run = Callable[..., Ran]


def told(run: Run, rig: Rig, *more: str) -> str:
    done = run("gauge", rig.case, *more, "--rules", rig.rules)
    assert (done.code, done.err) == (0, "")
    return done.out


def flat(text: str) -> str:
    return " ".join(text.split())


def in_json(run: Run, rig: Rig, *more: str) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(told(run, rig, *more, "--json"))
    assert answer["format"] == 1
    return answer


def test_a_size_with_its_uncertainty_and_its_limits(run: Run, rig: Rig) -> None:
    out = told(run, rig, "shaft_journal", "3", "--both")
    assert out.startswith("Journal 3\n")
    words = flat(out)
    # ± 1.96 · 0.005 / √3 mm, in the sheet's units with the other in brackets.
    assert "wear: 0.100 mm (0.0039 in), ± 0.0048 mm (0.0002 in) at 95 %" in words
    assert "From diameter (outside micrometer)." in words
    assert "Limits from the engine sheet, p. 4." in words
    assert "discard: at most 0.050 mm (0.0020 in): ABOVE, 0.050 mm (0.0020 in) too far" in words
    assert "reassembly: at most 0.030 mm (0.0012 in): ABOVE" in words
    assert max(map(len, out.splitlines())) <= 80
    assert "\x1b" not in out


def test_limits_stand_in_a_table_and_their_source_is_told_once(run: Run, rig: Rig) -> None:
    out = told(run, rig, "shaft_journal", "3")
    row = next(line for line in out.splitlines() if line.strip().startswith("discard"))
    assert row.split() == ["discard", "at", "most", "0.050", "mm", "ABOVE", "0.050", "mm", "too", "far"]
    assert "(0.0" not in out, "one system of units unless both are asked for"
    assert out.count("Limits from the engine sheet, p. 4.") == 1


def test_the_repair_size_and_what_decides_it(run: Run, rig: Rig) -> None:
    words = flat(told(run, rig, "shaft_journal"))
    assert words.count("Repair size: grind to undersize") == 1, "one band for the set is told once"
    assert "to clean up it goes 0.145 mm to 0.260 mm from new" in words
    assert "decided by journal 3. One size for journal 1 to 3." in words


def test_the_budget_is_shown_when_it_is_asked_for(run: Run, rig: Rig) -> None:
    assert "Uncertainty, by its sources" not in told(run, rig, "shaft_journal", "3")
    words = flat(told(run, rig, "shaft_journal", "3", "--budget"))
    # 0.005 / √3.
    assert "limit of error: 0.0029 mm" in words
    assert "100 %" in words


def test_the_shares_of_a_budget_come_to_all_of_it(run: Run, rig: Rig) -> None:
    for item in in_json(run, rig)["items"]:
        for each in item["dimensions"]:
            if each["size"]:
                shares = [int(line["share"].removesuffix(" %")) for line in each["budget"]]
                assert abs(sum(shares) - 100) <= len(shares)


def test_a_doubt_says_what_would_settle_it(run: Run, rig: Rig) -> None:
    text = rig.case.read_text(encoding="utf-8").replace("59.900 mm", "59.951 mm").replace("59.905", "59.951")
    rig.case.write_text(text, encoding="utf-8")
    words = flat(told(run, rig, "shaft_journal", "3"))
    assert "at most 0.050 mm IN DOUBT 0.001 mm" in words
    assert "It takes ± 0.001 mm" in words
    assert "to tell: a better micrometer." in words


def test_what_is_not_worked_out_says_what_it_wants(run: Run, rig: Rig) -> None:
    words = flat(told(run, rig, "half_shell", "3", "lower"))
    assert words.startswith("Half shell 3 lower")
    assert "Not worked out: oil clearance (wants fitted bore)." in words


def test_without_a_part_all_that_was_measured_is_shown(run: Run, rig: Rig) -> None:
    out = told(run, rig)
    assert [line for line in out.splitlines() if line and not line.startswith(" ")] == [
        "Journal 1",
        "Journal 2",
        "Journal 3",
    ]
    assert [(item["part"], item["place"]) for item in in_json(run, rig)["items"]] == [
        ("shaft_journal", "1"),
        ("shaft_journal", "2"),
        ("shaft_journal", "3"),
    ]


def test_a_case_without_a_size_says_so(run: Run, rig: Rig) -> None:
    rig.case.write_text("format: 1\ncase: an empty case\nengine_sheet: engine.yaml\n", encoding="utf-8")
    assert told(run, rig) == "Nothing is measured in this case.\n"
    assert in_json(run, rig)["items"] == []


def test_a_forecast_stands_beside_what_wears(run: Run, rig: Rig) -> None:
    assert "Forecast" not in told(run, rig, "shaft_journal", "1")
    text = rig.case.read_text(encoding="utf-8")
    rig.case.write_text(f"{text}hours: 2000 h\nhours_wanted: 9000 h\n", encoding="utf-8")
    words = flat(told(run, rig, "shaft_journal", "1"))
    assert "Forecast: " in words
    assert "9000 h more with a probability of" in words
    assert "that were watched" in words
    item = in_json(run, rig, "shaft_journal", "1")["items"][0]
    (wear,) = [each for each in item["dimensions"] if each["dimension"] == "wear"]
    assert wear["forecast"]["hours_wanted"] == 9000
    assert wear["forecast"]["beyond_observed"] is True


def test_a_part_that_stays_shut_and_a_word_nobody_knows(run: Run, rig: Rig) -> None:
    assert "Not opened, not measured." in told(run, rig, "lever")
    for words in (("shaft_jurnal",), ("shaft_journal", "9")):
        done = run("gauge", rig.case, *words, "--rules", rig.rules)
        assert (done.code, done.out) == (2, "")
        assert "shaft_journal" in done.err


def test_inches_go_first_on_a_sheet_in_inches(run: Run, rig: Rig) -> None:
    sheet = rig.engine.read_text(encoding="utf-8")
    rig.engine.write_text(sheet.replace("engine: the rig", "engine: the rig\nunits: inch"), encoding="utf-8")
    assert "wear: 0.0039 in (0.100 mm), ± 0.0002" in flat(told(run, rig, "shaft_journal", "3", "--both"))


@pytest.mark.parametrize("width", ["80", "40"])
def test_the_demo_fits_the_paper(run: Run, monkeypatch: pytest.MonkeyPatch, width: str) -> None:
    monkeypatch.setenv("COLUMNS", width)
    done = run("gauge", DEMO, "--budget")
    assert (done.code, done.err) == (0, "")
    wide = [line for line in done.out.splitlines() if len(line) > int(width) and " " in line.strip()]
    assert wide == []
    for word in ("main_journal", "half_shell"):
        assert word not in done.out
