"""A sound rule set is found to be so, and that is said."""

from __future__ import annotations

from pathlib import Path

from advisor.authoring.analysis.report import summary
from tests.authoring.analysis.sound import analysed, sound


def test_nothing_is_found_in_a_sound_rule_set(tmp_path: Path) -> None:
    _, analysis = analysed(sound(), tmp_path)
    assert [each.what for each in analysis.findings] == []
    assert summary(analysis) == "Analysed: 10 rules, 12 conditions, nothing found."
