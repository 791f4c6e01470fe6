"""Flatness, straightness, circles and feeler gaps: figures worked by hand, and independent solvers.

Oracles: scipy's `linprog` (the HiGHS solver) for minimum zones, numpy's `lstsq` and scipy's `least_squares`
for what is fitted by least squares.
"""

from __future__ import annotations

import math
from decimal import Decimal
from itertools import product
from random import Random

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares, linprog

from advisor.gauging import operators
from advisor.gauging.form import (
    MOST_POINTS,
    FeelerGap,
    Spot,
    flatness,
    least_squares_circle,
    straightedge_gap,
    straightness,
    straightness_within,
    widest_gap,
)
from advisor.gauging.measure import Taken
from advisor.sheets.vocabulary import ReadingKind

D = Decimal
NEAR = D("1e-24")


def face(heights: dict[tuple[int, int], str]) -> list[Spot]:
    return [Spot(D(x), D(y), D(z)) for (x, y), z in heights.items()]


def line(*points: tuple[int, int]) -> list[tuple[Decimal, Decimal]]:
    return [(D(x), D(y)) for x, y in points]


# --- worked by hand -------------------------------------------------------------------------------------


def test_straightness_by_three_reference_lines() -> None:
    """Exact by hand: least squares y = 0.2 x + 0.2 leaves -0.2, 0.6, -0.6, 0.2; end points 4/3; zone 1."""
    found = straightness(line((0, 0), (1, 1), (2, 0), (3, 1)))
    assert found.least_squares == D("1.2")
    assert found.minimum_zone == 1
    assert abs(found.end_point - D(4) / 3) < D("1e-27")


def test_flatness_of_a_twisted_face() -> None:
    """Computed here: z = x y on a grid of three by three leaves 2 by either plane."""
    found = flatness(face({(x, y): str(x * y) for x, y in product((-1, 0, 1), repeat=2)}))
    assert found.least_squares == found.minimum_zone == 2


def test_flatness_of_a_face_with_a_high_middle_and_a_high_corner() -> None:
    """Computed here: flat but for the middle (+0.05) and one corner (+0.02): 0.05333 and 0.050 mm."""
    bumps = {(0, 0): "0.05", (1, 1): "0.02"}
    found = flatness(face({(x, y): bumps.get((x, y), "0") for x, y in product((-1, 0, 1), repeat=2)}))
    assert round(found.least_squares, 5) == D("0.05333")
    assert found.minimum_zone == D("0.05")


def test_the_spots_that_hold_the_zone_apart_are_named() -> None:
    """By hand: all at 0 but the middle (+0.050) and one corner (+0.001), which touches neither plane."""
    bumps = {(0, 0): "0.050", (1, 1): "0.001"}
    found = flatness(face({(x, y): bumps.get((x, y), "0") for x, y in product((-1, 0, 1), repeat=2)}))
    assert found.touching == tuple(range(8))


def test_circle_through_six_points() -> None:
    """Gander, Golub, Strebel, BIT 34 (1994), from memory: centre 4.7398, 2.9835, radius 4.7142."""
    found = least_squares_circle(line((1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)))
    assert [round(each, 4) for each in (found.x, found.y, found.radius)] == [
        D("4.7398"),
        D("2.9835"),
        D("4.7142"),
    ]


@pytest.mark.parametrize(("lobes", "two_point"), [(2, "0.040"), (3, "0"), (5, "0")])
def test_two_points_are_blind_to_odd_lobes(lobes: int, two_point: str) -> None:
    """Analytic: r = 43 + 0.010 cos(n angle) is out of round by 0.020 mm whatever n is.

    Diameters through the centre show twice that for two lobes and nothing at all for three or five.
    """
    radii = [43 + 0.010 * math.cos(lobes * math.radians(degree)) for degree in range(360)]
    trace = [
        (D(repr(r * math.cos(math.radians(degree)))), D(repr(r * math.sin(math.radians(degree)))))
        for degree, r in enumerate(radii)
    ]
    circle = least_squares_circle(trace)
    assert circle.roundness == D("0.020")
    assert circle.radius == 43
    directions = [f"d{degree}" for degree in range(180)]
    kind = ReadingKind.model_validate(
        {
            "label": "bore",
            "kinds": ["bore"],
            "quantity": "length",
            "sections": ["middle"],
            "directions": directions,
            "condition": "clean",
            "how": "two points",
            "instruments": ["gauge"],
        }
    )
    diameters = {
        f"middle {name}": D(repr(radii[degree] + radii[degree + 180]))
        for degree, name in enumerate(directions)
    }
    seen = operators.out_of_round(Taken(diameters, D(0)), kind)
    assert seen is not None
    assert round(seen.value, 9) == D(two_point)


# --- independent solvers --------------------------------------------------------------------------------

MICRON = st.integers(-200, 200).map(lambda each: D(each).scaleb(-3))
PLACE = st.integers(0, 40).map(lambda each: D(each) * 5)
SPOTS = st.lists(
    st.builds(Spot, PLACE, PLACE, MICRON), min_size=4, max_size=60, unique_by=lambda spot: (spot.x, spot.y)
).filter(lambda spots: rank([(spot.x, spot.y) for spot in spots]) == 3)
POINTS = st.lists(st.tuples(PLACE, MICRON), min_size=3, max_size=40, unique_by=lambda point: point[0])


