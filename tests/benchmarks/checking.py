"""How long the check of a rule set of 300 rules takes, against reading its files with PyYAML alone."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import yaml

from advisor._resources import rulesets_dir
from advisor.authoring.analysis.whole import analyse
from advisor.authoring.check import check_rule_set
from advisor.files import load_rules
from advisor.sheets.ruleset import MANIFEST
from tests.benchmarks.timing import medians, table

RULES = 300


def compare(rounds: int) -> str:
    """`advisor rules check` of the shipped rules and as many more as make 300."""
    with tempfile.TemporaryDirectory() as folder:
        rules_folder = _enlarged(Path(folder) / "rules")
        checked, rules, files = check_rule_set(rules_folder)
        assert rules is not None
        assert files is not None
        if checked.faults or len(rules.rules) != RULES:
            raise AssertionError(f"{len(rules.rules)} rules, and {[str(each) for each in checked.faults]}")
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


def _enlarged(folder: Path) -> Path:
    """The shipped rule set, and a bar for each extent that no rule speaks of yet, up to 300 rules."""
    shutil.copytree(rulesets_dir() / "engine", folder)
    shipped = load_rules()
    vocabulary = shipped.vocabulary
    open_kinds = [kind for kind in vocabulary.kinds if kind not in shipped.judged_kinds]
    more = [
        {
            "id": f"{kind}-{name}-{extent}".replace("_", "-"),
            "for": kind,
            "when": {"finding": name, "at_least": extent},
            "then": {"bar": {"answers": "reuse"}},
            "because": "made up for the benchmark",
            "cite": [{"source": "common_practice"}],
            "examples": {"fires": [{name: extent}], "holds": [{}]},
        }
        for kind in open_kinds
        for name, finding in vocabulary.findings.items()
        if kind in finding.kinds
        for extent in list(finding.extents)[1:]
    ]
    # Parts that go back only to their own place need a rule that says so.
    more = [
        {
            "id": f"{kind}-place-lost".replace("_", "-"),
            "for": kind,
            "when": {"place": "unknown"},
            "then": {"bar": {"answers": "reuse"}},
            "because": "made up for the benchmark",
            "cite": [{"source": "common_practice"}],
            "examples": {"fires": [{"place": "unknown"}], "holds": [{}]},
        }
        for kind in open_kinds
        if vocabulary.kinds[kind].own_place
    ] + more
    content = {"format": "1", "rules": more[: RULES - len(shipped.rules)]}
    (folder / "rules" / "more.yaml").write_text(yaml.safe_dump(content), encoding="utf-8")
    manifest = folder / MANIFEST
    text = manifest.read_text(encoding="utf-8")
    text = text.replace("\nrules:\n", "\nrules:\n  - rules/more.yaml\n")
    manifest.write_text(text, encoding="utf-8")
    return folder


def _read(folder: Path) -> object:
    """What anybody has to do who reads these files: the pure Python parser, all values as text."""
    manifest = yaml.load((folder / MANIFEST).read_text("utf-8"), Loader=yaml.BaseLoader)
    names = [MANIFEST, *manifest["vocabulary"], *manifest["rules"]]
    names += [manifest[key] for key in ("sources", "cautions", "instruments")]
    return [yaml.load((folder / name).read_text("utf-8"), Loader=yaml.BaseLoader) for name in names]
