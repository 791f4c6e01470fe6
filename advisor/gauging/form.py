"""Form of a face, a line and a bore from a few readings: flatness, straightness, circle, straightedge.

Heights and places are exact decimals, and the flatness and straightness worked out from them are exact
too: fractions inside, turned into decimals of `WORKING` digits at the end. Only the circle is worked out
in floats, because its equations have no exact answer.

Deviations are taken along the height, not square to the fitted plane or line. On a face that leans by
1 mm in 100 mm the two differ by one part in twenty thousand.

What the least-squares plane gives is never less than the minimum zone, the least distance of two parallel
planes that hold every point. A limit of flatness is a limit on the minimum zone (ISO 1101, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import pairwise
from math import lcm

from advisor.gauging.measure import WORKING, Measure

MOST_POINTS = 2000
"""More points than anybody takes by hand; a longer list is refused, because exact work on it would drag."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on a face and its height there; all in mm."""

    x: Decimal
    y: Decimal
    height: Decimal


@dataclass(frozen=True, slots=True)
class Flatness:
    """Flatness of a face in mm, by both reference planes; `minimum_zone` never exceeds `least_squares`."""

    least_squares: Decimal
    minimum_zone: Decimal
    touching: tuple[int, ...]
    """Index of the spots that hold the minimum zone: where the face must be dressed, or is hollow."""


@dataclass(frozen=True, slots=True)
class Straightness:
    """Straightness of a line in mm, by three reference lines; `minimum_zone` is the least of them."""

    end_point: Decimal
    least_squares: Decimal
    minimum_zone: Decimal


@dataclass(frozen=True, slots=True)
class Circle:
    """A least-squares circle: centre, radius and out-of-round as a difference of radii, in mm."""

    x: Decimal
    y: Decimal
    radius: Decimal
    roundness: Decimal
    """Largest less smallest distance from the centre: RONt by the least-squares circle."""


@dataclass(frozen=True, slots=True)
class FeelerGap:
    """The gap under a straightedge, or in a joint, as far as blades can tell it; in mm."""

    at_least: Decimal
    at_most: Decimal | None
    """None where the thickest blade that was tried still went in."""

    @property
    def measure(self) -> Measure | None:
        """The middle in mm, spread evenly over the interval (width² / 12, GUM 4.3.7); None if open."""
        if self.at_most is None:
            return None
        with localcontext(WORKING):
            width = self.at_most - self.at_least
            return Measure((self.at_most + self.at_least) / 2, width * width / 12, width / 2)


def flatness(spots: Sequence[Spot]) -> Flatness:
    """Flatness of a face from heights at four spots or more, in mm.

    The minimum zone is exact: the linear programme in exact fractions, whose answer the
    programme's dual proves. Raises ValueError for fewer than four spots, two spots at one place, or spots
    that all lie on one line.
    """
    if len(spots) < 4:
        raise ValueError("flatness needs heights at four spots or more: three always lie in one plane")
    _check_count(len(spots))
    _check_finite(value for spot in spots for value in (spot.x, spot.y, spot.height))
    if len({(spot.x, spot.y) for spot in spots}) < len(spots):
        raise ValueError("two heights are given for one spot: give their mean, or the one that is right")
    places = [(Fraction(spot.x), Fraction(spot.y)) for spot in spots]
    heights = [Fraction(spot.height) for spot in spots]
    corners = _corners(places)
    zone, touching = _least_zone(places, heights, corners)
    return Flatness(_decimal(_least_squares_spread(places, heights)), _decimal(zone), touching)


def straightness(points: Sequence[tuple[Decimal, Decimal]]) -> Straightness:
    """Straightness of a line from (distance along, height) in mm, three points or more, in any order.

    Raises ValueError for fewer than three points or two at one place.
    """
    line = _line(points)
    first, last = line[0], line[-1]
    slope = (last[1] - first[1]) / (last[0] - first[0])
    return Straightness(
        _decimal(_spread(line, slope)),
        _decimal(_least_squares_spread([(x,) for x, _ in line], [y for _, y in line])),
        _decimal(_line_zone(line)),
    )


