"""The commands, for tests of what they do with rule sets."""

from __future__ import annotations

from tests.cli.conftest import run

__all__ = ["run"]
