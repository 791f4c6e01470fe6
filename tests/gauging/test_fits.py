"""Limits and fits, cell by cell, against another table of the standard and against published fits."""

from __future__ import annotations

import math
from decimal import Decimal
from itertools import pairwise

import pressfit  # type: ignore[import-untyped, unused-ignore]
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.gauging.fits import HOLES, SHAFTS, Limits, fit, hole_limits, shaft_limits

D = Decimal

RANGES = [3, 6, 10, 18, 30, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315]
"""Ends of all the ranges of nominal size that any of the classes goes by, in mm (ISO 286-1)."""

CELLS = [
    D(nominal)
    for low, high in pairwise(RANGES)
    for nominal in (D(low) + D("0.001"), (D(low) + high) / 2, high)
]
"""Both ends of every range and its middle: a range takes in its upper end and not its lower."""


def micrometres(limits: Limits, nominal: Decimal) -> tuple[Decimal, Decimal]:
    """Upper and lower deviation."""
    return (limits.most - nominal) * 1000, (limits.least - nominal) * 1000


@pytest.mark.parametrize("hole", HOLES)
@pytest.mark.parametrize("shaft", [each for each in SHAFTS if each != "r6"])
def test_every_cell_is_as_in_another_table(hole: str, shaft: str) -> None:
    """Against the library pressfit 0.1.0, which has its own copy of the tables; it lacks the letter r."""
    for nominal in CELLS:
        theirs = pressfit.fit(f"{hole}/{shaft}", float(nominal))
        ours = fit(nominal, hole, shaft)
        assert micrometres(ours.hole_limits, nominal) == (theirs.hole_es_um, theirs.hole_ei_um), nominal
        assert micrometres(ours.shaft_limits, nominal) == (theirs.shaft_es_um, theirs.shaft_ei_um), nominal
        assert (ours.least_clearance * 1000, ours.most_clearance * 1000) == theirs.clearance_um, nominal
        assert ours.character == theirs.kind, nominal


R6 = {
    6: (23, 15), 10: (28, 19), 18: (34, 23), 30: (41, 28), 50: (50, 34), 65: (60, 41), 80: (62, 43),
    100: (73, 51), 120: (76, 54), 140: (88, 63), 160: (90, 65), 180: (93, 68), 200: (106, 77),
    225: (109, 80), 250: (113, 84), 280: (126, 94), 315: (130, 98),
}  # fmt: skip
"""Shaft r6 by upper end of range, in µm: the table within the library isofits 1.0. The six from 18 to 120 mm
agree with the holes R7 of DME's technical reference, online.flippingbook.com/view/962121/282."""


def test_every_cell_of_r6() -> None:
    lower_end = dict(zip(RANGES[1:], RANGES, strict=False))
    assert list(R6) == RANGES[1:]
    for high, deviations in R6.items():
        for nominal in (D(lower_end[high]) + D("0.001"), D(high)):
            assert micrometres(shaft_limits(nominal, "r6"), nominal) == (
                D(deviations[0]),
                D(deviations[1]),
            ), nominal


@pytest.mark.parametrize(
    ("nominal", "h7", "p6", "r6", "s6"),
    [
        ("30", "21 0", "35 22", "41 28", "48 35"),
        ("50", "25 0", "42 26", "50 34", "59 43"),
        ("65", "30 0", "51 32", "60 41", "72 53"),
        ("80", "30 0", "51 32", "62 43", "78 59"),
        ("100", "35 0", "59 37", "73 51", "93 71"),
        ("120", "35 0", "59 37", "76 54", "101 79"),
    ],
)
def test_printed_deviations(nominal: str, h7: str, p6: str, r6: str, s6: str) -> None:
    """H7 as the h7 of precisemetal.in/tolerence-table.php; s6 and (through R7) r6 of DME's technical
    reference, online.flippingbook.com/view/962121/288 and /282; p6 as two libraries agree."""
    size = D(nominal)
    assert micrometres(hole_limits(size, "H7"), size) == tuple(map(D, h7.split()))
    for shaft, printed in (("p6", p6), ("r6", r6), ("s6", s6)):
        assert micrometres(shaft_limits(size, shaft), size) == tuple(map(D, printed.split())), shaft