def straightness_within(points: Sequence[tuple[Decimal, Decimal]], length: Decimal) -> Decimal:
    """The worst minimum-zone straightness in mm over any stretch no longer than `length` mm.

    For limits of the form "so much in any 150 mm", which catch a short dip that passes over all. A stretch
    with fewer than three points cannot bend and counts nothing; raises ValueError where there is no other.
    """
    line = _line(points)
    worst: Fraction | None = None
    reach = 0
    for start, (x, _) in enumerate(line):
        end = reach
        while end < len(line) and line[end][0] - x <= Fraction(length):
            end += 1
        if end > reach and end - start >= 3:  # a stretch that adds no point lies within the one before
            zone = _line_zone(line[start:end])
            worst = zone if worst is None else max(worst, zone)
        reach = end
    if worst is None:
        raise ValueError(f"no stretch of {length} mm holds three points: measure closer together")
    return _decimal(worst)


def straightedge_gap(goes: Decimal | None, stops: Decimal | None, error: Decimal = Decimal(0)) -> FeelerGap:
    """The gap from the thickest blade that goes in and the thinnest that does not, in mm.

    `goes` is None where not even the thinnest went, `stops` None where even the thickest did. `error` is
    the straightedge's own flatness and the blade's tolerance added up, in mm; it widens the interval on
    both sides. Raises ValueError where neither blade is given or the one that stopped is not the thicker.
    """
    if goes is None and stops is None:
        raise ValueError("no blade was tried: give the thickest that goes, or the thinnest that does not")
    _check_finite(value for value in (goes, stops, error) if value is not None)
    if error < 0 or (goes is not None and goes <= 0) or (stops is not None and stops <= 0):
        raise ValueError("a blade's thickness is above 0 mm, and an error is not below 0 mm")
    if goes is not None and stops is not None and stops <= goes:
        raise ValueError(f"a blade of {stops} mm cannot stop where one of {goes} mm goes in")
    low = Decimal(0) if goes is None else max(goes - error, Decimal(0))
    return FeelerGap(low, None if stops is None else stops + error)


def widest_gap(gaps: Sequence[FeelerGap]) -> FeelerGap:
    """What several lines under the straightedge say of a face together: it is as bad as its worst line.

    A face that is twisted can pass along every line that was tried; try both diagonals too (common
    practice, no source). Raises ValueError for no line.
    """
    if not gaps:
        raise ValueError("no line was measured")
    tops = [gap.at_most for gap in gaps if gap.at_most is not None]
    return FeelerGap(
        max(gap.at_least for gap in gaps), max(tops) if tops and len(tops) == len(gaps) else None
    )


def least_squares_circle(points: Sequence[tuple[Decimal, Decimal]]) -> Circle:
    """The circle with the least sum of squared distances to four points or more (x, y in mm).

    Floats inside; the answer is rounded to the nanometre. Starts from the algebraic fit and takes
    Gauss-Newton steps, halved where a step does not improve (W. Gander, G. Golub, R. Strebel, BIT 34,
    1994, from memory). Raises ValueError for fewer than four points, or points on or near one line.
    """
    if len(points) < 4:
        raise ValueError("a circle needs four points or more: through three one always passes exactly")
    _check_finite(value for point in points for value in point)
    xs, ys = [float(x) for x, _ in points], [float(y) for _, y in points]
    mid_x, mid_y = math.fsum(xs) / len(xs), math.fsum(ys) / len(ys)
    size = max(math.hypot(x - mid_x, y - mid_y) for x, y in zip(xs, ys, strict=True))
    if size == 0:
        raise ValueError("all points are at one place")
    scaled = [((x - mid_x) / size, (y - mid_y) / size) for x, y in zip(xs, ys, strict=True)]
    a, b = _gauss_newton(scaled, *_algebraic_centre(scaled))
    distances = [math.hypot(x - a, y - b) * size for x, y in scaled]
    radius = math.fsum(distances) / len(distances)
    return Circle(
        _nanometre(mid_x + a * size),
        _nanometre(mid_y + b * size),
        _nanometre(radius),
        _nanometre(max(distances) - min(distances)),
    )


# --- exact work on points -------------------------------------------------------------------------------


def _check_finite(values: Iterator[Decimal]) -> None:
    if not all(value.is_finite() for value in values):
        raise ValueError("a place or a height is not a number")


def _check_count(count: int) -> None:
    if count > MOST_POINTS:
        raise ValueError(f"{count} points; {MOST_POINTS} are the most that are worked out exactly")


def _decimal(value: Fraction) -> Decimal:
    with localcontext(WORKING):
        return Decimal(value.numerator) / Decimal(value.denominator)


def _nanometre(value: float) -> Decimal:
    return Decimal(repr(round(value, 6)))


