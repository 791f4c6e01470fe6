"""House rules as the commands take and tell them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

from advisor.cli.ours import report
from advisor.schema import decision_schema
from tests.cli.rig import DEMO, ROOT, Ran, Rig
from tests.decide.house import ENGINE, HEAD, OWN_RULES, SIGNED, write_base, write_house

Run = Callable[..., Ran]

FENMOOR = ROOT / "rulesets" / "fenmoor_house"

CHANGES = f"""\
limits:
  - {{part: shaft_journal, dimension: taper, purpose: discard,
    loosen: {{at_most: {{from: new, times: "3"}}}}, {SIGNED}}}
retire:
  - {{rule: shell-scored, {SIGNED}}}
choose:
  - {{rule: journal-tapered, follow: if_scored, {SIGNED}}}
add:
  - {{rules: [own.yaml], vocabulary: [words.yaml], {SIGNED}}}
"""


@pytest.fixture
def house(rig: Rig) -> Path:
    """House rules over the base, beside the rig's engine and case."""
    write_base(rig.folder / "base")
    rig.engine.write_text(ENGINE, encoding="utf-8")
    return write_house(rig.folder / "house", HEAD + CHANGES)


def flat(text: str) -> str:
    return " ".join(text.split())


def test_decide_takes_a_house_and_says_what_is_milder_first(run: Run, rig: Rig, house: Path) -> None:
    for form in ((), ("--brief",), ("--full",)):
        done = run("decide", rig.case, "--rules", house, *form)
        assert done.code == 0, done.err
        head = flat(done.out.partition("─")[0])
        assert "Judged by rule set trial 1.2.3." in head
        assert (
            "With the house rules trial_house 1.0.0 (the house rules of a trial): 1 limit changed, "
            "1 rule retired, 1 other source followed, 1 rule or limit added."
        ) in head
        grave, _, other = head.partition("MILDER THAN THE BASE, BY DECISION OF THE HOUSE")
        assert "MILDER THAN THE BASE WHERE A MISTAKE IS GRAVEST, BY DECISION OF THE HOUSE wrecks it." in grave
        assert (
            "Limit for discard of taper on journal loosened from at most 2 times the limit for new to at "
            "most 3 times the limit for new. Decided by A. Foreman on 2026-03-14: it was so decided."
        ) in grave
        assert "Rule shell-scored retired." in other
        assert max(map(len, done.out.splitlines())) <= 80


def test_the_record_pins_house_and_base(run: Run, rig: Rig, house: Path, tmp_path: Path) -> None:
    target = tmp_path / "record.json"
    done = run("decide", rig.case, "--rules", house, "--json", "--record", target)
    whole = json.loads(done.out)
    jsonschema.Draft202012Validator(decision_schema()).validate(whole)
    (used,) = whole["rulesets"]
    (layer,) = used["house"]
    assert layer["base"]["version"] == "1.2.3"
    assert {change["kind"] for change in layer["changes"]} == {
        "limit changed",
        "rule retired",
        "alternative followed",
        "rules added",
        "words added",
    }
    assert all((change["by"], change["on"]) == ("A. Foreman", "2026-03-14") for change in layer["changes"])
    held = json.loads(target.read_text(encoding="utf-8"))
    assert held["decision"] == whole
    assert held["inputs"]["ruleset"]["house"] == used["house"]
    assert (
        layer["base"]["digest"]
        == json.loads(run("rules", "show", rig.folder / "base", "--json").out)["digest"]
    )


def test_why_tells_the_house_rules_behind_a_verdict(run: Run, rig: Rig, house: Path) -> None:
    shell = flat(run("why", rig.case, "half_shell", "1 upper", "--rules", house).out)
    assert "House rule: rule shell-scored retired, by A. Foreman on 2026-03-14: it was so decided." in shell
    (house / "house.yaml").write_text(HEAD + CHANGES.partition("choose:")[0], encoding="utf-8")
    text = rig.case.read_text().replace("with: micrometer", "with: exact_micrometer")
    for end, size in (("front", "59.985"), ("rear", "59.960")):
        text = text.replace(f"{end} x: 59.900 mm, {end} y: 59.905", f"{end} x: {size} mm, {end} y: {size}")
    rig.case.write_text(text)
    told = flat(run("why", rig.case, "shaft_journal", "3", "--rules", house).out)
    assert "house rule: loosened from at most 0.020 mm to at most 0.030 mm by A. Foreman" in told


def test_why_tells_a_rule_that_the_house_added(run: Run, rig: Rig, house: Path) -> None:
    rig.case.write_text(rig.case.read_text().replace("heat: blue", "heat: straw"))
    told = flat(run("why", rig.case, "shaft_journal", "3", "--rules", house).out)
    assert (
        "House rule: rule house-straw-journal added, by A. Foreman on 2026-03-14: it was so decided." in told
    )
    assert "Written at trial_house/own.yaml:3:5" in told


