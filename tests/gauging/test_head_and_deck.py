"""Piston motion, volumes, skims and gaskets, against textbook examples and independent mathematics.

The textbooks were read through worked copies of their examples (FOSSEE textbook companions), not in print.
"""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize_scalar

from advisor.gauging.head_and_deck import (
    PI,
    Breach,
    Cylinder,
    Face,
    GasketGrade,
    Limits,
    choose_gasket,
    circle_area,
    compression_ratio,
    cut_to_clean,
    piston_acceleration,
    piston_drop,
    piston_speed,
    skim,
    skim_for_ratio,
    swept_volume,
)

D = Decimal


# --- the piston and the crank ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("angle", "drop"), [("0", "0"), ("10", "0.8470"), ("20", "3.3462"), ("90", "49.5700"), ("180", "86")]
)
def test_where_the_piston_stands(angle: str, drop: str) -> None:
    """Computed here from x = r(1 - cos a) + l - √(l² - r² sin² a): r 43, l 144 mm."""
    assert round(piston_drop(D(43), D(144), D(angle)), 4) == D(drop)


def test_greatest_piston_speed() -> None:
    """R. S. Khurmi, J. K. Gupta, Theory of Machines, example 15.3: r 0.3 m, l 1 m, 200/min: 6.54 m/s at 75°.

    The book breaks the series off after two terms; the exact figures, computed here, are 6.56 at 74.53°.
    """
    crank, rod, speed = D(300), D(1000), D(200)
    best = minimize_scalar(
        lambda a: -piston_speed(crank, rod, D(repr(float(a))), speed), bounds=(1, 179), method="bounded"
    )
    assert float(best.x) == pytest.approx(74.53, abs=0.01)
    assert -float(best.fun) == pytest.approx(6.56, abs=0.005)
    assert piston_speed(crank, rod, D(75), speed) == pytest.approx(6.54, rel=0.005)


def test_piston_speed_and_acceleration_of_a_textbook() -> None:
    """Khurmi and Gupta, example 15.4: r 0.3 m, l 1.5 m, 180/min, 40°: 4.19 m/s and 85.36 m/s², by two terms.

    Two terms of the series lie within 0.5 % of the exact values here; its zero of acceleration is 79.27°.
    """
    crank, rod, speed = D(300), D(1500), D(180)
    assert piston_speed(crank, rod, D(40), speed) == pytest.approx(4.19, rel=0.003)
    assert piston_acceleration(crank, rod, D(40), speed) == pytest.approx(85.36, rel=0.005)
    zero = brentq(lambda a: piston_acceleration(crank, rod, D(repr(float(a))), speed), 60, 100)
    assert zero == pytest.approx(79.27, abs=0.3)


@given(st.integers(10, 90), st.integers(16, 50), st.integers(0, 3600), st.integers(100, 6000))
def test_speed_and_acceleration_are_slopes(radius: int, ratio: int, tenths: int, speed: int) -> None:
    """Central differences of an independent formula: the law of cosines in the triangle of crank and rod."""
    rod, angle = radius * ratio / 10, tenths / 10

    def drop(t: float) -> float:
        a = math.radians(angle) + speed * 2 * math.pi / 60 * t
        # The pin's distance x from the crank axis: l² = r² + x² - 2 r x cos a.
        b = -2 * radius * math.cos(a)
        return radius + rod - (-b + math.sqrt(b * b - 4 * (radius**2 - rod**2))) / 2

    step = 1e-3 / (speed * 2 * math.pi / 60)
    sizes = D(radius), D(repr(rod)), D(tenths) / 10, D(speed)
    largest = speed * 2 * math.pi / 60 * radius / 1000
    assert float(piston_drop(*sizes[:3])) == pytest.approx(drop(0), abs=2e-6)
    slope = (drop(step) - drop(-step)) / (2 * step) / 1000
    assert piston_speed(*sizes) == pytest.approx(slope, abs=1e-5 * largest)
    bend = (drop(step) - 2 * drop(0) + drop(-step)) / step**2 / 1000
    assert piston_acceleration(*sizes) == pytest.approx(bend, abs=1e-3 * largest * largest * 1000 / radius)