def rank(places: list[tuple[Decimal, Decimal]]) -> int:
    return int(np.linalg.matrix_rank(np.array([[1.0, float(x), float(y)] for x, y in places])))


def zone_by_linprog(places: list[list[Decimal]], heights: list[Decimal]) -> float:
    """Least t with low <= z - slopes · place <= low + t."""
    grid = np.array(places, dtype=float)
    z = np.array(heights, dtype=float)
    ones, nothing = np.ones((len(z), 1)), np.zeros((len(z), 1))
    limits = np.vstack([np.hstack([-grid, -ones, -ones]), np.hstack([grid, ones, nothing])])
    cost = np.array([0.0] * grid.shape[1] + [0.0, 1.0])
    found = linprog(cost, A_ub=limits, b_ub=np.concatenate([-z, z]), bounds=(None, None), method="highs")
    assert found.fun is not None
    return float(found.fun)


def left_by_lstsq(places: list[list[Decimal]], heights: list[Decimal]) -> float:
    grid = np.array([[1.0, *map(float, place)] for place in places])
    z = np.array(heights, dtype=float)
    rest = z - grid @ np.linalg.lstsq(grid, z, rcond=None)[0]
    return float(rest.max() - rest.min())


@given(SPOTS)
def test_flatness_agrees_with_independent_solvers(spots: list[Spot]) -> None:
    found = flatness(spots)
    places, heights = [[spot.x, spot.y] for spot in spots], [spot.height for spot in spots]
    # HiGHS keeps to its limits within 1e-7.
    assert float(found.minimum_zone) == pytest.approx(zone_by_linprog(places, heights), abs=5e-7)
    assert float(found.least_squares) == pytest.approx(left_by_lstsq(places, heights), abs=1e-9)
    assert found.minimum_zone <= found.least_squares + NEAR


@given(POINTS)
def test_straightness_agrees_with_independent_solvers(points: list[tuple[Decimal, Decimal]]) -> None:
    found = straightness(points)
    places, heights = [[x] for x, _ in points], [y for _, y in points]
    assert float(found.minimum_zone) == pytest.approx(zone_by_linprog(places, heights), abs=5e-7)
    assert float(found.least_squares) == pytest.approx(left_by_lstsq(places, heights), abs=1e-9)
    assert found.minimum_zone <= min(found.least_squares, found.end_point) + NEAR


