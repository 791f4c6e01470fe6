"""`advisor decide`: the sheet for people, and JSON for programs."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path

import jsonschema
import pytest

import advisor
from advisor.reports.alike import assemblies, judged, rank
from advisor.reports.paper import Paper
from advisor.reports.terminal import sheet, summary, verdict_words
from advisor.schema import decision_schema
from tests.cli.rig import DEMO, ROOT, Ran, Rig

Run = Callable[..., Ran]

CASES = ("rig", "demo")


@cache
def demo() -> tuple[advisor.Decision, advisor.RuleSet]:
    rules = advisor.load_rules()
    return advisor.decide_file(DEMO, rules), rules


def decided(which: str, rig: Rig) -> tuple[advisor.Decision, advisor.RuleSet]:
    if which == "demo":
        return demo()
    rules = advisor.load_rules(rig.rules)
    return advisor.decide_file(rig.case, rules), rules


@pytest.fixture(params=CASES)
def told(request: pytest.FixtureRequest, rig: Rig) -> tuple[advisor.Decision, advisor.RuleSet]:
    return decided(request.param, rig)


def key(verdict: advisor.Verdict) -> tuple[str, str, str, str]:
    return verdict.part, verdict.place, verdict.tag, verdict.origin


def test_every_item_stands_in_one_group_and_its_heading_once_on_the_sheet(
    told: tuple[advisor.Decision, advisor.RuleSet],
) -> None:
    decision, rules = told
    spoken = [verdict for verdict in decision.verdicts if judged(verdict, rules)]
    groups = [group for assembly in assemblies(spoken) for group in assembly.groups]
    members = Counter(key(verdict) for group in groups for verdict in group.verdicts)
    assert members == Counter(key(verdict) for verdict in spoken)
    # Wide enough that no heading is broken.
    lines = Counter(sheet(decision, rules, Paper(100)))
    for group in groups:
        heading = f"  {group.name}: {verdict_words(group.first)}"
        if len(heading) <= 100:
            assert lines[heading] == 1, heading
    unspoken = [verdict for verdict in decision.verdicts if not judged(verdict, rules)]
    assert bool(unspoken) == ("NOT JUDGED" in lines)


def test_parts_that_were_not_judged_are_listed(told: tuple[advisor.Decision, advisor.RuleSet]) -> None:
    decision, rules = told
    text = " ".join(" ".join(sheet(decision, rules, Paper(80))).split())
    tail = text[text.index("NOT JUDGED") :]
    for verdict in decision.verdicts:
        if not judged(verdict, rules):
            assert verdict.label in tail


def test_worst_comes_first(told: tuple[advisor.Decision, advisor.RuleSet]) -> None:
    decision, rules = told
    found = assemblies(verdict for verdict in decision.verdicts if judged(verdict, rules))
    firsts = [rank(assembly.groups[0].first) for assembly in found]
    assert firsts == sorted(firsts)
    for assembly in found:
        ranks = [rank(group.first) for group in assembly.groups]
        assert ranks == sorted(ranks)


def test_alike_verdicts_differ_in_nothing_but_place_and_size(
    told: tuple[advisor.Decision, advisor.RuleSet],
) -> None:
    decision, _ = told
    for assembly in assemblies(decision.verdicts):
        for group in assembly.groups:
            for verdict in group.verdicts:
                assert verdict.part == group.first.part
                assert verdict.verdict == group.first.verdict
                assert verdict.course == group.first.course
                assert [each.rule for each in verdict.reasons] == [each.rule for each in group.first.reasons]


def test_the_summary_counts_every_item(told: tuple[advisor.Decision, advisor.RuleSet]) -> None:
    decision, rules = told
    spoken = [verdict for verdict in decision.verdicts if judged(verdict, rules)]
    unspoken = [verdict for verdict in decision.verdicts if not judged(verdict, rules)]
    numbers = [int(number) for number in re.findall(r"\d+", summary(spoken, unspoken))]
    assert sum(numbers) == len(decision.verdicts)


def test_every_reason_and_its_sources_stand_on_the_sheet(
    told: tuple[advisor.Decision, advisor.RuleSet],
) -> None:
    decision, rules = told
    for full in (False, True):
        text = " ".join(" ".join(sheet(decision, rules, Paper(80), full=full)).split())
        for verdict in decision.verdicts:
            if not judged(verdict, rules):
                continue
            for reason in verdict.reasons:
                # What lets a sound part stand is one list of evidence, unless the whole is asked for.
                if full or verdict.verdict != "reuse":
                    assert " ".join(reason.because.split()) in text
                for cite in reason.cites:
                    assert " ".join(cite.title.split()) in text
                    if not cite.tier.startswith("official") and cite.tier != "memory":
                        assert f"({cite.tier})" in text
            for ask in verdict.asks:
                assert " ".join(ask.says.split()) in text


def test_each_number_in_brackets_stands_for_a_source_in_the_list(
    told: tuple[advisor.Decision, advisor.RuleSet],
) -> None:
    decision, rules = told
    lines = list(sheet(decision, rules, Paper(80)))
    start = lines.index("SOURCES")
    listed = {int(found[1]) for line in lines[start:] if (found := re.match(r"  (\d+)\. ", line))}
    brackets = re.findall(r"\[([^\]]+)\]", " ".join(" ".join(lines[:start]).split()))
    parts = [part for each in brackets for part in each.split("; ")]
    used = {int(found[0]) for part in parts if (found := re.match(r"\d+", part))}
    assert used == listed == set(range(1, len(listed) + 1))
    spoken = [verdict for verdict in decision.verdicts if judged(verdict, rules)]
    titles = {cite.title for each in spoken for reason in each.reasons for cite in reason.cites}
    tail = " ".join(" ".join(lines[start:]).split())
    assert [title for title in titles if " ".join(title.split()) not in tail] == []


def test_each_caution_is_told_once_in_full_with_who_governs(
    told: tuple[advisor.Decision, advisor.RuleSet],
) -> None:
    decision, rules = told
    for brief in (False, True):
        text = " ".join(" ".join(sheet(decision, rules, Paper(80), brief=brief)).split())
        for name in {name for each in decision.verdicts if judged(each, rules) for name in each.cautions}:
            caution = rules.cautions[name]
            assert text.count(" ".join(caution.says.split())) == 1
            assert " ".join(caution.governs.split()) in text


def test_a_caution_comes_before_the_work_it_belongs_to(
    told: tuple[advisor.Decision, advisor.RuleSet],
) -> None:
    decision, rules = told
    lines = list(sheet(decision, rules, Paper(80)))
    text = "\n".join(lines)
    checked = 0
    for verdict in decision.verdicts:
        for operation in verdict.operations:
            for name in rules.vocabulary.operations[operation.operation].cautions:
                label = f"Caution, {name.replace('_', ' ')}:"
                assert text.index(label) < text.index(f"Work: {operation.says[:30]}")
                checked += 1
    assert checked


@pytest.mark.parametrize("width", [30, 40, 80, 100, 200])
@pytest.mark.parametrize("brief", [False, True])
def test_no_line_is_longer_than_the_paper_and_no_word_is_cut(rig: Rig, width: int, brief: bool) -> None:
    decision, rules = decided("demo", rig)
    words = {
        word
        for line in sheet(decision, rules, Paper(10_000), brief=brief)
        for word in line.split()
        if set(word) != {"─"}
    }
    for line in sheet(decision, rules, Paper(width), brief=brief):
        assert len(line) <= min(width, 100) or len(line.split()) == 1, line
        for word in line.split():
            assert word in words or set(word) == {"─"}, word


def test_eighty_columns_and_no_escape_codes_where_it_is_no_terminal(run: Run, rig: Rig) -> None:
    for arguments in ((rig.case, "--rules", rig.rules), (DEMO,)):
        done = run("decide", *arguments)
        assert done.code == 0
        assert done.err == ""
        assert "\x1b" not in done.out
        assert max(map(len, done.out.splitlines())) <= 80


def test_bold_is_the_only_ornament_and_says_nothing_of_its_own(rig: Rig) -> None:
    decision, rules = decided("rig", rig)
    bold = "\n".join(sheet(decision, rules, Paper(80, bold=True)))
    assert set(re.findall(r"\x1b\[[0-9;]*m", bold)) == {"\x1b[1m", "\x1b[22m"}
    assert re.sub(r"\x1b\[[0-9;]*m", "", bold) == "\n".join(sheet(decision, rules, Paper(80)))


def test_the_rig_reads_as_it_should(run: Run, rig: Rig) -> None:
    out = run("decide", rig.case, "--rules", rig.rules).out
    assert "Half shell 3 lower: REPLACE, condemned" in out
    assert "Journal 3: RECONDITION" in out
    assert "Gasket: REPLACE, as a matter of course" in out
    assert "Not opened: lever." in out
    assert "dirt in the oil (half shell 3 lower): OPEN." in out
    assert out.index("Half shell 3 lower: REPLACE") < out.index("Journal 1, 2: REUSE")
    assert re.search(r"wear 0\.10\d* mm", out)
    # The shells that were sound go with their set, and the sheet says so beside their verdict.
    sound = " ".join(out[out.index("Journal 1, 2: REUSE") :].split())
    assert "What will be done: RECONDITION, in size -0.250 mm to -0.500 mm; goes with its set" in sound
    assert "LOOK AT NEXT Only for the verdict; what will be done with these parts is settled" in sound


def test_json_is_what_the_schema_says(run: Run, rig: Rig) -> None:
    schema = decision_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    for arguments in ((rig.case, "--rules", rig.rules), (DEMO,)):
        done = run("decide", *arguments, "--json")
        assert done.code == 0
        jsonschema.Draft202012Validator(schema).validate(json.loads(done.out))


def test_the_schema_refuses_what_is_no_decision(run: Run, rig: Rig) -> None:
    whole = json.loads(run("decide", rig.case, "--rules", rig.rules, "--json").out)
    validator = jsonschema.Draft202012Validator(decision_schema())
    assert not list(validator.iter_errors(whole))
    first = whole["verdicts"][0]
    caution = whole["cautions"]["heavy"]
    for spoilt in (
        {key: value for key, value in whole.items() if key != "case"},
        {**whole, "more": 1},
        {**whole, "verdicts": [{**first, "verdict": "keep"}]},
        {**whole, "verdicts": [{key: value for key, value in first.items() if key != "possible"}]},
        {**whole, "cautions": {"heavy": {key: caution[key] for key in caution if key != "governs"}}},
    ):
        assert list(validator.iter_errors(spoilt))


def test_the_schema_in_the_documentation_is_the_present_one() -> None:
    kept = (ROOT / "docs" / "schema" / "decision.json").read_text(encoding="utf-8")
    assert kept == json.dumps(decision_schema(), indent=2, ensure_ascii=False) + "\n"


def test_json_names_only_rules_and_words_that_exist(run: Run) -> None:
    rules = advisor.load_rules()
    whole = json.loads(run("decide", DEMO, "--json").out)
    ids = {rule.id for rule in rules.rules}
    for verdict in whole["verdicts"]:
        assert verdict["part"] in rules.vocabulary.kinds
        assert {reason["rule"] for reason in verdict["reasons"]} <= ids | {""}
        assert set(verdict["cleared"]) <= ids
        assert {task["rule"] for task in verdict["tasks"]} <= ids
        assert {ask["rule"] for ask in verdict["asks"]} <= ids | {""}
        assert set(verdict["caution_keys"]) <= set(whole["cautions"])
        assert verdict["cautions"] == [
            text
            for name in verdict["caution_keys"]
            for text in verdict["cautions"]
            if whole["cautions"][name]["says"] in text and whole["cautions"][name]["governs"] in text
        ]
        for reason in verdict["reasons"]:
            assert {cite["source"] for cite in reason["cites"]} <= set(rules.sources)
    assert {step["rule"] for step in whole["steps"]} <= ids


def test_json_has_the_keys_that_were_promised(run: Run, rig: Rig) -> None:
    whole = json.loads(run("decide", rig.case, "--rules", rig.rules, "--json").out)
    assert whole["format"] == 1
    assert {"name", "version", "digest"} <= set(whole["rulesets"][0])
    shell = next(
        each for each in whole["verdicts"] if (each["part"], each["place"]) == ("half_shell", "3 lower")
    )
    assert shell["verdict"] == "replace"
    assert shell["ground"] == "condemned"
    assert shell["possible"] == ["replace"]
    assert shell["tag"] == ""
    assert shell["reasons"][0]["rule"] == "shell-particles"
    assert shell["reasons"][0]["cites"][0]["source"] == "made_up"


def test_the_same_case_twice_gives_the_same_bytes(run: Run, rig: Rig) -> None:
    for arguments in (
        ("decide", rig.case, "--rules", rig.rules, "--json"),
        ("decide", rig.case, "--rules", rig.rules),
        ("why", rig.case, "half_shell", "3 lower", "--rules", rig.rules, "--json"),
    ):
        assert run(*arguments).out == run(*arguments).out


def test_json_is_canonical(run: Run, rig: Rig) -> None:
    out = run("decide", rig.case, "--rules", rig.rules, "--json").out
    value = json.loads(out)
    assert out == json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":")) + "\n"


def test_one_kind_alone(run: Run, rig: Rig) -> None:
    out = run("decide", rig.case, "--rules", rig.rules, "--part", "half_shell").out
    assert "Half shell 3 lower: REPLACE" in out
    assert "Journal" not in out.split("NOT JUDGED")[0].split("Half shell")[0]
    assert "Gasket" not in out
    whole = json.loads(run("decide", rig.case, "--rules", rig.rules, "--part", "gasket", "--json").out)
    assert [verdict["part"] for verdict in whole["verdicts"]] == ["gasket"]


def test_a_kind_that_is_not_there(run: Run, rig: Rig) -> None:
    done = run("decide", rig.case, "--rules", rig.rules, "--part", "haf_shell")
    assert done.code == 2
    assert 'did you mean "half_shell"?' in done.err
    assert done.out == ""


def test_brief_is_shorter_and_keeps_verdicts_and_cautions(run: Run, rig: Rig) -> None:
    whole = run("decide", rig.case, "--rules", rig.rules)
    brief = run("decide", rig.case, "--rules", rig.rules, "--brief")
    assert len(brief.out.splitlines()) < len(whole.out.splitlines())
    decision, rules = decided("rig", rig)
    spoken = [verdict for verdict in decision.verdicts if judged(verdict, rules)]
    groups = [group for assembly in assemblies(spoken, brief=True) for group in assembly.groups]
    assert sorted(key(each) for group in groups for each in group.verdicts) == sorted(map(key, spoken))
    flat = " ".join(brief.out.split())
    assert all(f"{group.name}: {verdict_words(group.first)}" in flat for group in groups)
    assert run("decide", rig.case, "--rules", rig.rules, "--brief", "--json").code == 2


def test_faults_of_the_input_come_on_standard_error_with_their_place(run: Run, rig: Rig) -> None:
    text = rig.case.read_text(encoding="utf-8").replace("particles: many", "partikles: many")
    rig.case.write_text(text, encoding="utf-8")
    for extra in ((), ("--json",)):
        done = run("decide", rig.case, "--rules", rig.rules, *extra)
        assert done.code == 1
        assert done.out == ""
        assert re.search(r"case\.yaml:9:\d+: partikles is not a finding", done.err)
        assert 'did you mean "particles"?' in done.err
        assert "Traceback" not in done.err


def test_signs_that_cannot_be_written_are_written_more_plainly(tmp_path: Path) -> None:
    from advisor.reports.paper import PLAIN, PLAIN_SIGNS

    text = "".join(PLAIN_SIGNS) + "ü 漢"
    plain = text.encode("ascii", PLAIN).decode("ascii")
    assert plain == "".join(PLAIN_SIGNS.values()) + "? ?"
    assert "−0.25 mm".encode("latin-1", PLAIN) == b"-0.25 mm"


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_lines_are_broken_after_signs_have_been_written_more_plainly(encoding: str) -> None:
    text = "±" * 3 + " ° ½ ≤ … word" * 20
    for line in Paper(40, encoding=encoding).wrap(text, 2):
        assert len(line) <= 40
        line.encode(encoding)


def test_brief_tells_cautions_after_the_verdicts_and_few_asks(rig: Rig) -> None:
    rules = advisor.load_rules()
    nothing = advisor.CaseSheet.model_validate(
        {"format": "1", "case": "empty", "engine_sheet": "engine.yaml", "bench": []}
    )
    empty = advisor.decide(nothing, advisor.load_case(DEMO, rules).sheet, rules)
    for decision in (empty, decided("demo", rig)[0]):
        lines = list(sheet(decision, rules, Paper(80), brief=True))
        at = lines.index("CAUTIONS")
        spoken = [verdict for verdict in decision.verdicts if judged(verdict, rules)]
        groups = [group for assembly in assemblies(spoken, brief=True) for group in assembly.groups]
        for group in groups:
            head = f"  {group.name}: {verdict_words(group.first)}"
            if len(head) <= 80:
                assert lines.index(head) < at
                if group.first.verdict == "undecided" and group.first.asks:
                    assert any(line.startswith("    Wants: ") for line in lines[lines.index(head) :][:4])
    lines = list(sheet(empty, rules, Paper(80), brief=True))
    start = lines.index("LOOK AT NEXT")
    end = next(n for n in range(start, len(lines)) if lines[n] == "")
    numbers = [int(found[1]) for line in lines[start:end] if (found := re.match(r"  (\d+)\. ", line))]
    assert numbers == list(range(1, 11))
    whole = "\n".join(sheet(empty, rules, Paper(80)))
    listed = whole[whole.index("LOOK AT NEXT") :].partition("\n\n")[0]
    every = re.findall(r"^  (\d+)\. ", listed, re.M)
    assert f"  and {len(every) - 10} more; without --brief" in " \n".join(lines[start:end])


RISK = """risks:
  - {part: PART, ANSWER, by: Jo, because: no time}