def _line(points: Sequence[tuple[Decimal, Decimal]]) -> list[tuple[Fraction, Fraction]]:
    if len(points) < 3:
        raise ValueError("straightness needs three points or more: two always lie on a line")
    _check_count(len(points))
    _check_finite(value for point in points for value in point)
    line = sorted((Fraction(x), Fraction(y)) for x, y in points)
    if any(before[0] == after[0] for before, after in pairwise(line)):
        raise ValueError("two heights are given for one place: give their mean, or the one that is right")
    return line


def _spread(line: Sequence[tuple[Fraction, Fraction]], slope: Fraction) -> Fraction:
    rest = [y - slope * x for x, y in line]
    return max(rest) - min(rest)


def _line_zone(line: Sequence[tuple[Fraction, Fraction]]) -> Fraction:
    """The least spread over all slopes; one side of the least zone lies along an edge of the convex hull."""
    upper, lower = _hull(line, 1), _hull(line, -1)
    slopes = {
        (after[1] - before[1]) / (after[0] - before[0])
        for hull in (upper, lower)
        for before, after in pairwise(hull)
    }
    corners = upper + lower
    return min(_spread(corners, slope) for slope in slopes)


def _hull(line: Sequence[tuple[Fraction, Fraction]], side: int) -> list[tuple[Fraction, Fraction]]:
    """The upper (side 1) or lower (-1) half of the convex hull of points in order of x."""
    hull: list[tuple[Fraction, Fraction]] = []
    for x, y in line:
        while len(hull) > 1:
            (x1, y1), (x2, y2) = hull[-2:]
            if side * ((x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)) < 0:
                break
            hull.pop()
        hull.append((x, y))
    return hull


def _least_squares_spread(places: Sequence[tuple[Fraction, ...]], heights: Sequence[Fraction]) -> Fraction:
    """Spread of what is left over from the least-squares line or plane, by the normal equations."""
    rows = [(Fraction(1), *place) for place in places]
    width = len(rows[0])
    matrix = [[sum(row[i] * row[j] for row in rows) for j in range(width)] for i in range(width)]
    right = [sum(row[i] * z for row, z in zip(rows, heights, strict=True)) for i in range(width)]
    inverse = _inverse([[Fraction(each) for each in line] for line in matrix])
    fit = [sum(a * b for a, b in zip(line, right, strict=True)) for line in inverse]
    rest = [
        z - sum(a * b for a, b in zip(fit, row, strict=True)) for row, z in zip(rows, heights, strict=True)
    ]
    return Fraction(max(rest) - min(rest))


def _inverse(matrix: list[list[Fraction]]) -> list[list[Fraction]]:
    """Inverse of a square matrix that is known to have one, by elimination."""
    size = len(matrix)
    rows = [line + [Fraction(int(i == j)) for j in range(size)] for i, line in enumerate(matrix)]
    for column in range(size):
        pivot = next(i for i in range(column, size) if rows[i][column] != 0)
        rows[column], rows[pivot] = rows[pivot], rows[column]
        lead = rows[column][column]
        rows[column] = [each / lead for each in rows[column]]
        for i in range(size):
            factor = rows[i][column]
            if i != column and factor != 0:
                rows[i] = [a - factor * b for a, b in zip(rows[i], rows[column], strict=True)]
    return [line[size:] for line in rows]


def _corners(places: Sequence[tuple[Fraction, Fraction]]) -> tuple[int, int, int]:
    """Three places that are not on one line."""
    (x0, y0), (x1, y1) = places[:2]
    for index, (x, y) in enumerate(places[2:], 2):
        if (x1 - x0) * (y - y0) != (y1 - y0) * (x - x0):
            return 0, 1, index
    raise ValueError("the spots all lie on one line: that tells straightness, not flatness")


