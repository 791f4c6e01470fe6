"""`rules cover`: what it says is shown is shown, and its ready cases show what they are made for."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import pytest

from advisor.authoring.cases import Trier, read_tests, run_tests
from advisor.authoring.coverage import Coverage, cover
from advisor.authoring.coverage_files import test_files as files_of
from advisor.authoring.coverage_page import page
from advisor.authoring.coverage_report import as_values, lines
from advisor.authoring.fill import Filler, NotFound, Ready
from advisor.authoring.mcdc import tree_of
from advisor.authoring.traces import Tracer
from advisor.chain.plain import PlainRule, evaluate, prepare
from advisor.faults import Faults
from advisor.sheets.conditions import All, Any, Condition
from advisor.sheets.ruleset import RuleSet
from tests.cli.rig import Ran
from tests.decide import small
from tests.decide.deciding import demo, demo_rules

ENGINE = Path(__file__).parents[2] / "rulesets" / "engine"

CRANK = (
    "crankshaft",
    "main_journal",
    "crank_pin",
    "thrust_face",
    "thrust_washer",
    "seal_track",
    "crank_gallery_plug",
)
BEARINGS = (
    "main_shell",
    "big_end_shell",
    "main_bore",
    "connecting_rod",
    "rod_bolt",
    "main_cap_bolt",
    "small_end_bush",
)


def rig(folder: Path, rules: str = small.RULES, sheet: str = small.ENGINE) -> tuple[Path, RuleSet, Path]:
    """The small rule set with an engine sheet beside it."""
    whole = small.ruleset(folder / "rules", rules=rules)
    engine = folder / "engine.yaml"
    engine.write_text(sheet, encoding="utf-8")
    return folder / "rules", whole, engine


def rule(condition: str, kind: str = "shaft_journal", fires: str = "{}", holds: str = "{}") -> str:
    return f"""
format: 1
rules:
  - id: on-trial
    for: {kind}
    when: {condition}
    then: {{task: polish}}
    because: it is on trial
    cite: [{{source: made_up}}]
    examples: {{fires: [{fires}], holds: [{holds}]}}
