"""A rig for tests of the commands: a folder with the small rule set, an engine sheet and a case."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from os import environ
from pathlib import Path

from tests.decide import small

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "cases_demo" / "marsh_pump" / "case.yaml"

CASE = """format: 1
case: a trial case
engine_sheet: engine.yaml
found_sizes:
  - {part: shaft_journal, size: 0 mm, read_on: stamp on the web}
bench:
  - part: half_shell
    place: 3 lower
    findings: {particles: many, scoring: light}
  - part: half_shell
    place: 1, 2, 3 upper
    findings: {scoring: none}
    otherwise: none
  - part: shaft
    findings: {crack: none}
  - part: shaft_journal
    place: 3
    findings: {heat: blue, scoring: none}
    readings:
      diameter:
        with: micrometer
        values: {front x: 59.900 mm, front y: 59.905 mm, rear x: 59.900 mm, rear y: 59.905 mm}
  - part: shaft_journal
    place: 1, 2
    findings: {heat: none, scoring: none}
    readings:
      diameter:
        with: micrometer
        values: {front x: 59.995 mm, front y: 59.995 mm, rear x: 59.995 mm, rear y: 59.995 mm}
  - part: lever
    opened: no
"""


@dataclass(frozen=True)
class Ran:
    """What a command left behind."""

    code: int
    out: str
    err: str


@dataclass(frozen=True)
class Rig:
    """A folder with a rule set, an engine sheet and a case."""

    folder: Path

    @property
    def rules(self) -> Path:
        return self.folder / "rules"

    @property
    def case(self) -> Path:
        return self.folder / "case.yaml"

    @property
    def engine(self) -> Path:
        return self.folder / "engine.yaml"


def build(folder: Path, case: str = CASE) -> Rig:
    """Write the rig's files."""
    rig = Rig(folder)
    small.ruleset(rig.rules)
    rig.engine.write_text(small.ENGINE, encoding="utf-8")
    rig.case.write_text(case, encoding="utf-8")
    return rig


def command(
    *arguments: str | Path, env: Mapping[str, str] | None = None, cwd: Path | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run the command in a process of its own."""
    kept = {key: value for key, value in environ.items() if key not in ("COLUMNS", "NO_COLOR")}
    return subprocess.run(
        [sys.executable, "-m", "advisor", *map(str, arguments)],
        capture_output=True,
        env={**kept, "PYTHONPATH": str(ROOT), **(env or {})},
        cwd=cwd,
        timeout=60,
        check=False,
    )