# --- volumes --------------------------------------------------------------------------------------------


def test_swept_volumes_that_are_published() -> None:
    """oldbritts.com, compression ratio calculator: 77 × 80.4 mm sweeps 374.394 cm³, with pi 3.1416.

    Mathur and Sharma, Internal Combustion Engine, example 1.1: four cylinders of 68 × 75 mm, 1089.5 cm³.
    """
    assert round(swept_volume(D(77), D("80.4")) / PI * D("3.1416"), 3) == D("374.394")
    assert round(swept_volume(D(68), D(75), 4), 1) == D("1089.5")


def test_compression_ratios_that_are_published() -> None:
    """Keswani, example 3.2: D 0.25 m, L 0.45 m, clearance 5 l: ratio 5.416, the swept volume cut to 22.08 l.

    Mathur and Sharma, example 1.1: ratio 8; 38.91 cm³ for each cylinder follows from it, computed here.
    """
    swept = swept_volume(D(250), D(450))
    assert int(swept) // 10 * 10 == 22080
    assert compression_ratio(D(22080), D(5000)) == D("5.416")
    assert abs(compression_ratio(swept, D(5000)) - D("5.416")) < D("0.002")
    assert round(compression_ratio(swept_volume(D(68), D(75)), D("38.91")), 3) == D("8.000")


def test_pi() -> None:
    """To the digits that a float holds, and by J. Machin's formula to as many as we keep."""

    def arc(inverse: int) -> Decimal:
        term, total, k = D(1) / inverse, D(0), 0
        while abs(term) > D("1e-75"):
            total += term / (2 * k + 1) * (-1) ** k
            term, k = term / (inverse * inverse), k + 1
        return total

    with localcontext(prec=80):
        assert abs(16 * arc(5) - 4 * arc(239) - PI) < D("1e-61")


# --- skimming -------------------------------------------------------------------------------------------

BORE_AREA = circle_area(D(68))
PLAIN = Cylinder(
    bore=D(68), stroke=D(75), chamber_volume=swept_volume(D(68), D(75)) / 7 - BORE_AREA * D("1.6") / 1000,
    chamber_area=BORE_AREA, gasket_bore=D(68), gasket_thickness=D("1.2"), piston_below_deck=D("0.4"),
)  # fmt: skip
"""The textbook's cylinder of ratio 8; how its clearance is shared out is our own."""


@pytest.mark.parametrize(("share", "ratio"), [("1", "8.167"), ("0.8", "8.133")])
def test_a_skim_of_the_head_counts_the_chambers_own_opening(share: str, ratio: str) -> None:
    """Computed here: 0.25 mm off, the chamber open over the whole bore or over 0.8 of it."""
    cylinder = replace(PLAIN, chamber_area=BORE_AREA * D(share))
    done = skim("head", cylinder, D("0.25"), Limits())
    assert round(done.ratio_before, 9) == 8
    assert round(done.cylinder.compression_ratio, 3) == D(ratio)
    assert done.cylinder.piston_to_head == cylinder.piston_to_head == D("1.6")


def test_a_skim_of_the_deck_counts_the_bore_and_brings_the_piston_nearer() -> None:
    done = skim("deck", replace(PLAIN, chamber_area=BORE_AREA / 2), D("0.25"), Limits(), D(210), [D("0.9")])
    assert round(done.cylinder.compression_ratio, 3) == D("8.167")
    assert done.cylinder.piston_to_head == D("1.35")
    assert done.thickness == D("209.75")
    assert done.recessions == (D("0.9"),)
    assert done.allowed is True


def test_a_flat_that_lies_back_comes_nearer_until_it_is_the_face() -> None:
    step = replace(PLAIN, flat_above_face=D("0.2"))
    assert skim("head", step, D("0.15"), Limits()).cylinder.piston_to_head == D("1.65")
    assert skim("head", step, D("0.25"), Limits()).cylinder.piston_to_head == D("1.6")


