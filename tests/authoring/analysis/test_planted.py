"""Every kind of finding is found where it is planted, and not in the same rule set put right."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.authoring.analysis.codes import SORTS
from tests.authoring.analysis.planted import PLANTED, Planted
from tests.authoring.analysis.sound import found, sound


@pytest.mark.parametrize("planted", PLANTED, ids=str)
def test_what_is_planted_is_found(planted: Planted, tmp_path: Path) -> None:
    data = sound()
    planted.plant(data)
    findings = found(data, tmp_path)
    named = [each for each in findings if (each.code, each.subject) == (planted.code, planted.subject)]
    assert len(named) == 1, [f"{each.code}: {each.subject}" for each in findings]
    assert named[0].at is not None
    assert named[0].what
    assert named[0].mend


@pytest.mark.parametrize("planted", PLANTED, ids=str)
def test_its_mended_twin_is_silent(planted: Planted, tmp_path: Path) -> None:
    data = sound()
    planted.mended(data)
    assert [f"{each.code}: {each.subject}: {each.what}" for each in found(data, tmp_path)] == []


def test_every_kind_of_finding_is_planted() -> None:
    assert {each.code for each in PLANTED} == set(SORTS)
