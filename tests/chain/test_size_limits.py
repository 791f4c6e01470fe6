"""What is large is judged rightly or refused in plain words; it never hangs, and never kills the process."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.chain.large import SCENARIOS

ROOT = Path(__file__).resolve().parents[2]
SECONDS = 60
MUST_FIRE = sorted(set(SCENARIOS) - {"nested_200", "nested_2000"})


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


@pytest.mark.parametrize("name", MUST_FIRE)
def test_a_large_case_is_judged_rightly(name: str) -> None:
    told = outcome(name)
    assert told.get("right") is True, told
    assert told["fires"] > 0


@pytest.mark.parametrize("name", ["nested_200", "nested_2000"])
def test_what_is_nested_beyond_reason_is_judged_rightly_or_refused(name: str) -> None:
    told = outcome(name)
    if "refused" in told:
        assert "nested" in told["refused"], told
    else:
        assert told["right"] is True, told