def test_limits_are_respected_and_named() -> None:
    limits = Limits(
        least_thickness=D("79.8"), least_recession=D("0.7"), most_recession=D("1.2"),
        most_compression_ratio=D("8.1"), most_protrusion=D(0), least_piston_to_head=D("1.6"),
    )  # fmt: skip
    sizes = (limits, D(80), [D("0.9"), D("1.0")])
    kept = skim("head", PLAIN, D("0.1"), *sizes)
    assert (kept.allowed, kept.breaches) == (True, ())
    assert kept.recessions == (D("0.8"), D("0.9"))
    edge = skim("head", replace(PLAIN, chamber_area=D(100)), D("0.2"), *sizes)
    assert edge.allowed is True  # on the limit is inside it
    broken = skim("head", PLAIN, D("0.25"), *sizes)
    assert broken.allowed is False
    assert [each.what for each in broken.breaches] == [
        "head thickness in mm",
        "least valve recession in mm",
        "compression ratio",
    ]
    assert str(broken.breaches[0]) == "head thickness in mm would be 79.75, below the least allowed, 79.8"
    assert str(Breach("protrusion in mm", D("0.85"), D("0.80"))) == (
        "protrusion in mm would be 0.85, above the most allowed, 0.8"
    )


def test_what_nobody_measured_is_not_taken_for_kept() -> None:
    done = skim("head", PLAIN, D("0.1"), Limits(least_thickness=D(80), most_recession=D(1)))
    assert done.allowed is None
    assert done.unknown == ("head thickness in mm", "greatest valve recession in mm")
    tight = skim("deck", PLAIN, D("0.1"), Limits(least_thickness=D(200), least_piston_to_head=D("1.6")))
    assert tight.allowed is False


FACES: st.SearchStrategy[Face] = st.sampled_from(["head", "deck"])
CUT = st.integers(1, 400).map(lambda each: D(each).scaleb(-3))


@given(FACES, CUT, st.integers(20, 100))
def test_a_cut_found_for_a_ratio_gives_that_ratio(face: Face, off: Decimal, percent: int) -> None:
    cylinder = replace(PLAIN, chamber_area=BORE_AREA * percent / 100)
    done = skim(face, cylinder, off, Limits())
    assert done.cylinder.compression_ratio > done.ratio_before
    back = skim_for_ratio(face, cylinder, done.cylinder.compression_ratio)
    assert abs(back - off) < D("1e-20")


@given(FACES, CUT, CUT)
def test_two_cuts_are_as_one(face: Face, one: Decimal, two: Decimal) -> None:
    sizes = Limits(), D(90), [D("1.1")]
    first = skim(face, PLAIN, one, *sizes)
    assert first.thickness is not None
    second = skim(face, first.cylinder, two, Limits(), first.thickness, first.recessions)
    both = skim(face, PLAIN, one + two, *sizes)
    assert (second.thickness, second.recessions) == (both.thickness, both.recessions)
    assert abs(second.cylinder.left - both.cylinder.left) < D("1e-20")


def test_what_comes_off_a_warped_face() -> None:
    assert cut_to_clean(D("0.09"), D("0.02")) == D("0.11")


# --- gaskets --------------------------------------------------------------------------------------------

GRADES = [
    GasketGrade("two notches", D("1.30"), D("0.60"), D("0.70")),
    GasketGrade("one notch", D("1.20"), D("0.50"), D("0.60")),
    GasketGrade("three notches", D("1.40"), D("0.72"), D("0.80")),
]
"""An invented list, out of order and with a hole in it."""