def _least_zone(
    places: Sequence[tuple[Fraction, Fraction]], heights: Sequence[Fraction], corners: tuple[int, int, int]
) -> tuple[Fraction, tuple[int, ...]]:
    """Least distance of two parallel planes that hold every height, and the spots that hold them apart.

    Solved as the dual programme: weights p on the upper and q on the lower plane, each summing to 1 with
    one common centre of gravity, such that the mean height under p exceeds that under q by the most. Four
    rows, so every step works on a basis of four spots. The first column that gains enters, and of equals
    the first leaves, so it cannot go round in circles (R. Bland, Math. Oper. Res. 2, 1977, from memory).
    Places and heights are scaled to integers, which leaves choosing a column to integer sums.
    """
    scale = lcm(*(value.denominator for place in places for value in place))
    rise = lcm(*(height.denominator for height in heights))
    whole_places = [(int(x * scale), int(y * scale)) for x, y in places]
    whole_heights = [int(height * rise) for height in heights]
    columns = [((1, 0, x, y), z) for (x, y), z in zip(whole_places, whole_heights, strict=True)]
    columns += [((0, 1, -x, -y), -z) for (x, y), z in zip(whole_places, whole_heights, strict=True)]
    count = len(places)
    first, second, third = corners
    basis = [first, second, third, count + first]
    while True:
        matrix = [[Fraction(columns[j][0][row]) for j in basis] for row in range(4)]
        inverse = _inverse(matrix)
        prices = [
            sum((columns[j][1] * inverse[k][row] for k, j in enumerate(basis)), Fraction(0))
            for row in range(4)
        ]
        whole = lcm(*(price.denominator for price in prices))
        a, b, c, d = (int(price * whole) for price in prices)
        gains = [whole * gain - a * row[0] - b * row[1] - c * row[2] - d * row[3] for row, gain in columns]
        enter = next((j for j, gain in enumerate(gains) if gain > 0), None)
        if enter is None:
            held = tuple(sorted({j % count for j, gain in enumerate(gains) if gain == 0}))
            return (prices[0] + prices[1]) / rise, held
        amounts = [line[0] + line[1] for line in inverse]
        change = [
            sum((line[row] * columns[enter][0][row] for row in range(4)), Fraction(0)) for line in inverse
        ]
        _, _, leave = min((amounts[k] / change[k], basis[k], k) for k in range(4) if change[k] > 0)
        basis[leave] = enter


# --- the circle, in floats ------------------------------------------------------------------------------


def _algebraic_centre(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Centre by least squares of x² + y² + Dx + Ey + F about the centroid (I. Kåsa, 1976, from memory)."""
    suu = math.fsum(x * x for x, _ in points)
    svv = math.fsum(y * y for _, y in points)
    suv = math.fsum(x * y for x, y in points)
    su = math.fsum(x * (x * x + y * y) for x, y in points) / 2
    sv = math.fsum(y * (x * x + y * y) for x, y in points) / 2
    determinant = suu * svv - suv * suv
    if determinant <= 1e-12 * (suu + svv) ** 2:
        raise ValueError("the points lie on or near one line: no circle fits them")
    return (su * svv - sv * suv) / determinant, (sv * suu - su * suv) / determinant


def _gauss_newton(points: Sequence[tuple[float, float]], a: float, b: float) -> tuple[float, float]:
    """Centre of the least-squares circle from a start near it; points are scaled to a size of 1."""

    def cost(x0: float, y0: float) -> float:
        distances = [math.hypot(x - x0, y - y0) for x, y in points]
        mean = math.fsum(distances) / len(distances)
        return math.fsum((each - mean) ** 2 for each in distances)

    now = cost(a, b)
    for _ in range(200):
        rows = []
        for x, y in points:
            distance = math.hypot(x - a, y - b) or 1e-300  # a point at the centre pulls no way
            rows.append(((a - x) / distance, (b - y) / distance, distance))
        mean_u, mean_v, mean_d = (math.fsum(each) / len(points) for each in zip(*rows, strict=True))
        left = [(u - mean_u, v - mean_v, d - mean_d) for u, v, d in rows]
        uu, vv = math.fsum(u * u for u, _, _ in left), math.fsum(v * v for _, v, _ in left)
        uv = math.fsum(u * v for u, v, _ in left)
        ud, vd = math.fsum(u * d for u, _, d in left), math.fsum(v * d for _, v, d in left)
        determinant = uu * vv - uv * uv
        if determinant <= 1e-14 * (uu + vv) ** 2:
            raise ValueError("the points lie on one line or on too short an arc: no circle fits them")
        step_a, step_b = -(ud * vv - vd * uv) / determinant, -(vd * uu - ud * uv) / determinant
        share = 1.0
        while (next_cost := cost(a + share * step_a, b + share * step_b)) > now and share > 1e-9:
            share /= 2
        if next_cost >= now or math.hypot(step_a, step_b) < 1e-14:
            return a, b
        a, b, now = a + share * step_a, b + share * step_b, next_cost
    return a, b
