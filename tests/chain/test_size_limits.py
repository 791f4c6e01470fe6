"""What is large is judged rightly or refused in plain words; it never hangs, and never kills the process."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from advisor.chain import durable_engine
from advisor.faults import Faults
from advisor.sheets.text import parse
from tests.chain import large
from tests.chain.large import SCENARIOS, nested

ROOT = Path(__file__).resolve().parents[2]
SECONDS = 60


def outcome(name: str) -> dict[str, Any]:
    """What comes of a scenario in a process of its own. Raises where that hangs, dies or says nothing."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.chain.large", name],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=SECONDS,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    told: dict[str, Any] = json.loads(done.stdout)
    return told


@pytest.mark.parametrize("name", sorted(SCENARIOS))
def test_a_large_case_is_judged_rightly(name: str) -> None:
    told = outcome(name)
    assert told.get("right") is True, told
    assert told["fires"] > 0


def test_a_file_with_a_condition_nested_beyond_reason_is_refused_in_words() -> None:
    rules, _, _ = nested(60)
    with pytest.raises(Faults, match=r"rules\.yaml:1:\d+: .*nested too deep.*\[too-deep\]"):
        parse(json.dumps({"format": "1", "rules": rules}), "rules.yaml")


def test_a_network_over_the_limit_of_the_engine_is_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(durable_engine, "MAX_PRODUCTIONS", 30)
    told = large.outcome("shared_concern")
    assert "the rule engine takes at most 30" in told["refused"]
    assert "[engine-limit]" in told["refused"]


def test_a_case_over_the_limit_of_the_engine_is_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(durable_engine, "MAX_STORED_FACTS", 50)
    told = large.outcome("related_400")
    assert "more facts than the rule engine can hold" in told["refused"]
    assert "[engine-limit]" in told["refused"]
