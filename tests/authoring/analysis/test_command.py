"""`advisor rules check`: what it shows, and its exit codes."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from advisor.authoring.analysis import book
from advisor.authoring.analysis.codes import SORTS
from advisor.cli import main
from tests.authoring.analysis.planted import PLANTED
from tests.authoring.analysis.sound import Data, add, sound, words, write

SAID = {"because": "it is so", "cite": [{"source": "made_up"}]}
GOOD = {
    "shell-light": {"fires": [{"scoring": "light"}], "holds": [{}]},
    "shell-deep": {"fires": [{"scoring": "deep"}], "holds": [{}]},
    "shell-play": {"fires": [{"play": "above discard"}], "holds": [{}]},
    "journal-worn": {"fires": [{"wear": "above discard"}], "holds": [{}]},
    "journal-tapered": {"fires": [{"taper": "above discard"}], "holds": [{}]},
    "journal-straw": {"fires": [{"heat": "straw"}], "holds": [{}]},
    "journal-blue": {"fires": [{"heat": "blue"}], "holds": [{}]},
    "journal-under-dirt": {
        "fires": [{"related": [{"carries": "shell", "concerns": ["dirt"]}]}],
        "holds": [{}],
    },
    "shaft-cracked": {"fires": [{"crack": "line"}], "holds": [{}]},
    "nitrided-shaft-ran-hot": {
        "fires": [
            {"made": {"treatment": "nitrided"}, "related": [{"has": "journal", "concerns": ["ran_hot"]}]}
        ],
        "holds": [{}],
    },
}
"""Examples that do as they say, by rule."""


def proved(data: Data) -> Data:
    """The rule set with examples, so that `advisor check` finds nothing wrong with it."""
    for rule in data["rules"]["rules"]:
        rule.setdefault("examples", GOOD.get(rule["id"]))
    return data


def silent_crack() -> Data:
    data = proved(sound())
    words(data, "findings")["crack"]["kinds"] = ["shaft", "journal"]
    return data


def idle_task() -> Data:
    data = proved(sound())
    words(data, "tasks")["oil_it"] = {"label": "oil it"}
    return data


@pytest.fixture(autouse=True)
def eighty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


def test_a_sound_rule_set_is_told_to_be_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write(proved(sound()), tmp_path / "rules")
    assert main(["rules", "check", str(folder)]) == 0
    shown = capsys.readouterr().out
    assert "10 rules" in shown
    assert shown.endswith("Analysed: 10 rules, 12 conditions, nothing found.\n")


def test_an_error_fails_and_is_shown_with_all_that_belongs_to_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write(silent_crack(), tmp_path / "rules")
    assert main(["rules", "check", str(folder)]) == 1
    shown = capsys.readouterr().out
    flat = " ".join(shown.split())
    assert re.search(r"vocabulary\.yaml:\d+:\d+: no rule speaks of crack on journal", flat)
    assert SORTS["finding-without-rule"].why in flat
    assert "To mend it: write a rule for journal" in flat
    assert "docs/rule-findings.md#finding-without-rule" in flat
    assert "- {part: journal, moment: strip, findings: {crack: line}, otherwise: none}" in shown
    assert flat.endswith("Analysed: 10 rules, 12 conditions: 1 error.")


def test_a_remark_does_not_fail(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write(idle_task(), tmp_path / "rules")
    assert main(["rules", "check", str(folder / "rules.yaml")]) == 0
    assert capsys.readouterr().out.endswith("12 conditions: 1 remark.\n")


def test_what_is_accepted_is_told_with_its_reason(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = silent_crack()
    entry = {"finding": "finding-without-rule", "subject": "journal: crack", "because": "It is a lesson."}
    data["ruleset"]["accept"] = [entry]
    folder = write(data, tmp_path / "rules")
    assert main(["rules", "check", str(folder)]) == 0
    shown = capsys.readouterr().out
    assert "journal: crack [finding-without-rule]: It is a lesson." in shown
    assert shown.endswith("nothing found, 1 finding accepted.\n")


def test_faults_come_first_and_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = proved(sound())
    data["rules"]["rules"][0]["for"] = "shelf"
    folder = write(data, tmp_path / "rules")
    assert main(["rules", "check", str(folder)]) == 1
    shown = capsys.readouterr().out
    assert "[unknown-word]" in shown
    assert "Analysed" not in shown
    assert main(["rules", "check", str(folder), "--json"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert answer["analysis"] is None
    assert answer["faults"][0]["code"] == "unknown-word"


def test_only_one_kind_of_finding(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = silent_crack()
    words(data, "tasks")["oil_it"] = {"label": "oil it"}
    folder = write(data, tmp_path / "rules")
    assert main(["rules", "check", str(folder), "--only", "unused-task"]) == 0
    shown = capsys.readouterr().out
    assert "[unused-task]" in shown
    assert "finding-without-rule" not in shown
    assert main(["rules", "check", str(folder), "--only", "unused-tasks"]) == 2
    assert 'did you mean "unused-task"?' in capsys.readouterr().err


def test_json_holds_everything(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write(silent_crack(), tmp_path / "rules")
    assert main(["rules", "check", str(folder), "--json"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert answer["format"] == 1
    analysis = answer["analysis"]
    assert (analysis["rules"], analysis["conditions"], analysis["errors"], analysis["remarks"]) == (
        10,
        12,
        1,
        0,
    )
    (finding,) = analysis["findings"]
    assert finding["code"] == "finding-without-rule"
    assert finding["level"] == "error"
    assert finding["subject"] == "journal: crack"
    assert finding["at"]["line"] > 1
    assert "crack: line" in finding["witnesses"][0]["bench"]
    assert {"what", "why", "mend", "page"} <= set(finding)


def test_witness_cases_are_written_and_can_be_decided(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write(silent_crack(), tmp_path / "rules")
    into = tmp_path / "cases"
    assert main(["rules", "check", str(folder), "--witness", str(into)]) == 1
    assert "1 case written" in capsys.readouterr().err
    (case,) = into.glob("*/case.yaml")
    assert case.parent.name == "finding-without-rule-journal-crack"
    assert main(["check", "--rules", str(folder), str(case), str(case.with_name("engine.yaml"))]) == 0
    assert main(["decide", "--rules", str(folder), str(case)]) == 0
    capsys.readouterr()
    assert main(["rules", "check", str(folder), "--witness", str(into)]) == 2
    assert "never written over" in capsys.readouterr().err


def test_a_case_is_no_rule_set(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = tmp_path / "case.yaml"
    case.write_text("format: 1\ncase: x\nengine_sheet: engine.yaml\nbench: []\n", encoding="utf-8")
    assert main(["rules", "check", str(case)]) == 1
    assert "is no rule set" in capsys.readouterr().err
    assert main(["rules", "check", str(tmp_path / "nowhere")]) == 1
    assert "[no-file]" in capsys.readouterr().err


def test_what_takes_too_long_is_given_up_and_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(book, "STEPS", 3)
    data = proved(sound())
    straw = [{"finding": "heat", "is": each} for each in ("none", "straw", "blue")]
    worn = {"dimension": "wear", "against": "reassembly", "standing": "above"}
    add(data, "hard", "journal", {"all": [worn, *[{"any": straw}] * 6]}, {"task": "polish"})
    data["rules"]["rules"][-1]["examples"] = {"fires": [{"wear": "above reassembly"}], "holds": [{}]}
    folder = write(data, tmp_path / "rules")
    main(["rules", "check", str(folder)])
    shown = " ".join(capsys.readouterr().out.split())
    assert "Not gone through" in shown
    assert re.search(r"hard: whether .+ \(more than 3 steps\)", shown)
    assert re.search(r"\d+ questions? not gone through\.$", shown)


def test_every_kind_of_finding_can_be_asked_for_by_itself() -> None:
    """What `--only` takes is what is planted: no code is there that nothing gives."""
    assert {planted.code for planted in PLANTED} == set(SORTS)
