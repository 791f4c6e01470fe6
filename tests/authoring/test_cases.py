"""Tests of rule sets: what passes, what fails and how that is told, and what cannot be tried at all."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from advisor.authoring import cases
from advisor.authoring.cases import Tried, files_of, read_tests, run_tests
from advisor.faults import Faults
from advisor.files import load_rules
from advisor.sheets.crosscheck import load_ruleset
from advisor.sheets.ruleset import RuleSet
from tests.cli.conftest import run  # noqa: F401  a fixture
from tests.cli.rig import DEMO, ROOT, Ran
from tests.decide import small

Run = Callable[..., Ran]

ENGINE_TESTS = files_of(ROOT / "rulesets" / "engine")

HEAD = """format: 1
engine_sheet: engine.yaml
given:
  bench:
    - {part: half_shell, place: all, otherwise: none, readings: {bore: {with: micrometer, value: 60.060 mm}}}
    - {part: shaft, otherwise: none}
    - part: shaft_journal
      place: all
      otherwise: none
      readings:
        diameter:
          with: exact_micrometer
          values: {front x: 59.995 mm, front y: 59.995 mm, rear x: 59.995 mm, rear y: 59.995 mm}
  found_sizes: [{part: shaft_journal, size: 0 mm, read_on: stamp}]
tests:
"""


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> RuleSet:
    return small.ruleset(tmp_path_factory.mktemp("rules"))


@pytest.fixture(scope="module")
def engine_rules() -> RuleSet:
    return load_rules(ROOT / "rulesets" / "engine")


def tried(rules: RuleSet, folder: Path, text: str, head: str = HEAD) -> list[Tried]:
    """What came of a file with these tests."""
    (folder / "engine.yaml").write_text(small.ENGINE, encoding="utf-8")
    path = folder / "t.yaml"
    path.write_text(head + text, encoding="utf-8")
    return list(run_tests(rules, [path]).tried)


def one(bench: str, expect: str, more: str = "") -> str:
    """A test as it is written."""
    return f"""  - name: a test
    because: it is so
    case:
      bench: {bench}
    expect: {expect}
{more}"""


def told(rules: RuleSet, folder: Path, text: str) -> str:
    """The failures and faults of the first test, without the folder."""
    result = tried(rules, folder, text)[0]
    said = "\n".join([*map(str, result.failures), *map(str, result.faults)])
    return said.replace(f"{folder}/", "")


@pytest.mark.parametrize("path", [*ENGINE_TESTS, DEMO.with_name("expected.yaml")], ids=lambda path: path.stem)
def test_the_tests_that_ship_pass(engine_rules: RuleSet, path: Path) -> None:
    trial = run_tests(engine_rules, [path])
    assert [str(failure) for each in trial.failed for failure in (*each.failures, *each.faults)] == []
    assert all(each.passed for each in trial.tried)


def test_enough_of_them_argue_about_crankshaft_and_bearings() -> None:
    tests = [
        test
        for path in ENGINE_TESTS
        if path.stem in ("bearings", "crankshaft")
        for test in read_tests(path).tests
    ]
    assert len(tests) >= 40
    assert all(len(test.because) > 60 for test in tests)
    assert all(each.by or each.verdict is None or each.verdict in ("reuse", "undecided")
               or each.ground == "safe side" for test in tests for each in test.expect)  # fmt: skip


WORSE = {"reuse": "replace", "recondition": "reuse", "replace": "undecided", "undecided": "reuse"}


@pytest.mark.parametrize("path", ENGINE_TESTS, ids=lambda path: path.stem)
def test_none_of_them_passes_with_another_verdict(engine_rules: RuleSet, path: Path, tmp_path: Path) -> None:
    """Each verdict in turn is written otherwise, and its test has to fail for that very line."""
    for sheet in path.parent.joinpath("engines").iterdir():
        (tmp_path / "engines").mkdir(exist_ok=True)
        (tmp_path / "engines" / sheet.name).write_bytes(sheet.read_bytes())
    text = path.read_text("utf-8")
    marks = list(re.finditer(r"(?<=[{\s]verdict: )(reuse|recondition|replace|undecided)\b", text))
    for mark in marks[:: max(1, len(marks) // 12)]:
        changed = text[: mark.start()] + WORSE[mark[0]] + text[mark.end() :]
        (tmp_path / "t.yaml").write_text(changed, encoding="utf-8")
        line = text.count("\n", 0, mark.start()) + 1
        failed = run_tests(engine_rules, [tmp_path / "t.yaml"]).failed
        assert [each.failures[0].at.line for each in failed] == [line]


def test_a_rule_that_is_gone_is_missed(engine_rules: RuleSet, tmp_path: Path) -> None:
    """A rule set that lacks a rule for which a test stands does not pass."""
    text = (ROOT / "rulesets/engine/rules/crankshaft.yaml").read_text("utf-8")
    folder = tmp_path / "rules"
    shutil.copytree(ROOT / "rulesets" / "engine", folder)
    before, mark, after = text.partition("- id: crank-pin-worn\n")
    assert mark
    spoilt = before + mark + after.replace("standing: above", "standing: below", 1)
    (folder / "rules" / "crankshaft.yaml").write_text(spoilt, encoding="utf-8")
    failed = run_tests(load_ruleset(folder), [folder / "tests" / "crankshaft.yaml"]).failed
    assert "one pin worn beyond its limit sends all pins to one undersize" in [each.name for each in failed]
    said = "\n".join(str(each) for each in failed[0].failures)
    assert "rule crank-pin-worn did not fire on crank_pin 1" in said
    assert "wanted journal_wear below discard, found wear of the journal" in said
    assert "(crankshaft.yaml:" in said


def test_a_failure_tells_the_very_condition_that_broke_the_rule(rules: RuleSet, tmp_path: Path) -> None:
    bench = "[{part: half_shell, place: 3 lower, findings: {particles: few, scoring: none}}]"
    said = told(
        rules,
        tmp_path,
        one(bench, "{part: half_shell, place: 3 lower, verdict: replace, by: shell-particles}"),
    )
    assert said.splitlines()[:3] == [
        "t.yaml:20:57: half_shell 3 lower: expected replace, got reuse (sound)",
        "  rule shell-particles did not fire on half_shell 3 lower",
        "    wanted particles at least many, found few (t.yaml:19:72)",
    ]


UNSEEN = "[{part: shaft, findings: {crack: not looked at}}]"
AWFUL = "[{part: half_shell, findings: {scoring: awful}}]"
SOUND = "{part: shaft, verdict: reuse}"


@pytest.mark.parametrize(
    ("bench", "expect", "more", "said"),
    [
        ("[]", "{part: half_shell, place: 1 upper, verdict: reuse}", "", ""),
        ("[]", "{part: half_shell, verdict: replace}", "", "half_shell 1 upper, half_shell 1 lower"),
        ("[]", "{part: half_shell, ground: condemned}", "", "expected ground condemned, got sound"),
        ("[]", "{part: shaft, possible: [reuse, replace]}", "", "expected reuse or replace to be possible"),
        ("[]", "{part: shaft, course: replace}", "", "expected course replace, got reuse"),
        (UNSEEN, "{part: shaft, verdict: undecided, asks: crack}", "", ""),
        ("[]", "{part: shaft, asks: crack}", "", "expected among asks crack, got none"),
        ("[]", "{part: gasket, verdict: unanswered}", "", ""),
    ],
)  # fmt: skip
def test_each_expectation_is_held_against_what_came(
    rules: RuleSet, tmp_path: Path, bench: str, expect: str, more: str, said: str
) -> None:
    text = told(rules, tmp_path, one(bench, expect, more))
    assert (said in text) if said else text == ""


def test_what_a_test_says_goes_before_what_is_given(rules: RuleSet, tmp_path: Path) -> None:
    bench = """
        - {part: half_shell, place: "1 upper, 2 lower", findings: {scoring: deep}}
        - part: shaft_journal
          place: 2
          readings:
            diameter:
              with: exact_micrometer
              values: {front x: 59.700 mm, front y: 59.700 mm, rear x: 59.700 mm, rear y: 59.700 mm}
        - {part: shaft, opened: no}
