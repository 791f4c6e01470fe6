"""From what an instrument showed to a standing that can be defended: dimensions, limits, repair sizes."""

from __future__ import annotations

from advisor.gauging.gauge import FOUND_SIZE, Gauged, GaugedDimension, LimitStanding, gauge
from advisor.gauging.limits import ResolvedLimit
from advisor.gauging.measure import Measure
from advisor.gauging.repair import RepairBand
from advisor.gauging.standing import Confidence, standing

__all__ = [
    "FOUND_SIZE",
    "Confidence",
    "Gauged",
    "GaugedDimension",
    "LimitStanding",
    "Measure",
    "RepairBand",
    "ResolvedLimit",
    "gauge",
    "standing",
]
