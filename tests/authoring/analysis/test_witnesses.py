"""A witness is a case that can be decided, and the decision shows what the finding says of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.authoring.analysis.bench import Files, files_of, typed
from advisor.authoring.analysis.model import RuleFinding, Witness
from advisor.authoring.analysis.worlds import with_value
from advisor.files import load_case, load_rules
from advisor.pipeline import decide
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.judge import NO_RULE
from advisor.verdicts.model import Verdict
from tests.authoring.analysis.planted import PLANTED, Planted
from tests.authoring.analysis.sound import analysed, sound

WITH_CASES = [each for each in PLANTED if each.code in ("milder-when-worse", "kind-without-rule")]
SILENT = [
    each for each in PLANTED if each.code in ("finding-without-rule", "extents-alike", "unused-finding")
]
BEYOND = [
    each
    for each in PLANTED
    if each.code in ("dimension-without-rule", "limit-without-rule", "unused-dimension")
]


def planted_in(planted: Planted, folder: Path) -> tuple[RuleSet, RuleFinding]:
    """The finding, with the rule set as whoever decides a case loads it."""
    data = sound()
    planted.plant(data)
    rules, analysis = analysed(data, folder / "rules")
    (finding,) = [
        each for each in analysis.findings if (each.code, each.subject) == (planted.code, planted.subject)
    ]
    return rules, finding


def verdict(witness: Witness, rules: RuleSet, folder: Path) -> Verdict:
    """The verdict on the first item of a witness, by the way of every case: from files."""
    return verdict_on(files_of(witness, rules, "a witness"), witness.items[0].kind, rules, folder)


def verdict_on(files: Files, kind: str, rules: RuleSet, folder: Path) -> Verdict:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "engine.yaml").write_text(typed(files.engine), encoding="utf-8")
    (folder / "case.yaml").write_text(typed(files.case), encoding="utf-8")
    loaded = load_case(folder / "case.yaml", rules)
    decision = decide(loaded.case, loaded.sheet, rules, document=loaded.document)
    return next(each for each in decision.verdicts if each.part == kind)


@pytest.mark.parametrize(
    "planted", [each for each in WITH_CASES if each.code == "milder-when-worse"], ids=str
)
def test_what_gets_worse_is_decided_milder(planted: Planted, tmp_path: Path) -> None:
    rules, finding = planted_in(planted, tmp_path)
    better, worse = finding.witnesses
    one = verdict(better, rules, tmp_path / "better")
    other = verdict(worse, rules, tmp_path / "worse")
    assert better.says.startswith(one.verdict)
    assert worse.says.startswith(f"only {other.verdict}")
    assert ("reuse", "recondition", "replace").index(one.verdict) > (
        "reuse",
        "recondition",
        "replace",
    ).index(other.verdict)


def test_a_kind_that_no_rule_judges_stays_undecided(tmp_path: Path) -> None:
    (planted,) = [each for each in WITH_CASES if each.code == "kind-without-rule"]
    rules, finding = planted_in(planted, tmp_path)
    decided = verdict(finding.witnesses[0], rules, tmp_path / "case")
    assert decided.verdict == "undecided"
    assert NO_RULE in decided.notes


@pytest.mark.parametrize("planted", SILENT, ids=str)
def test_an_extent_that_no_rule_speaks_of_changes_nothing(planted: Planted, tmp_path: Path) -> None:
    rules, finding = planted_in(planted, tmp_path)
    (witness,) = finding.witnesses
    ((name, _),) = witness.items[0].findings.items()
    milder = witness.says.rpartition(" ")[2]
    one = verdict(witness, rules, tmp_path / "worst")
    other = verdict(with_value(witness, ("finding", name), milder), rules, tmp_path / "milder")
    assert one.verdict != "undecided"
    assert (one.verdict, one.tasks, one.operations) == (other.verdict, other.tasks, other.operations)
    assert [reason.rule for reason in one.reasons] == [reason.rule for reason in other.reasons]


@pytest.mark.parametrize("planted", BEYOND, ids=str)
def test_a_size_beyond_its_discard_limit_bars_nothing(planted: Planted, tmp_path: Path) -> None:
    rules, finding = planted_in(planted, tmp_path)
    decided = verdict(finding.witnesses[0], rules, tmp_path / "case")
    assert decided.verdict == "reuse"
    assert any("beyond its discard limit, and no rule bars on it" in note for note in decided.notes)


def test_the_gaps_of_the_shipped_rule_set_are_decided_as_they_say(tmp_path: Path) -> None:
    """The made-up engines hold for real vocabularies too: every case of a gap loads and is decided."""
    from advisor._resources import rulesets_dir
    from advisor.authoring.analysis.report import witness_files
    from advisor.authoring.analysis.whole import analyse
    from advisor.sheets.ruleset import merge, read_files

    files = read_files(rulesets_dir() / "engine")
    analysis = analyse(merge(files)[0], files)
    rules = load_rules()
    made = list(witness_files(analysis, rules))
    assert [name for name, each in made if each is None] == []
    for name, each in made:
        assert each is not None
        kind = each.case["bench"][0]["part"]
        decided = verdict_on(each, kind, rules, tmp_path / name)
        if name.startswith("kind-without-rule"):
            assert NO_RULE in decided.notes, name


def test_a_witness_is_the_same_each_time(tmp_path: Path) -> None:
    """Whatever the order in which words and rules were written."""
    data = sound()
    for planted in PLANTED:
        if planted.code == "finding-without-rule" or planted.subject.startswith("shell: scoring deep"):
            planted.plant(data)
    backwards = {**data, "rules": {**data["rules"], "rules": data["rules"]["rules"][::-1]}}
    one, other = (analysed(each, tmp_path / name)[1] for name, each in (("one", data), ("two", backwards)))
    told = [(each.subject, each.witnesses) for each in one.findings]
    assert sum(bool(witnesses) for _, witnesses in told) >= 2
    assert sorted(told, key=repr) == sorted(
        ((each.subject, each.witnesses) for each in other.findings), key=repr
    )