"""
    expect = """
      - {part: half_shell, place: "1 upper, 2 lower", verdict: replace}
      - {part: half_shell, place: "1 lower, 3", verdict: reuse}
      - {part: shaft_journal, place: "1, 3", verdict: reuse}
      - {part: shaft_journal, place: 2, asks: []}
      - {part: shaft, verdict: undecided}
"""
    said = told(rules, tmp_path, one(bench, expect))
    assert "nothing is expected of shaft_journal" in said
    said = told(rules, tmp_path, one(bench, expect.replace("asks: []", "verdict: reuse")))
    assert [line for line in said.splitlines() if ": expected" in line] == [
        line for line in said.splitlines() if "shaft_journal 2" in line and ": expected" in line
    ]
    assert "shaft_journal 2: expected reuse" in said


def test_an_item_that_was_mixed_up_leaves_its_places(rules: RuleSet, tmp_path: Path) -> None:
    bench = """
        - {part: half_shell, place: unknown, tag: a, from_among: "1 upper, 2 upper", otherwise: none}
        - {part: half_shell, place: unknown, tag: b, from_among: "1 upper, 2 upper", otherwise: none}
"""
    expect = "{part: half_shell, place: unknown, tag: a, verdict: replace}"
    assert told(rules, tmp_path, one(bench, expect)) == ""


@pytest.mark.parametrize(
    ("text", "code", "at"),
    [
        (one("[]", "{part: half_shell, by: no-such-rule}"), "unknown-word", "20:36"),
        (one("[]", "{part: shaft, holds: shell-particles}"), "rule-of-another-kind", "20:34"),
        (one("[]", "{part: sump, verdict: reuse}"), "unknown-word", "20:20"),
        (one("[]", "{part: half_shell, place: 9, verdict: reuse}"), "unknown-place", "20:39"),
        (one("[]", "{part: half_shell, place: unknown, tag: z, verdict: reuse}"), "expects-no-item", "20:13"),
        (one(AWFUL, SOUND), "unknown-word", "19:54"),
        (one("[]", SOUND, "    engine_sheet: ../engine.yaml"), "file-outside", "21:19"),
        (one("[]", SOUND, "    engine_sheet: gone.yaml"), "no-file", "21:19"),
    ],
)  # fmt: skip
def test_what_cannot_be_tried_is_told_at_its_place(
    rules: RuleSet, tmp_path: Path, text: str, code: str, at: str
) -> None:
    result = tried(rules, tmp_path, text)[0]
    assert [
        (fault.code, f"{fault.at.line}:{fault.at.col}" if fault.at else "") for fault in result.faults
    ] == [(code, at)]
    assert not result.passed


def test_one_bad_file_keeps_no_other_from_being_tried(rules: RuleSet, tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("format: 1\ntests: nothing\n")
    good = tmp_path / "t.yaml"
    tried(rules, tmp_path, one("[]", "{part: shaft, verdict: reuse}"))
    trial = run_tests(rules, [tmp_path / "bad.yaml", good, tmp_path / "gone.yaml"])
    assert [(each.name, each.passed) for each in trial.tried] == [("", False), ("a test", True), ("", False)]


def test_a_case_is_no_file_of_tests(rules: RuleSet) -> None:
    trial = run_tests(rules, [DEMO])
    assert [fault.code for fault in trial.tried[0].faults] == ["other-file"]


def test_there_are_bounds(rules: RuleSet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = one("[]", "{part: shaft, verdict: reuse}") + one("[]", "{part: shaft, verdict: reuse}").replace(
        "a test", "b"
    )
    monkeypatch.setattr(cases, "MOST_TESTS", 1)
    with pytest.raises(Faults, match="too-many-tests"):
        tried(rules, tmp_path, text)
    (tmp_path / "tests").mkdir()
    (tmp_path / "tests" / "a.yaml").touch()
    monkeypatch.setattr(cases, "MOST_FILES", 0)
    with pytest.raises(Faults, match="too-many-tests"):
        files_of(tmp_path)


def test_a_rule_set_without_tests_says_so(tmp_path: Path) -> None:
    with pytest.raises(Faults, match="no-tests"):
        files_of(tmp_path)


def test_the_command_counts_fails_and_keeps_to_names(run: Run, tmp_path: Path) -> None:  # noqa: F811
    run("rules", "new", "ruleset", "lesson")
    done = run("rules", "test", "lesson", "--all")
    assert (done.code, done.out.count("passed:")) == (0, 3)
    assert re.fullmatch(r"3 tests in \d+\.\d s: 3 passed\.", done.out.splitlines()[-1])
    done = run("rules", "test", "lesson", "--only", "DRY shaft")
    assert "1 test in" in done.out
    assert "1 passed, 2 left out." in done.out
    done = run("rules", "test", "lesson", "--only", "no such")
    assert (done.code, "No test has no such in its name." in done.err) == (1, True)
    first = tmp_path / "lesson" / "tests" / "first.yaml"
    first.write_text(first.read_text().replace("verdict: replace", "verdict: reuse"))
    done = run("rules", "test", "lesson")
    assert done.code == 1
    said = " ".join(done.out.split())
    assert "FAILED: a shaft that cuts is not put back" in said
    assert "shaft: expected reuse, got replace (condemned)" in said
    assert "reason: rule scored-shaft (lesson/rules.yaml:7:5)" in said
    assert max(map(len, done.out.splitlines())) <= 80


def test_a_test_that_is_not_yet_answered_neither_passes_nor_fails(run: Run) -> None:  # noqa: F811
    run("rules", "new", "ruleset", "lesson")
    run("rules", "new", "test", "bushes", "--for", "bush", "--in", "lesson")
    done = run("rules", "test", "lesson")
    assert done.code == 0
    assert "NOT YET ANSWERED: bushes" in done.out
    assert "3 passed, 1 not yet answered." in done.out


def test_a_broken_rule_set_is_told_first(run: Run, tmp_path: Path) -> None:  # noqa: F811
    run("rules", "new", "ruleset", "lesson")
    (tmp_path / "lesson" / "rules.yaml").write_text("format: 1\nrools: []\n")
    done = run("rules", "test", "lesson")
    assert (done.code, "[unknown-key]" in done.err, done.out) == (1, True, "")