@settings(max_examples=40)
@given(
    st.lists(
        st.tuples(st.integers(0, 359), st.integers(-30, 30)),
        min_size=6,
        max_size=40,
        unique_by=lambda p: p[0],
    ),
    st.integers(-50, 50),
    st.integers(-50, 50),
)
def test_circle_agrees_with_an_independent_solver(polar: list[tuple[int, int]], x0: int, y0: int) -> None:
    angles = sorted(angle for angle, _ in polar)
    gaps = [(b - a) % 360 for a, b in zip(angles, [*angles[1:], angles[0]], strict=True)]
    assume(max(gaps) < 200)  # readings all round; a short arc hardly holds a circle at all
    points = [
        (x0 + (43 + e / 1000) * math.cos(math.radians(t)), y0 + (43 + e / 1000) * math.sin(math.radians(t)))
        for t, e in polar
    ]
    found = least_squares_circle([(D(repr(x)), D(repr(y))) for x, y in points])
    xs, ys = np.array(points).T

    def rest(p: np.ndarray[tuple[int], np.dtype[np.float64]]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.asarray(np.hypot(xs - p[0], ys - p[1]) - p[2])

    other = least_squares(rest, [x0, y0, 43.0], xtol=1e-15, ftol=1e-15, gtol=1e-15)
    assert [float(found.x), float(found.y), float(found.radius)] == pytest.approx(list(other.x), abs=2e-6)


# --- what must hold of any face -------------------------------------------------------------------------


@given(SPOTS, MICRON, MICRON, MICRON, st.randoms(use_true_random=False))
def test_setting_the_face_up_askew_or_reading_in_another_order_changes_nothing(
    spots: list[Spot], lean: Decimal, tip: Decimal, lift: Decimal, order: Random
) -> None:
    moved = [Spot(s.x + 7, s.y - 3, s.height + lean * s.x + tip * s.y + lift) for s in spots]
    order.shuffle(moved)
    before, after = flatness(spots), flatness(moved)
    assert before.minimum_zone == after.minimum_zone
    assert before.least_squares == after.least_squares


@given(SPOTS)
def test_turning_a_face_over_changes_nothing_and_doubling_doubles(spots: list[Spot]) -> None:
    before = flatness(spots)
    over = flatness([Spot(s.x, s.y, -2 * s.height) for s in spots])
    assert abs(over.minimum_zone - 2 * before.minimum_zone) <= NEAR
    assert abs(over.least_squares - 2 * before.least_squares) <= NEAR


@given(SPOTS)
def test_the_spots_named_hold_the_zone_by_themselves(spots: list[Spot]) -> None:
    found = flatness(spots)
    held = [spots[index] for index in found.touching]
    if found.minimum_zone == 0:
        assert len(held) == len(spots)
    elif rank([(s.x, s.y) for s in held]) == 3:
        assert flatness(held).minimum_zone == found.minimum_zone
    else:  # a ridge or a hollow along one line, by which alone the face rocks
        upright = len({s.x for s in held}) == 1
        along = [(s.y if upright else s.x, s.height) for s in held]
        assert straightness(along).minimum_zone == found.minimum_zone


@given(POINTS, st.integers(1, 200))
def test_no_stretch_is_worse_than_the_whole_line(points: list[tuple[Decimal, Decimal]], length: int) -> None:
    whole = straightness(points).minimum_zone
    ordered = sorted(points)
    windows = [[point for point in ordered if x <= point[0] <= x + length] for x, _ in ordered]
    zones = [straightness(window).minimum_zone for window in windows if len(window) >= 3]
    if not zones:
        with pytest.raises(ValueError, match="measure closer together"):
            straightness_within(points, D(length))
        return
    assert straightness_within(points, D(length)) == max(zones) <= whole


def test_sixty_spots_of_few_heights_end() -> None:
    """Many equal heights make steps that gain nothing, where a careless solver goes round for ever."""
    for seed in range(8):
        spots = [Spot(D(x), D(y), D((x * y + seed) % 2)) for x in range(10) for y in range(6)]
        places, heights = [[s.x, s.y] for s in spots], [s.height for s in spots]
        assert float(flatness(spots).minimum_zone) == pytest.approx(
            zone_by_linprog(places, heights), abs=1e-6
        )


# --- straightedge and blades ----------------------------------------------------------------------------


def test_blades_tell_an_interval() -> None:
    """A step of 0.05 mm gives a standard uncertainty of 0.05/√12 = 0.0144 mm (GUM 4.3.7)."""
    gap = straightedge_gap(D("0.05"), D("0.10"))
    assert gap == FeelerGap(D("0.05"), D("0.10"))
    assert gap.measure is not None
    assert gap.measure.value == D("0.075")
    assert float(gap.measure.variance) ** 0.5 == pytest.approx(0.0144, abs=5e-5)
    assert straightedge_gap(None, D("0.05")) == FeelerGap(D(0), D("0.05"))
    assert straightedge_gap(D("0.05"), D("0.10"), D("0.01")) == FeelerGap(D("0.04"), D("0.11"))
    assert straightedge_gap(D("0.10"), None).measure is None


@given(st.lists(st.tuples(st.integers(1, 50), st.integers(1, 50)), min_size=1, max_size=6))
def test_a_face_is_as_bad_as_its_worst_line(steps: list[tuple[int, int]]) -> None:
    gaps = [straightedge_gap(D(low), D(low + step)) for low, step in steps]
    worst = widest_gap(gaps)
    assert worst.at_most is not None
    assert all(gap.at_least <= worst.at_least for gap in gaps)
    assert worst.at_least < worst.at_most
    assert widest_gap([*gaps, straightedge_gap(D(1), None)]).at_most is None


# --- impossible input -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heights", "fault"),
    [
        ({(0, 0): "0", (1, 0): "0", (0, 1): "0"}, "four spots or more"),
        ({(0, 0): "0", (1, 1): "0", (2, 2): "1", (3, 3): "0"}, "all lie on one line"),
        ({(0, 0): "0", (1, 0): "0", (0, 1): "NaN", (1, 1): "0"}, "not a number"),
    ],
)
def test_impossible_faces(heights: dict[tuple[int, int], str], fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        flatness(face(heights))


def test_impossible_lines_circles_and_blades() -> None:
    with pytest.raises(ValueError, match="two heights are given for one spot"):
        flatness([*face({(0, 0): "0", (1, 0): "0", (0, 1): "0"}), Spot(D(0), D(0), D(1))])
    with pytest.raises(ValueError, match="two heights are given for one place"):
        straightness(line((0, 0), (1, 1), (1, 2)))
    with pytest.raises(ValueError, match="three points or more"):
        straightness(line((0, 0), (1, 1)))
    with pytest.raises(ValueError, match="are the most"):
        straightness([(D(x), D(0)) for x in range(MOST_POINTS + 1)])
    with pytest.raises(ValueError, match="four points or more"):
        least_squares_circle(line((0, 0), (1, 1), (2, 0)))
    with pytest.raises(ValueError, match="near one line"):
        least_squares_circle(line((0, 0), (1, 1), (2, 2), (3, 3)))
    with pytest.raises(ValueError, match="at one place"):
        least_squares_circle(line((1, 1), (1, 1), (1, 1), (1, 1)))
    with pytest.raises(ValueError, match="cannot stop"):
        straightedge_gap(D("0.1"), D("0.1"))
    with pytest.raises(ValueError, match="no blade was tried"):
        straightedge_gap(None, None)
    with pytest.raises(ValueError, match="above 0 mm"):
        straightedge_gap(D(-1), None)
    with pytest.raises(ValueError, match="no line"):
        widest_gap([])
