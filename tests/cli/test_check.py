"""`advisor check`: what each file is, and everything wrong with it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.rig import DEMO, ROOT, Ran, Rig

Run = Callable[..., Ran]


def test_clean_files_say_what_was_gone_through(run: Run, rig: Rig) -> None:
    done = run("check", rig.case, rig.engine, rig.rules, "--rules", rig.rules)
    assert (done.code, done.err) == (0, "")
    lines = done.out.splitlines()
    assert len(lines) == 3
    assert all(line.endswith("; analysed, nothing found.") for line in lines)
    assert "a case of the the rig" in lines[0] or "a case of the rig" in lines[0]
    assert "engine sheet" in lines[1]
    assert "11 rules" in lines[2]


def test_what_comes_with_the_program_is_clean(run: Run) -> None:
    done = run("check", DEMO, DEMO.parent / "engine.yaml", ROOT / "rulesets" / "engine")
    assert done.out.count("analysed, n") == 3, done.out
    assert (done.code, done.err) == (0, "")
    assert "fault found" not in done.out.replace("no fault found", "")


def test_a_tolerance_that_nothing_can_prove_is_a_remark_and_no_fault(run: Run, rig: Rig) -> None:
    text = rig.engine.read_text(encoding="utf-8")
    limit = "      - {dimension: taper, purpose: new, at_most: 0.0006 mm}\n    repair_sizes:"
    rig.engine.write_text(text.replace("    repair_sizes:", limit, 1), encoding="utf-8")
    done = run("check", rig.engine, "--rules", rig.rules)
    assert (done.code, done.err) == (0, "")
    remark, says = done.out.splitlines()
    row = rig.engine.read_text(encoding="utf-8").splitlines().index(limit.splitlines()[0]) + 1
    assert remark.startswith(f"{rig.engine}:{row}:9: remark: no listed instrument can prove taper")
    # By hand: √2 · 0.0005 / √3 · 1.96, and 0.0006 / 1.645 · 1.96.
    assert "(a better micrometer) gives ± 0.0008 mm at 95 %, and it takes ± 0.0007 mm" in remark
    assert says.endswith("analysed, no fault found, 1 remark.")
    answer = json.loads(run("check", rig.engine, "--rules", rig.rules, "--json").out)
    assert (answer["faults"], answer["remarks"]) == (0, 1)
    (checked,) = answer["checked"]
    assert checked["faults"] == []
    (told,) = checked["remarks"]
    assert told["at"]["line"] == row
    assert "every part will be in doubt" in told["mend"]


@pytest.mark.parametrize("name", ["vocabulary.yaml", "rules.yaml", "sources.yaml", "cautions.yaml",
                                  "instruments.yaml", "ruleset.yaml"])  # fmt: skip
def test_a_file_of_a_rule_set_means_its_rule_set(run: Run, rig: Rig, name: str) -> None:
    done = run("check", rig.rules / name)
    assert done.code == 0
    assert done.out.startswith(f"{rig.rules}: the rule set trial 1.2.3")


def test_several_files_of_one_rule_set_are_checked_once(run: Run, rig: Rig) -> None:
    done = run("check", rig.rules / "rules.yaml", rig.rules / "sources.yaml", rig.rules)
    assert len(done.out.splitlines()) == 1


def test_all_faults_come_on_standard_output_and_the_exit_code_is_one(run: Run, rig: Rig) -> None:
    text = rig.case.read_text(encoding="utf-8")
    text = text.replace("particles: many", "partikles: many").replace("heat: blue", "heat: green")
    rig.case.write_text(text, encoding="utf-8")
    sheet = rig.engine.read_text(encoding="utf-8").replace("fuel: diesel", "fuel: coal")
    other = rig.folder / "other.yaml"
    other.write_text(sheet, encoding="utf-8")
    done = run("check", rig.case, other, "--rules", rig.rules)
    assert (done.code, done.err) == (1, "")
    places = re.findall(r"^(\S+?):(\d+):(\d+): ", done.out, re.MULTILINE)
    assert len(places) == 3
    for file, line, col in places:
        row = Path(file).read_text(encoding="utf-8").splitlines()[int(line) - 1]
        assert re.match(r"partikles|green|many|coal", row[int(col) - 1 :])
    assert done.out.splitlines()[-1] == "3 faults found."


def test_json_of_the_faults(run: Run, rig: Rig) -> None:
    text = rig.case.read_text(encoding="utf-8").replace("particles: many", "partikles: many")
    rig.case.write_text(text, encoding="utf-8")
    done = run("check", rig.case, rig.engine, "--rules", rig.rules, "--json")
    assert done.code == 1
    whole = json.loads(done.out)
    assert whole["faults"] == 1
    assert [(each["kind"], len(each["faults"])) for each in whole["checked"]] == [
        ("case", 1),
        ("engine sheet", 0),
    ]
    (fault,) = whole["checked"][0]["faults"]
    assert fault["code"] == "unknown-word"
    assert fault["at"]["line"] == 9
    assert fault["what"]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("wheels: 4\n", "unknown-file"),
        ("- a\n- b\n", "unknown-file"),
        ("just words\n", "unknown-file"),
        ("format: 1\nrules: []\n", "no-rule-set"),
        ("a: [\n", ""),
    ],
)
def test_a_file_that_is_none_of_them(run: Run, tmp_path: Path, text: str, code: str) -> None:
    (tmp_path / "what.yaml").write_text(text, encoding="utf-8")
    done = run("check", tmp_path / "what.yaml")
    assert done.code == 1
    assert code in done.out
    assert "1 fault found." in done.out


def test_nothing_there(run: Run, tmp_path: Path) -> None:
    done = run("check", tmp_path / "no.yaml", tmp_path)
    assert done.code == 1
    assert "[no-file]" in done.out
    assert "[no-rule-set]" in done.out


def test_faults_of_the_rule_set_are_told_once_and_the_case_is_not_judged_by_it(run: Run, rig: Rig) -> None:
    rules = rig.rules / "rules.yaml"
    rules.write_text(
        rules.read_text(encoding="utf-8").replace("concern: dirty_oil\n", "concern: dirt\n"), encoding="utf-8"
    )
    done = run("check", rig.case, rig.engine, "--rules", rig.rules)
    assert done.code == 1
    assert done.out.count("dirt is not a concern") == 1
    assert done.out.count("[rules-at-fault]") == 2


def test_a_circle_through_an_absence_is_shown(run: Run, rig: Rig) -> None:
    rules = rig.rules / "rules.yaml"
    rules.write_text(
        rules.read_text(encoding="utf-8")
        + """
  - id: round-and-round
    for: shaft
    when: {absent: {concern: sound_shaft}}
    then: {concern: sound_shaft}
    because: a test
    cite: [{source: made_up}]
    examples: {fires: [{}], holds: [{concerns: [sound_shaft]}]}
