"""Figures for people: `python -m tests.benchmarks [rounds]`. No test depends on them."""

from __future__ import annotations

import sys

from tests.benchmarks import checking, cold, deciding


def main() -> None:
    """Print every comparison; all figures are medians of interleaved rounds."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    few = max(3, rounds // 4)
    for report in (
        deciding.compare(rounds),
        deciding.stages(rounds),
        checking.compare(few),
        cold.compare(few),
    ):
        print(report, end="\n\n")  # noqa: T201


main()