"""


def states(coverage: Coverage) -> dict[tuple[str, str], str]:
    return {(rule.rule, each.says): each.state for rule in coverage.rules for each in rule.conditions}


def write(coverage: Coverage, folder: Path) -> None:
    for name, text in files_of(coverage).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def test_examples_alone_show_the_small_rule_set(tmp_path: Path) -> None:
    folder, rules, _ = rig(tmp_path)
    found = cover(folder, rules, [])
    assert found.conditions == sum(len(tree_of(each.condition).conditions) for each in rules.rules)
    assert states(found)["shaft-sound", "crack is none"] == "shown"
    # No example has a journal that is suspect and not cracked.
    assert states(found)["shaft-sound", "no concern suspect"] == "not shown"
    assert found.cases == 0
    assert found.examples == sum(len(each.examples.fires) + len(each.examples.holds) for each in rules.rules)


def test_ready_cases_make_the_whole_of_it(tmp_path: Path) -> None:
    folder, rules, engine = rig(tmp_path)
    first = cover(folder, rules, [], engine=engine, examples=False)
    assert first.count("shown") == 0
    assert first.ready
    write(first, folder / "tests")
    files = sorted((folder / "tests").glob("*.yaml"))
    trial = run_tests(rules, files)
    assert not trial.failed
    assert all(each.unanswered for each in trial.tried)
    again = cover(folder, rules, [], examples=False)
    assert again.cases == len(first.ready)
    assert again.count("not shown") == 0, list(lines(again, 100))
    assert again.percent == 100


@functools.cache
def engine_pairs(every: int) -> list[tuple[int, int, tuple[Ready, ...]]]:
    """Both cases for some conditions of the engine rule set, from nothing; one condition in `every`."""
    tracer = Tracer(demo_rules())
    filler = Filler(tracer, demo().sheet)
    found: list[tuple[int, int, tuple[Ready, ...]]] = []
    conditions = [
        (number, index) for number, tree in enumerate(tracer.trees) for index in range(len(tree.conditions))
    ]
    for number, index in conditions[::every]:
        made = filler.pair(number, index, {}, masking=False)
        if not isinstance(made, NotFound):
            found.append((number, index, made))
    assert len(found) > 0.85 * len(conditions[::every])
    return found


def struck(condition: Condition, index: int, count: list[int]) -> Condition | None:
    """A condition without its leaf of that number; None where nothing is left of this part."""
    if isinstance(condition, All | Any):
        parts = [part for each in condition.parts if (part := struck(each, index, count)) is not None]
        if isinstance(condition, All):
            return All(tuple(parts))
        return Any(tuple(parts), condition.number)
    count[0] += 1
    return None if count[0] - 1 == index else condition


def noticed(number: int, index: int, pair: tuple[Ready, ...]) -> bool:
    """Whether one of two cases comes out otherwise once the condition is struck out of its rule."""
    rules = demo_rules()
    less = struck(rules.rules[number].condition, index, [0])
    outcomes = []
    for condition in (rules.rules[number].condition, less if less is not None else All(())):
        plain = [
            PlainRule(each.for_, condition if at == number else each.condition, tuple(each.then.concern))
            for at, each in enumerate(rules.rules)
        ]
        prepared = prepare(plain)
        said = []
        for case in pair:
            laid = case.yard.lay(case.changes)
            assert laid is not None
            place = next(
                p for p in (case.place, *case.yard.places(case.part)) if p in case.yard.places(case.part)
            )
            item = case.yard.item(laid, case.part, place, case.changes)
            firings = evaluate(prepared, laid.world)
            said.append(((number, item, True) in firings, (number, item, False) in firings))
        outcomes.append(said)
    return outcomes[0] != outcomes[1]


def test_striking_a_covered_condition_out_is_noticed() -> None:
    missed = [
        (demo_rules().rules[number].id, index)
        for number, index, pair in engine_pairs(9)
        if not noticed(number, index, pair)
    ]
    assert missed == []


@pytest.mark.slow
def test_striking_any_covered_condition_out_is_noticed() -> None:
    missed = [
        (demo_rules().rules[number].id, index)
        for number, index, pair in engine_pairs(1)
        if not noticed(number, index, pair)
    ]
    assert missed == []


def _shown_as_written(pairs: list[tuple[int, int, tuple[Ready, ...]]], folder: Path) -> list[str]:
    """Ready cases that, written, read and decided, do not come to the very vector they were made for."""
    tracer = Tracer(demo_rules())
    made = [case for _, _, pair in pairs for case in pair]
    unique = {(case.rule, case.vector): case for case in made}
    found = cover(ENGINE, demo_rules(), [], examples=False, build=False)
    write(_with_ready(found, tuple(unique.values())), folder)
    numbers = {each.id: number for number, each in enumerate(demo_rules().rules)}
    seen: set[tuple[int, tuple[bool | None, ...]]] = set()
    trier = Trier(demo_rules())
    tests = 0
    for path in sorted(folder.glob("*.yaml")):
        read = read_tests(path)
        for index in range(len(read.tests)):
            tests += 1
            prepared = trier.prepare(read, index)
            worked = trier.decide(prepared)
            tried = trier.try_one(read, index)
            assert not tried.failures, tried.failures
            seen |= {(each.rule, each.vector) for each in tracer.traces(worked.world)}
    assert tests == len(unique)
    return [each.rule for each in unique.values() if (numbers[each.rule], each.vector) not in seen]


def _with_ready(coverage: Coverage, ready: tuple[Ready, ...]) -> Coverage:
    from dataclasses import replace

    return replace(coverage, ready=ready)


def test_ready_cases_of_the_engine_come_to_what_they_were_made_for(tmp_path: Path) -> None:
    assert _shown_as_written(engine_pairs(9), tmp_path) == []


@pytest.mark.slow
def test_all_ready_cases_of_the_engine_come_to_what_they_were_made_for(tmp_path: Path) -> None:
    assert _shown_as_written(engine_pairs(1), tmp_path) == []


def test_every_condition_of_the_crank_and_bearing_rules_is_shown_or_argued() -> None:
    kinds = (*CRANK, *BEARINGS)
    found = cover(ENGINE, demo_rules(), [], build=False, wanted=lambda rule, kind: kind in kinds)
    missing = [key for key, state in states(found).items() if state == "not shown"]
    assert missing == []
    assert found.conditions > 300
    # Both ways round each rule was seen, too.
    assert [
        each.rule for each in found.rules if not each.fired or not (each.held or not each.conditions)
    ] == []


def test_conditions_that_hang_together_are_shown_by_masking(tmp_path: Path) -> None:
    text = rule(
        "{all: [{finding: scoring, at_least: light}, {finding: scoring, at_least: deep}]}",
        fires="{scoring: deep}",
        holds="{scoring: light}, {}",
    )
    folder, rules, engine = rig(tmp_path, text)
    found = cover(folder, rules, [], engine=engine)
    (only,) = found.rules
    deep = next(each for each in only.conditions if each.says == "scoring at least deep")
    assert (deep.state, deep.pair.form if deep.pair else "") == ("shown", "unique cause")
    light = next(each for each in only.conditions if each.says == "scoring at least light")
    # Whenever it is false the other is false too, so nothing can show that it decides.
    assert light.state == "not shown"
    assert light.why.startswith("coupled: no two cases can differ in it alone")


def test_masking_serves_where_no_two_cases_can_differ_in_one_condition(tmp_path: Path) -> None:
    """Lost or found: only one of two can be so, and each decides by itself."""
    text = rule(
        "{any: [{all: [{finding: scoring, is: light}, {finding: heat, at_least: straw}]}, "
        "{all: [{finding: scoring, is: none}, {finding: heat, is: none}]}]}",
        fires="{scoring: light, heat: straw}",
        holds="{scoring: light}",
    )
    folder, rules, engine = rig(tmp_path, text)
    found = cover(folder, rules, [], engine=engine)
    assert {each.says: bool(each.ready) or each.state == "shown" for each in found.rules[0].conditions} == {
        "scoring is light": True,
        "heat at least straw": True,
        "scoring is none": True,
        "heat is none": True,
    }
    write(found, folder / "tests")
    again = cover(folder, rules, [])
    assert again.count("not shown") == 0, list(lines(again, 100))
    forms = {each.pair.form for each in again.rules[0].conditions if each.pair is not None}
    assert forms == {"unique cause", "masking"}


def test_a_constant_condition_is_told_as_one(tmp_path: Path) -> None:
    """That nobody has looked can always be mended by looking, so it is never certain."""
    text = rule(
        "{any: [{evidence: heat, is: not looked at}, {finding: scoring, at_least: deep}]}",
        fires="{scoring: deep}",
        holds="{}",
    )
    folder, rules, engine = rig(tmp_path, text)
    found = cover(folder, rules, [], engine=engine)
    why = {each.says: each.why for each in found.rules[0].conditions}
    assert why["evidence heat is not looked at"] == (
        "constant: it is never true, whatever is found, so it can decide nothing"
    )
    assert states(found)["on-trial", "scoring at least deep"] == "shown"


ARGUED = """format: 1
argued:
  - {rule: shaft-sound, condition: no concern suspect, because: as the rule before, by: a master}
