"""Two ways to measure one face: their weighted mean where they agree, nothing where they do not."""

from __future__ import annotations

import math

import pytest

from tests.gauging.trial import dimension, gauged, item, laid, rules, verdict

LINES = ("along_left", "along_right", "across_front", "across_rear", "diagonal_one", "diagonal_two")


def face(feeler: str, middle: str) -> str:
    """The head's face: the widest gap under the straightedge, and the height of its middle on a grid."""
    heights = rules().vocabulary.readings["head_heights"]
    grid = ", ".join(
        f"{place}: {middle if place.startswith('middle') else '0.00 mm'}" for place in heights.positions()
    )
    gaps = ", ".join(f"{line}: {feeler}" for line in LINES)
    return (
        "  - part: cylinder_head\n    readings:\n"
        f"      head_gap: {{with: feeler_gauge_fine, values: {{{gaps}}}}}\n"
        f"      head_heights: {{with: dial_indicator, values: {{{grid}}}}}\n"
    )


def test_where_they_agree_each_counts_by_its_variance() -> None:
    """The weighted mean of 0.06 ± 0.01 (rectangular) and of the grid alone."""
    both = dimension(face("0.06 mm", "0.07 mm"), "cylinder_head", "", "head_out_of_flat").measure
    assert both is not None
    alone = face("0.06 mm", "0.07 mm").split("      head_gap")[0] + (
        "      head_heights" + face("0.06 mm", "0.07 mm").split("      head_heights")[1]
    )
    grid = dimension(alone, "cylinder_head", "", "head_out_of_flat").measure
    assert grid is not None
    gap = 0.01**2 / 3
    weights = 1 / gap, 1 / float(grid.variance)
    mean = (0.06 * weights[0] + float(grid.value) * weights[1]) / sum(weights)
    assert float(both.value) == pytest.approx(mean, rel=1e-9)
    assert float(both.variance) == pytest.approx(1 / sum(weights), rel=1e-9)
    assert both.variance < grid.variance


def test_where_they_do_not_neither_counts_and_nothing_is_said_of_doubt() -> None:
    bench = laid(face("0.06 mm", "0.30 mm"))
    found = gauged(bench).dimensions[item(bench, "cylinder_head")]["head_out_of_flat"]
    assert (found.measure, found.state) == (None, "contradictory")
    (wrong,) = found.contradictions
    assert wrong.one_from != wrong.other_from
    assert float(wrong.apart) > 2 * math.sqrt(0.01**2 / 3)
    told = verdict(face("0.06 mm", "0.30 mm"), "cylinder_head", head="")
    assert told.doubts == ()
    said = (*told.notes, *(ask.says for ask in told.asks))
    assert not any("too close to the limit" in each for each in said)
