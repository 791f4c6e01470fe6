"""`rules probe`: cases on both sides of every threshold, worked out a second time from what is written."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from advisor.authoring import probe as probing
from advisor.authoring.cases import run_tests
from advisor.authoring.probe import Probe, Probed, probe, probe_files, revealed
from advisor.faults import Faults
from advisor.files import load_rules
from advisor.sheets.ruleset import RuleSet
from tests.cli.rig import Ran
from tests.decide import small
from tests.decide.deciding import demo, demo_rules, small_engine, small_rules

ENGINE = Path(__file__).parents[2] / "rulesets" / "engine"


def by_name(probed: Probed) -> dict[str, Probe]:
    names = [each.name for each in probed.cases]
    assert len(names) == len(set(names))
    return {each.name: each for each in probed.cases}


def readings(case: Probe, reading: str) -> list[Decimal]:
    """The sizes of a reading at the probed place, off the case as it would be written, in mm."""
    typed = case.yard.typed(case.changes)
    assert typed is not None
    found: list[Decimal] = []
    for entry in typed[2]["bench"]:
        if entry["part"] != case.part or case.place not in places(entry, case):
            continue
        read = entry.get("readings", {}).get(reading)
        if read is not None:
            texts = list(read["values"].values()) if "values" in read else [read["value"]]
            assert all(each.endswith(" mm") for each in texts)
            found += [Decimal(each.removesuffix(" mm")) for each in texts]
    return found


def places(entry: dict[str, Any], case: Probe) -> list[str]:
    every = case.yard.places(case.part)
    if entry.get("place", "all") == "all":
        return every
    named = [each.strip() for each in entry["place"].split(",")]
    return [place for place in every if place in named or any(place in spread(each, every) for each in named)]


def spread(text: str, every: list[str]) -> list[str]:
    if " to " not in text:
        return []
    first, last = text.split(" to ")
    return every[every.index(first) : every.index(last) + 1]


def test_a_wear_is_probed_about_its_limits() -> None:
    """Wear is new (60.000 mm) less the smallest reading; thrown away beyond 0.050 mm, by the rig's sheet.

    The rig's journals wreck the shaft, so the micrometer's error is held against them: a rectangular limit
    of 0.0005 mm gives a standard uncertainty of 0.00029 mm, times 1.645 (95 %, one side) 0.0005 mm: one step.
    """
    found = by_name(probe(small_rules(), small_engine(), kinds=["shaft_journal"]))
    wear = {
        name.partition(", wear, upper limit for ")[2]: Decimal("60.000") - min(readings(case, "diameter"))
        for name, case in found.items()
        if case.threshold == "wear"
    }
    assert wear == {
        "reassembly: just inside": Decimal("0.028"),
        "reassembly: at it": Decimal("0.030"),
        "reassembly: just outside": Decimal("0.032"),
        "discard: just inside": Decimal("0.048"),
        "discard: at it": Decimal("0.050"),
        "discard: just outside": Decimal("0.052"),
    }


def test_where_the_instrument_cannot_tell_is_probed_on_both_sides(tmp_path: Path) -> None:
    """With 0.005 mm of error the band is 0.005 / √3 × 1.645 = 0.0047 mm, five steps: so two from it."""
    rules = small.ruleset(
        tmp_path,
        vocabulary=small.VOCABULARY.replace(
            "instruments: [micrometer, exact_micrometer]", "instruments: [micrometer]"
        ),
    )
    found = by_name(probe(rules, small.engine(rules), kinds=["shaft_journal"]))
    about = {
        name.partition("discard: ")[2]: Decimal("60.000") - min(readings(case, "diameter"))
        for name, case in found.items()
        if "wear, upper limit for discard" in name
    }
    assert about == {
        "just inside": Decimal("0.044"),
        "too near to tell, inside": Decimal("0.048"),
        "at it": Decimal("0.050"),
        "too near to tell, outside": Decimal("0.052"),
        "just outside": Decimal("0.056"),
    }


def test_every_extent_is_probed_with_the_step_below() -> None:
    found = by_name(probe(small_rules(), small_engine(), kinds=["half_shell"]))
    names = [name for name, case in found.items() if case.threshold in ("scoring", "particles")]
    assert names == [
        "half_shell 1 upper, scoring light",
        "half_shell 1 upper, scoring deep",
        "half_shell 1 upper, particles few",
        "half_shell 1 upper, particles many",
    ]
    assert "one step beyond few" in found["half_shell 1 upper, particles many"].asks
    assert "half_shell 1 upper, nothing found" in found


def verdicts(probed: Probed, rules: RuleSet) -> dict[str, str]:
    return {case.name: revealed(case, rules)[0].verdict for case in probed.cases}


def test_the_threshold_alone_decides() -> None:
    """On a bench where nothing is wrong a shell is put back, and over the line it is not."""
    rules = small_rules()
    said = verdicts(probe(rules, small_engine(), kinds=["half_shell", "shaft"]), rules)
    assert said["half_shell 1 upper, nothing found"] == "reuse"
    assert said["half_shell 1 upper, scoring light"] == "reuse"
    assert said["half_shell 1 upper, scoring deep"] == "replace"
    assert said["half_shell 1 upper, particles few"] == "reuse"
    assert said["half_shell 1 upper, particles many"] == "replace"
    assert said["half_shell 1 upper, play, upper limit for discard: just inside"] == "reuse"
    assert said["half_shell 1 upper, play, upper limit for discard: just outside"] == "replace"
    assert said["shaft, crack line"] == "replace"


def test_one_rule_is_probed_at_what_it_looks_at() -> None:
    rules = small_rules()
    found = probe(rules, small_engine(), rules=["journal-worn"])
    assert {case.threshold for case in found.cases} == {"wear"}
    assert all("discard" in case.name for case in found.cases)
    away = probe(rules, small_engine(), rules=["journal-under-dirt"])
    assert away.cases == ()
    assert away.left_out == ("journal-under-dirt: it looks at no finding and no limit itself",)


def test_a_rule_that_looks_at_a_linked_part_asks_about_both(tmp_path: Path) -> None:
    text = small.RULES.replace(
        "when: {some: {carries: half_shell}, concern: dirty_oil}",
        "when: {some: {carries: half_shell}, finding: particles, at_least: many}",
    ).replace(
        "fires: [{related: [{carries: half_shell, concerns: [dirty_oil]}]}]",
        "fires: [{related: [{carries: half_shell, particles: many}]}]",
    )
    rules = small.ruleset(tmp_path, rules=text)
    found = by_name(probe(rules, small.engine(rules), rules=["journal-under-dirt"]))
    case = found["half_shell 1 upper, particles many"]
    assert case.about == (("half_shell", "1 upper"), ("shaft_journal", "1"))


def test_a_limit_that_the_engine_does_not_give_is_told(tmp_path: Path) -> None:
    text = small.ENGINE.replace("- {dimension: wear, purpose: discard, at_most: 0.050 mm, read_at: p. 4}", "")
    text = text.replace("    limits:\n      \n", "    limits:\n")
    rules = small_rules()
    found = probe(rules, small.engine(rules, text), rules=["journal-worn"])
    assert found.cases == ()
    assert found.left_out == ("wear of shaft_journal: the engine has no upper limit for discard",)


def written(probed: Probed, folder: Path) -> list[Path]:
    for name, text in probe_files(probed).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return sorted(folder.glob("*.yaml"))


def answered(probed: Probed, rules: RuleSet, folder: Path) -> Iterator[str]:
    """What is wrong with the cases of a run, once they are written, read and decided."""
    trial = run_tests(rules, written(probed, folder))
    yield from (f"{each.name}: {each.faults or each.failures}" for each in trial.failed)
    yield from (f"{each.name}: not left open" for each in trial.tried if not each.unanswered)
    if len(trial.tried) != len({each.name for each in probed.cases}):
        yield "not every case was written"


def test_the_files_wait_for_their_author(tmp_path: Path) -> None:
    rules = small_rules()
    found = probe(rules, small_engine())
    assert found.cases
    assert list(answered(found, rules, tmp_path)) == []


@pytest.mark.parametrize("kind", ["crank_pin", "connecting_rod", "oil_pump", "rod_bolt"])
def test_cases_of_the_engine_load_and_decide(kind: str, tmp_path: Path) -> None:
    found = probe(demo_rules(), demo().sheet, kinds=[kind])
    assert list(answered(found, demo_rules(), tmp_path)) == []


@pytest.mark.slow
def test_every_case_of_the_engine_loads_and_decides(tmp_path: Path) -> None:
    found = probe(demo_rules(), demo().sheet)
    assert len(found.cases) > 500
    assert list(answered(found, demo_rules(), tmp_path)) == []


@pytest.mark.slow
def test_what_every_rule_of_the_engine_looks_at_loads_and_decides(tmp_path: Path) -> None:
    rules = load_rules(ENGINE)
    found = probe(rules, demo().sheet, rules=[each.id for each in rules.rules])
    assert found.cases
    assert list(answered(found, rules, tmp_path)) == []


def test_more_cases_than_may_be_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(probing, "MOST_CASES", 5)
    with pytest.raises(Faults, match=r"too-many-probes"):
        probe(small_rules(), small_engine())


def test_the_command_shows_no_answer_unasked(tmp_path: Path, run: Callable[..., Ran]) -> None:
    small.ruleset(tmp_path / "rules")
    engine = tmp_path / "engine.yaml"
    engine.write_text(small.ENGINE, encoding="utf-8")
    out = tmp_path / "out"
    out.mkdir()
    told = run("rules", "probe", tmp_path / "rules", "--engine", engine, "--kind", "half_shell", "--out", out)
    assert told.code == 0
    assert "half_shell 1 upper, scoring deep" in told.out
    assert "replace" not in told.out
    assert "reuse" not in told.out
    assert all("replace" not in each.read_text("utf-8") for each in out.glob("*.yaml"))
    assert all(len(line) <= 80 for line in told.out.splitlines())
    asked = run("rules", "probe", tmp_path / "rules", "--engine", engine, "--kind", "half_shell", "--reveal")
    assert "half_shell 1 upper: replace, by shell-scored" in asked.out
    as_json = run("rules", "probe", tmp_path / "rules", "--engine", engine, "--kind", "half_shell", "--json")
    assert '"says"' not in as_json.out
    tests = run("rules", "test", tmp_path / "rules", *sorted(out.glob("*.yaml")))
    assert tests.code == 0
    assert "NOT YET ANSWERED" in tests.out


def test_without_an_engine_sheet_one_is_asked_for(tmp_path: Path, run: Callable[..., Ran]) -> None:
    small.ruleset(tmp_path / "rules")
    told = run("rules", "probe", tmp_path / "rules")
    assert told.code == 1
    assert "name one with --engine [no-engine-sheet]" in told.err
    wrong = run("rules", "probe", tmp_path / "rules", "--kind", "half_shel")
    assert wrong.code == 2
    assert 'did you mean "half_shell"?' in wrong.err


def test_a_file_holds_no_more_tests_than_it_may(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("advisor.authoring.suite.MOST_IN_FILE", 2)
    found = probe(small_rules(), small_engine(), kinds=["half_shell"])
    files = [name for name in probe_files(found) if "/" not in name]
    assert len(files) == -(-len(found.cases) // 2)
    assert list(answered(found, small_rules(), tmp_path)) == []