"""


def test_an_argument_stands_in_for_a_case(tmp_path: Path) -> None:
    folder, rules, _ = rig(tmp_path)
    (folder / "coverage.yaml").write_text(ARGUED, encoding="utf-8")
    found = cover(folder, rules, [])
    assert states(found)["shaft-sound", "no concern suspect"] == "argued"
    assert found.percent == 100


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            ARGUED.replace("rule: shaft-sound", "rule: shaft-sond"),
            "coverage.yaml:3:12: there is no rule shaft-sond any more, and so nothing to argue; expected "
            'a rule of this rule set; did you mean "shaft-sound"? [argued-no-rule]',
        ),
        (
            ARGUED.replace("no concern suspect", "concern suspect"),
            "coverage.yaml:3:36: rule shaft-sound has no condition concern suspect; expected one of "
            'no concern suspect; crack is none; did you mean "no concern suspect"? [argued-no-condition]',
        ),
        (
            ARGUED + ARGUED.splitlines(keepends=True)[2],
            "coverage.yaml:4:36: this condition of rule shaft-sound was argued before; expected one argument "
            "for each condition; drop one of them [argued-twice]",
        ),
        (
            ARGUED.replace("no concern suspect", "crack is none"),
            "coverage.yaml:3:5: cases show that crack is none decides rule shaft-sound, so this argument is "
            "out of date; expected arguments only for what no case shows; drop the argument [argued-shown]",
        ),
    ],
)
def test_an_argument_that_does_not_hold_is_refused(tmp_path: Path, text: str, message: str) -> None:
    folder, rules, _ = rig(tmp_path)
    (folder / "coverage.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(Faults) as refused:
        cover(folder, rules, [])
    assert [str(each).replace(f"{folder}/", "") for each in refused.value.faults] == [message]


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.attributes: list[tuple[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes += attrs
        if tag not in ("meta",):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_page_stands_by_itself(tmp_path: Path) -> None:
    nasty = small.RULES.replace("nothing speaks against it", "nothing <script>alert(1)</script> & against it")
    folder, rules, engine = rig(tmp_path, nasty)
    text = page(cover(folder, rules, [], engine=engine))
    read = _Page()
    read.feed(text)
    assert read.open == []
    assert "script" not in read.tags
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; against it" in text
    reached = [value for name, value in read.attributes if name in ("src", "href", "action", "data")]
    assert all(value is not None and value.startswith("#") for value in reached)
    assert "url(" not in text
    assert "@import" not in text
    assert ("name", "viewport") in read.attributes
    # Nothing is told by colour: there is black, white and one grey for rules between rows.
    assert set(re.findall(r"#[0-9a-f]{3,6}\b(?=[;\s}])", text)) <= {"#111", "#fff", "#999"}
    assert "@media print" in text


def test_json_tells_all_of_it(tmp_path: Path) -> None:
    folder, rules, engine = rig(tmp_path)
    told = as_values(cover(folder, rules, [], engine=engine))
    assert told["conditions"] == told["shown"] + told["argued"] + told["not_shown"]
    sound = next(each for each in told["rules"] if each["rule"] == "shaft-sound")
    crack = next(each for each in sound["conditions"] if each["says"] == "crack is none")
    assert crack["form"] == "unique cause"
    assert crack["true"]["conditions"] == ["true", "true"]
    assert crack["false"]["conditions"] == ["true", "false"]


def test_the_command(tmp_path: Path, run: Callable[..., Ran]) -> None:
    folder, _, engine = rig(tmp_path)
    told = run("rules", "cover", folder)
    assert told.code == 0
    assert "NOT SHOWN: no concern suspect" in told.out
    assert "name an engine sheet with --engine" in told.out.replace("\n  ", " ")
    short = run("rules", "cover", folder, "--at-least", "100")
    assert short.code == 1
    assert "less than the 100 %" in short.err
    (folder / "tests").mkdir()
    page_file = tmp_path / "page.html"
    written = run(
        "rules", "cover", folder, "--engine", engine, "--write", folder / "tests", "--html", page_file
    )
    assert written.code == 0
    assert page_file.read_text("utf-8").startswith("<!doctype html>")
    assert run("rules", "cover", folder, "--at-least", "100").code == 0
    assert run("rules", "cover", folder, "--engine", engine, "--html", page_file).code == 2
    assert all(len(line) <= 80 for line in told.out.splitlines())
    only = run("rules", "cover", folder, "--rule", "shaft-sound", "--all")
    assert "shaft-cracked" not in only.out
    assert "Analysed: 2 conditions in 1 rule of trial" in only.out
    wrong = run("rules", "cover", folder, "--rule", "shaft-sond")
    assert wrong.code == 2
    assert 'did you mean "shaft-sound"?' in wrong.err


def test_nothing_is_written_where_a_name_is_taken(tmp_path: Path, run: Callable[..., Ran]) -> None:
    folder, _, engine = rig(tmp_path)
    out = tmp_path / "out"
    out.mkdir()
    (out / "coverage_shaft.yaml").write_text("mine", encoding="utf-8")
    told = run("rules", "cover", folder, "--engine", engine, "--write", out)
    assert told.code == 2
    assert (out / "coverage_shaft.yaml").read_text("utf-8") == "mine"
    assert [each.name for each in out.rglob("*.yaml")] == ["coverage_shaft.yaml"]


def test_a_case_that_is_none_is_refused_by_place(tmp_path: Path, run: Callable[..., Ran]) -> None:
    folder, _, _ = rig(tmp_path)
    case = tmp_path / "case.yaml"
    case.write_text(
        "format: 1\ncase: a\nengine_sheet: engine.yaml\nbench:\n  - {part: shft}\n", encoding="utf-8"
    )
    told = run("rules", "cover", folder, case)
    assert told.code == 1
    assert "case.yaml:5:12" in told.err


def test_only_so_many_cases_are_built_in_one_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("advisor.authoring.coverage.MOST_BUILT", 2)
    folder, rules, engine = rig(tmp_path)
    found = cover(folder, rules, [], engine=engine, examples=False)
    built = [each for rule in found.rules for each in rule.conditions if each.ready]
    left = [each.why for rule in found.rules for each in rule.conditions if not each.ready]
    assert len(built) == 2
    assert set(left) == {"no case was built: that is done for 2 conditions in one run"}


def test_more_files_than_may_be_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("advisor.authoring.coverage.MOST_FILES", 1)
    folder, rules, engine = rig(tmp_path)
    with pytest.raises(Faults, match=r"too-many-tests"):
        cover(folder, rules, [engine, engine])
