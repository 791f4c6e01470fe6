"""Fixtures for tests of the commands."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from advisor.cli import main
from tests.cli.rig import Ran, Rig, build


@pytest.fixture
def rig(tmp_path: Path) -> Rig:
    return build(tmp_path)


@pytest.fixture
def run(
    capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Callable[..., Ran]:
    """Run a command in this process, at 80 columns, from a folder of the test's own."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.chdir(tmp_path)

    def call(*arguments: str | Path) -> Ran:
        capfd.readouterr()
        code = main([str(each) for each in arguments])
        out, err = capfd.readouterr()
        return Ran(code, out, err)

    return call
