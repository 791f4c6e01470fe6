"""How long the check of the shipped rule set takes, against reading its files with PyYAML alone."""

from __future__ import annotations

from pathlib import Path

import yaml

from advisor._resources import rulesets_dir
from advisor.authoring.analysis.whole import analyse
from advisor.authoring.check import check_rule_set
from advisor.sheets.ruleset import MANIFEST
from tests.benchmarks.timing import medians, table


def compare(rounds: int) -> str:
    """`advisor rules check` of the shipped rules."""
    rules_folder = rulesets_dir() / "engine"
    checked, rules, files = check_rule_set(rules_folder)
    assert rules is not None
    assert files is not None
    if checked.faults:
        raise AssertionError([str(each) for each in checked.faults])
    analysis = analyse(rules, files)

    def whole() -> object:
        _, again, read = check_rule_set(rules_folder)
        assert again is not None
        assert read is not None
        return analyse(again, read)

    times = medians(
        {
            "PyYAML alone": lambda: _read(rules_folder),
            "advisor check": lambda: check_rule_set(rules_folder),
            "its analysis": lambda: analyse(rules, files),
            "rules check": whole,
        },
        rounds,
    )
    head = (
        f"The check of a rule set ({analysis.rules} rules, {analysis.conditions} conditions, "
        f"{len(analysis.findings)} findings, {len(analysis.not_gone_through)} questions given up)"
    )
    return f"{head}\n{table(times, 'PyYAML alone')}"


def _read(folder: Path) -> object:
    """What anybody has to do who reads these files: the pure Python parser, all values as text."""
    manifest = yaml.load((folder / MANIFEST).read_text("utf-8"), Loader=yaml.BaseLoader)
    names = [MANIFEST, *manifest["vocabulary"], *manifest["rules"]]
    names += [manifest[key] for key in ("sources", "cautions", "instruments")]
    return [yaml.load((folder / name).read_text("utf-8"), Loader=yaml.BaseLoader) for name in names]
