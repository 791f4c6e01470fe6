"""Taking times: every contender once in each round, so that a slow moment of the machine falls on all."""

from __future__ import annotations

import gc
import statistics
import time
from collections.abc import Callable, Mapping


def medians(contenders: Mapping[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """The median time of each contender in seconds, over `rounds` rounds of all of them in turn.

    What was loaded before is frozen out of garbage collection first, and the collector stays on.
    """
    for contender in contenders.values():
        contender()
    gc.collect()
    gc.freeze()
    try:
        taken: dict[str, list[float]] = {name: [] for name in contenders}
        for _ in range(rounds):
            for name, contender in contenders.items():
                start = time.perf_counter()
                contender()
                taken[name].append(time.perf_counter() - start)
        return {name: statistics.median(times) for name, times in taken.items()}
    finally:
        gc.unfreeze()


def table(times: Mapping[str, float], reference: str) -> str:
    """One line for each contender: its time in ms, and as a ratio to the reference."""
    width = max(map(len, times))
    return "\n".join(
        f"  {name:<{width}}  {seconds * 1000:8.2f} ms  {seconds / times[reference]:6.2f} x"
        for name, seconds in times.items()
    )