""",
        encoding="utf-8",
    )
    done = run("check", rig.rules)
    assert done.code == 1
    assert "[absence-cycle]" in done.out


def test_a_file_of_tests_is_checked_with_the_rule_set_it_lies_in(run: Run, tmp_path: Path) -> None:
    run("rules", "new", "ruleset", "lesson")
    first = tmp_path / "lesson" / "tests" / "first.yaml"
    done = run("check", "lesson/tests/first.yaml")
    assert (done.code, done.out) == (
        0,
        "lesson/tests/first.yaml: 3 tests that can be tried (`advisor rules test` tries them); "
        "analysed, nothing found.\n",
    )
    # That a test fails is no fault of the file; that it cannot be tried is one.
    text = first.read_text("utf-8")
    first.write_text(text.replace("verdict: replace", "verdict: reuse"), encoding="utf-8")
    assert run("check", "lesson/tests/first.yaml").code == 0
    first.write_text(text.replace("by: scored-shaft", "by: scored-shafts"), encoding="utf-8")
    done = run("check", "lesson/tests/first.yaml", "--json")
    assert done.code == 1
    assert json.loads(done.out)["checked"][0]["kind"] == "tests"
    assert 'did you mean \\"scored-shaft\\"?' in done.out


def test_tests_outside_a_rule_set_are_for_the_one_named(run: Run) -> None:
    run("rules", "new", "ruleset", "lesson")
    shipped = DEMO.with_name("expected.yaml")
    assert run("check", shipped).code == 0
    assert "[other-ruleset]" in run("check", shipped, "--rules", "lesson").out
