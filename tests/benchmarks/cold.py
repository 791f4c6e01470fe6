"""How long the command takes from nothing, against a bare interpreter that imports what it must."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.deciding import DEMO
from tests.benchmarks.timing import medians, table

ROOT = Path(__file__).resolve().parents[2]


def compare(rounds: int) -> str:
    """`advisor decide` of the demo case, each in a new process, with compiled code as an install has it."""
    with tempfile.TemporaryDirectory() as compiled:
        times = medians(
            {
                "imports alone": _process(compiled, "-c", "import click, pydantic, yaml"),
                "advisor decide": _process(compiled, "-m", "advisor", "decide", str(DEMO)),
            },
            rounds,
        )
    return f"A decision of the demo case, cold\n{table(times, 'imports alone')}"


def _process(compiled: str, *arguments: str) -> Callable[[], object]:
    """One run; the first writes compiled code into `compiled`, whatever this process was told of it."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": compiled}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)

    def once() -> object:
        return subprocess.run(
            [sys.executable, *arguments], cwd=ROOT, env=environment, check=True, stdout=subprocess.DEVNULL
        )

    return once