def test_start_and_check_take_a_house(run: Run, rig: Rig, house: Path, tmp_path: Path) -> None:
    done = run("start", rig.engine, "--rules", house, "--into", "-")
    assert done.code == 0
    assert "rust" in done.out
    done = run("check", house, rig.case, "--rules", house)
    assert done.code == 0, done.out
    assert "with the house rules trial_house 1.0.0" in done.out
    for inner in ("house.yaml", "own.yaml"):
        assert run("check", house / inner).out.startswith(f"{house}: the rule set trial 1.2.3")
    (house / "own.yaml").write_text(OWN_RULES.replace("fires: [{heat: straw}]", "fires: [{heat: blue}]"))
    done = run("check", house)
    assert done.code == 1
    assert "own.yaml:9:" in done.out
    assert "[example-does-not-fire]" in done.out


def test_show_tells_what_rests_on_each_change(run: Run, house: Path) -> None:
    done = run("rules", "show", house)
    assert done.code == 0
    told = flat(done.out)
    assert "Rests on it: journal-tapered." in told
    assert "A verdict may come out milder by it. wrecks it." in told
    assert "Examples: its 2 examples go with it." in told
    # The base's example of the rule that is now followed otherwise no longer fires.
    assert "rule journal-tapered does not fire on this example" in told
    assert "Written at trial_house/house.yaml:10:5" in told
    assert max(map(len, (line for line in done.out.splitlines() if "base/rules.yaml" not in line))) <= 80


def test_show_in_json(run: Run, house: Path) -> None:
    whole = json.loads(run("rules", "show", house, "--json").out)
    (layer,) = whole["layers"]
    assert layer["digest"] == whole["digest"]
    changes = {each["change"]["subject"]: each for each in layer["changes"]}
    assert changes["shaft_journal taper discard"]["rests"] == ["journal-tapered"]
    assert changes["journal-tapered"]["at"] == "trial_house/house.yaml:12:5"
    assert len(changes["journal-tapered"]["examples"]) == 1


def test_show_of_a_base_gives_what_a_house_pins(run: Run, house: Path) -> None:
    done = run("rules", "show", house.parent / "base")
    digest = done.out.split("digest: ")[1].strip()
    pinned = (HEAD + CHANGES).replace("version: 1.2.3", f"digest: {digest}")
    (house / "house.yaml").write_text(pinned, encoding="utf-8")
    assert "Go through" not in run("rules", "show", house).out


def test_a_base_that_has_changed_is_told_everywhere(run: Run, rig: Rig, house: Path) -> None:
    manifest = house.parent / "base" / "ruleset.yaml"
    manifest.write_text(manifest.read_text().replace("1.2.3", "2.0.0"))
    says = "the base trial is version 2.0.0 now, and the house rules were written against version 1.2.3"
    assert f"Go through the house rules again: {says}." in flat(run("decide", rig.case, "--rules", house).out)
    assert f"Go through these house rules again: {says}." in flat(run("rules", "show", house).out)
    assert says in flat(run("check", house).out)


def test_a_kind_that_is_no_longer_judged_is_told(run: Run, house: Path) -> None:
    (house / "house.yaml").write_text(
        f"{HEAD}retire:\n  - {{rule: gasket-always, {SIGNED}}}\n", encoding="utf-8"
    )
    told = flat(run("rules", "show", house).out)
    assert "Not judged any more, since no rule can rule their reuse out: gasket." in told


def test_show_of_what_is_at_fault_or_not_there(run: Run, house: Path) -> None:
    (house / "house.yaml").write_text(HEAD.replace("../base", "../bass"), encoding="utf-8")
    done = run("rules", "show", house)
    assert (done.code, done.out) == (1, "")
    assert "house.yaml:5:16: there is no rule set in ../bass" in done.err
    assert run("rules", "show", house / "nowhere").code == 1


def test_a_fault_of_ours_takes_the_base_along(run: Run, house: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    report(ValueError("a trial"), ["decide", "--rules", str(house)])
    (written,) = Path.cwd().glob("advisor-fault-*.json")
    files = json.loads(written.read_text(encoding="utf-8"))["files"]
    assert {Path(name).name for name in files} >= {
        "house.yaml",
        "own.yaml",
        "ruleset.yaml",
        "vocabulary.yaml",
    }


def test_the_invented_house_that_ships(run: Run) -> None:
    assert run("check", FENMOOR).code == 0
    whole = json.loads(run("rules", "show", FENMOOR, "--json").out)
    kinds = {each["change"]["kind"] for layer in whole["layers"] for each in layer["changes"]}
    assert len(kinds) == 7, "the example is to show every kind of change"
    assert whole["layers"][0]["layer"]["drift"] == ""
    base = {(v["part"], v["place"]): v for v in json.loads(run("decide", DEMO, "--json").out)["verdicts"]}
    house = json.loads(run("decide", DEMO, "--json", "--rules", FENMOOR).out)["verdicts"]
    pin = next(v for v in house if (v["part"], v["place"]) == ("crank_pin", "2"))
    assert (base["crank_pin", "2"]["verdict"], pin["verdict"]) == ("undecided", "replace")
    assert [reason["rule"] for reason in pin["reasons"]] == ["crank-pin-heat-coloured"]


def test_the_tests_of_the_invented_house_tell_it_from_its_base(run: Run) -> None:
    assert run("rules", "test", FENMOOR).code == 0
    under_the_base = run("rules", "test", ROOT / "rulesets" / "engine", FENMOOR / "tests" / "house.yaml")
    assert under_the_base.code == 1
    assert "4 tests" in under_the_base.out
    assert "1 passed" in under_the_base.out