"""


@pytest.mark.parametrize(
    ("part", "answer", "says"),
    [
        ("half_shell, place: 1 upper", "reuse", "what is wanted can still be looked at"),
        ("half_shell, place: 3 lower", "reuse", "the verdict stands: replace"),
        ("gasket", "replace", "the verdict stands without it"),
    ],
)
def test_a_risk_that_is_not_taken_into_account_is_told(
    run: Run, rig: Rig, part: str, answer: str, says: str
) -> None:
    risk = RISK.replace("PART", part).replace("ANSWER", f"answer: {answer}")
    rig.case.write_text(rig.case.read_text(encoding="utf-8") + risk, encoding="utf-8")
    note = f"risk of {answer} by Jo not taken into account: {says}"
    kind, _, place = part.partition(", place: ")
    for arguments in (("decide", rig.case), ("why", rig.case, kind, place)):
        out = " ".join(run(*arguments, "--rules", rig.rules).out.split())
        assert f"Note: {note}." in out
    whole = json.loads(run("decide", rig.case, "--rules", rig.rules, "--json").out)
    noted = [(each["part"], each["place"]) for each in whole["verdicts"] if note in each["notes"]]
    assert noted == [(kind, place)]


def test_a_risk_on_a_part_that_nobody_judges_is_told(run: Run, rig: Rig) -> None:
    risk = RISK.replace("PART", "lever").replace("ANSWER", "answer: reuse")
    rig.case.write_text(rig.case.read_text(encoding="utf-8") + risk, encoding="utf-8")
    out = " ".join(run("decide", rig.case, "--rules", rig.rules).out.split())
    assert "What will be done with lever: reuse, risk taken by name: Jo: no time." in out
    assert "What will be done: REUSE; risk taken by name: Jo: no time." in " ".join(
        run("why", rig.case, "lever", "--rules", rig.rules).out.split()
    )


def test_a_rule_set_that_comes_with_the_program_goes_by_its_name(run: Run, tmp_path: Path) -> None:
    gearbox = ROOT / "cases_demo" / "peat_locomotive" / "case.yaml"
    done = run("decide", gearbox, "--rules", "gearbox", "--brief")
    assert done.code == 0
    assert "Judged by rule set gearbox" in done.out
    # Without it the message names the option that mends it.
    assert "--rules gearbox" in run("decide", gearbox).err
    # A folder of that name goes first: it is what the person sees.
    (tmp_path / "gearbox").mkdir()
    assert run("decide", gearbox, "--rules", "gearbox").code == 1