@pytest.mark.parametrize(
    ("greatest", "error", "marks"),
    [
        ("0.55", "0", ["one notch"]),
        ("0.60", "0", ["two notches"]),
        ("0.59", "0.01", ["two notches", "one notch"]),
        ("0.58", "0.01", ["one notch"]),
        ("0.71", "0", []),
        ("0.71", "0.01", ["three notches", "two notches"]),
        ("0.80", "0", ["three notches"]),
        ("0.80", "0.01", []),
        ("0.49", "0", []),
    ],
)
def test_the_greatest_protrusion_picks_the_gasket(greatest: str, error: str, marks: list[str]) -> None:
    choice = choose_gasket(GRADES, [D("0.45"), D(greatest), D("0.48")], D(error))
    assert [grade.mark for grade in choice.grades] == marks
    assert choice.settled is (len(marks) == 1)
    assert choice.spread == D(greatest) - D("0.45")
    if choice.grade is None:
        assert choice.clearance is None
    else:
        assert choice.clearance == choice.grade.thickness - D(greatest)


@given(st.lists(st.integers(500, 690), min_size=1, max_size=6), st.integers(0, 40))
def test_a_doubtful_reading_never_picks_a_thinner_gasket(microns: list[int], error: int) -> None:
    found = [D(each).scaleb(-3) for each in microns]
    sure, doubtful = choose_gasket(GRADES, found), choose_gasket(GRADES, found, D(error).scaleb(-3))
    assert sure.grade is not None
    if doubtful.grade is not None:
        assert doubtful.grade.thickness >= sure.grade.thickness
        assert sure.grade in doubtful.grades


# --- impossible input -----------------------------------------------------------------------------------


def test_impossible_engines() -> None:
    with pytest.raises(ValueError, match="cannot turn a crank"):
        piston_drop(D(43), D(43), D(0))
    with pytest.raises(ValueError, match="not a number"):
        piston_speed(D(43), D(144), D(0), D("NaN"))
    with pytest.raises(ValueError, match="diameter of 0 mm"):
        circle_area(D(0))
    with pytest.raises(ValueError, match="not possible"):
        swept_volume(D(68), D(-75))
    with pytest.raises(ValueError, match="no compression ratio"):
        compression_ratio(D(300), D(0))
    with pytest.raises(ValueError, match="one of the volumes is wrong"):
        replace(PLAIN, crown_volume=D(-60))
    with pytest.raises(ValueError, match="above 0 mm"):
        replace(PLAIN, gasket_bore=D(0))
    with pytest.raises(ValueError, match="not below 0"):
        replace(PLAIN, gasket_thickness=D(-1))


def test_impossible_cuts() -> None:
    with pytest.raises(ValueError, match="cut of -1 mm"):
        skim("head", PLAIN, D(-1), Limits())
    with pytest.raises(ValueError, match="goes through"):
        skim("deck", PLAIN, D(3), Limits(), D(3))
    with pytest.raises(ValueError, match="whole chamber"):
        skim("head", PLAIN, D(30), Limits())
    with pytest.raises(ValueError, match="cannot lower"):
        skim_for_ratio("head", PLAIN, D(7))
    with pytest.raises(ValueError, match="no opening"):
        skim_for_ratio("head", replace(PLAIN, chamber_area=D(0)), D(9))
    with pytest.raises(ValueError, match="not below 0 mm"):
        cut_to_clean(D(-1))


def test_impossible_gaskets() -> None:
    with pytest.raises(ValueError, match="no protrusion"):
        choose_gasket(GRADES, [])
    with pytest.raises(ValueError, match="no gasket"):
        choose_gasket([], [D("0.5")])
    with pytest.raises(ValueError, match="overlap"):
        choose_gasket([*GRADES, GasketGrade("x", D("1.25"), D("0.55"), D("0.65"))], [D("0.5")])
    with pytest.raises(ValueError, match="no thicker"):
        choose_gasket([*GRADES, GasketGrade("x", D("1.35"), D("0.80"), D("0.90"))], [D("0.5")])
    with pytest.raises(ValueError, match="from less to more"):
        choose_gasket([GasketGrade("x", D("1.35"), D("0.90"), D("0.80"))], [D("0.5")])
    with pytest.raises(ValueError, match="not below 0 mm"):
        choose_gasket(GRADES, [D("0.5")], D(-1))