@pytest.mark.parametrize("nominal", ["30", "50", "65", "80", "100", "120"])
@pytest.mark.parametrize(("hole", "times"), [("H6", 10), ("H7", 16), ("H8", 25)])
def test_grades_follow_the_tolerance_unit(nominal: str, hole: str, times: int) -> None:
    """i = 0.45 ∛D + 0.001 D with D the geometric mean of the range, IT6 10 i, IT7 16 i, IT8 25 i (ISO 286-1,
    from memory). Plain rounding is known to give the table again from 18 to 120 mm, so it is asked there."""
    low = max(each for each in (18, 30, 50, 80) if each < D(nominal))
    mean = math.sqrt(low * {18: 30, 30: 50, 50: 80, 80: 120}[low])
    unit = 0.45 * mean ** (1 / 3) + 0.001 * mean
    limits = hole_limits(D(nominal), hole)
    assert (limits.most - limits.least) * 1000 == round(times * unit)


def test_valve_seat_in_its_housing() -> None:
    """20 H7/s6, Bhandari, Design of Machine Elements, example 3.2 p. 70 (FOSSEE Scilab-TBC-Uploads, 764)."""
    seat = fit(D(20), "H7", "s6")
    assert seat.hole_limits == Limits(D("20.000"), D("20.021"))
    assert seat.shaft_limits == Limits(D("20.035"), D("20.048"))
    assert (seat.least_interference, seat.most_interference) == (D("0.014"), D("0.048"))
    assert seat.character == "interference"


def test_two_more_printed_fits() -> None:
    """25 H7/r6 and 50 H8/g7, Jindal, Machine Design, examples 4-2 p. 112 and 4-3 p. 113 (FOSSEE companions).
    Its example 4-4 takes +25 µm for H7 at 30 mm, which belongs to the next range; it is not used."""
    tight = fit(D(25), "H7", "r6")
    assert (tight.least_interference, tight.most_interference) == (D("0.007"), D("0.041"))
    loose = fit(D(50), "H8", "g7")
    assert (loose.least_clearance, loose.most_clearance) == (D("0.009"), D("0.073"))
    assert loose.character == "clearance"
    assert str(fit(D(50), "H7", "h6").most_interference) == "0.000"
    assert fit(D(50), "H7", "k6").character == "transition"


SIZES = st.decimals("3.0001", "315", places=4)


@given(SIZES, st.sampled_from(HOLES), st.sampled_from(SHAFTS), st.data())
def test_parts_within_their_limits_never_leave_the_fit(
    nominal: Decimal, hole: str, shaft: str, data: st.DataObject
) -> None:
    """Whatever a hole and a shaft within limits measure, their play lies between the two that are stated."""
    both = fit(nominal, hole, shaft)
    bore, pin = (
        data.draw(st.decimals(each.least, each.most, places=4))
        for each in (both.hole_limits, both.shaft_limits)
    )
    assert both.hole_limits.holds(bore)
    assert both.shaft_limits.holds(pin)
    assert both.least_clearance <= bore - pin <= both.most_clearance
    if both.character != "transition":
        assert (bore >= pin) if both.character == "clearance" else (bore <= pin)
    assert both.hole_limits.least == nominal  # basic hole


@pytest.mark.parametrize(
    ("nominal", "hole", "shaft", "says"),
    [
        ("20", "H9", "s6", "no hole 'H9'; it has H6, H7, H8"),
        ("20", "s6", "H7", "no hole 's6'"),
        ("20", "H7", "u6", "no shaft 'u6'; it has f7, g6"),
        ("20", "H7", "s7", "no shaft 's7'"),
        ("20", "", "s6", "no hole ''"),
        ("3", "H7", "s6", "over 3 and up to 315 mm; 3 mm is outside"),
        ("315.0001", "H7", "s6", "315.0001 mm is outside"),
        ("-20", "H7", "s6", "-20 mm is outside"),
        ("NaN", "H7", "s6", "NaN mm is outside"),
    ],
)
def test_what_the_table_lacks_is_refused_by_name(nominal: str, hole: str, shaft: str, says: str) -> None:
    with pytest.raises(ValueError, match=says.replace("(", r"\(")):
        fit(D(nominal), hole, shaft)


def test_a_size_beyond_any_gauge_stays_exact() -> None:
    """The fit is the nominal size and whole micrometres: no digit of the nominal size may go astray."""
    nominal = D("20.0000000000000000000000000000000001")
    assert shaft_limits(nominal, "h6").most == nominal
    assert fit(nominal, "H7", "s6").most_interference == D("0.048")
