"""Piston, head and deck: where the piston stands, what a skim takes off, and what that does.

Sizes are exact decimals in mm, volumes in cm³, areas in mm². Only what hangs on an angle is worked out in
floats, and is rounded to the nanometre.

A skim moves more than the compression ratio: valves stand nearer the piston by what came off, on an
overhead camshaft the timing shifts, and nozzles and pre-chambers stand further out. The engine maker's
limits go before anything worked out here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext
from itertools import pairwise
from typing import Final, Literal, TypeAlias

from advisor.gauging.measure import WORKING

PI: Final = Decimal("3.14159265358979323846264338327950288419716939937510582097494459")

Face: TypeAlias = Literal["head", "deck"]


# --- the piston and the crank ---------------------------------------------------------------------------


def piston_drop(crank_radius: Decimal, rod: Decimal, angle: Decimal) -> Decimal:
    """How far the piston stands below top dead centre, in mm, at a crank angle in degrees after it.

    r (1 - cos a) + l - √(l² - r² sin² a) with crank radius r and rod length l in mm, both between centres:
    exact geometry of a crank in line with the bore, not the series in r/l, which is 1 to 2 % off. Floats
    inside. Raises ValueError unless rod and radius are above 0 and the rod is the longer.
    """
    r, rod_length, a = _crank(crank_radius, rod, angle)
    swing = r * math.sin(a)
    # The second term as a quotient: near top dead centre the difference of two equal lengths loses digits.
    drop = 2 * r * math.sin(a / 2) ** 2 + swing**2 / (rod_length + math.sqrt(rod_length**2 - swing**2))
    return Decimal(repr(round(drop, 6)))


def piston_speed(crank_radius: Decimal, rod: Decimal, angle: Decimal, speed: Decimal) -> float:
    """Speed of the piston in m/s, downward above 0, at a crank angle in degrees and `speed` in 1/min.

    The exact derivative of `piston_drop`; lengths in mm. A float. Raises ValueError as `piston_drop` does.
    """
    r, rod_length, a = _crank(crank_radius, rod, angle)
    upright = math.sqrt(rod_length**2 - (r * math.sin(a)) ** 2)
    return _turning(speed) * r * math.sin(a) * (1 + r * math.cos(a) / upright) / 1000


def piston_acceleration(crank_radius: Decimal, rod: Decimal, angle: Decimal, speed: Decimal) -> float:
    """Acceleration of the piston in m/s², downward above 0; arguments and errors as for `piston_speed`."""
    r, rod_length, a = _crank(crank_radius, rod, angle)
    sine, cosine = math.sin(a), math.cos(a)
    upright = math.sqrt(rod_length**2 - (r * sine) ** 2)
    bend = (cosine**2 - sine**2) / upright + (r * sine * cosine) ** 2 / upright**3
    return _turning(speed) ** 2 * r * (cosine + r * bend) / 1000


def _crank(crank_radius: Decimal, rod: Decimal, angle: Decimal) -> tuple[float, float, float]:
    _finite(crank_radius, rod, angle)
    if not 0 < crank_radius < rod:
        raise ValueError(f"a rod of {rod} mm cannot turn a crank of {crank_radius} mm radius")
    return float(crank_radius), float(rod), math.radians(float(angle % 360))


def _turning(speed: Decimal) -> float:
    _finite(speed)
    return float(speed) * 2 * math.pi / 60


# --- volumes --------------------------------------------------------------------------------------------


def circle_area(diameter: Decimal) -> Decimal:
    """Area of a circle in mm² from its diameter in mm; raises ValueError for one of 0 or less."""
    _finite(diameter)
    if diameter <= 0:
        raise ValueError(f"a diameter of {diameter} mm is not possible")
    with localcontext(WORKING):
        return PI * diameter * diameter / 4


def swept_volume(bore: Decimal, stroke: Decimal, cylinders: int = 1) -> Decimal:
    """Swept volume in cm³ from bore and stroke in mm; raises ValueError for a size of 0 or less."""
    _finite(stroke)
    if stroke <= 0 or cylinders < 1:
        raise ValueError(f"{cylinders} cylinders with a stroke of {stroke} mm are not possible")
    with localcontext(WORKING):
        return circle_area(bore) * stroke * cylinders / 1000


def compression_ratio(swept: Decimal, left: Decimal) -> Decimal:
    """(swept + left) / left, with the volume left at top dead centre; both in cm³ for one cylinder.

    Raises ValueError where nothing is swept or nothing is left.
    """
    _finite(swept, left)
    if swept <= 0 or left <= 0:
        raise ValueError(f"a swept volume of {swept} cm³ over {left} cm³ left has no compression ratio")
    with localcontext(WORKING):
        return (swept + left) / left


@dataclass(frozen=True, slots=True)
class Cylinder:
    """One cylinder with head and gasket on; sizes in mm, volumes in cm³, area in mm².

    The narrow ring between piston and bore above the top ring is not counted.
    """

    bore: Decimal
    stroke: Decimal
    chamber_volume: Decimal
    """In the head, up to its face, valves and plug in place: measured with liquid."""
    chamber_area: Decimal
    """The chamber's own opening at the face. It is the bore's area only where the chamber fills it."""
    gasket_bore: Decimal
    gasket_thickness: Decimal
    """Compressed."""
    piston_below_deck: Decimal
    """At top dead centre; below 0 where the piston stands proud."""
    crown_volume: Decimal = Decimal(0)
    """Of a dish, below 0 for a dome."""
    flat_above_face: Decimal = Decimal(0)
    """How far the head's flat above the piston lies back from the face; 0 where it is the face itself."""

    def __post_init__(self) -> None:
        _finite(
            self.bore, self.stroke, self.chamber_volume, self.chamber_area, self.gasket_bore,
            self.gasket_thickness, self.piston_below_deck, self.crown_volume, self.flat_above_face,
        )  # fmt: skip
        if min(self.bore, self.stroke, self.gasket_bore) <= 0:
            raise ValueError("bore, stroke and the gasket's bore are above 0 mm")
        if min(self.chamber_volume, self.chamber_area, self.gasket_thickness, self.flat_above_face) < 0:
            raise ValueError("a chamber, a gasket and a step in the head are not below 0")
        if self.left <= 0:
            raise ValueError(
                f"{self.left:.2f} cm³ would be left above the piston: one of the volumes is wrong"
            )

    @property
    def swept(self) -> Decimal:
        """Swept volume in cm³."""
        return swept_volume(self.bore, self.stroke)

    @property
    def left(self) -> Decimal:
        """Volume left at top dead centre in cm³: chamber, gasket by its own bore, deck, crown."""
        with localcontext(WORKING):
            return (
                self.chamber_volume
                + circle_area(self.gasket_bore) * self.gasket_thickness / 1000
                + circle_area(self.bore) * self.piston_below_deck / 1000
                + self.crown_volume
            )

    @property
    def compression_ratio(self) -> Decimal:
        """Geometric compression ratio."""
        return compression_ratio(self.swept, self.left)

    @property
    def piston_to_head(self) -> Decimal:
        """Clearance in mm of the piston's flat to the head's at top dead centre; below 0 they strike.

        Cold and at rest: bearing play, stretch and growth take their share of it when the engine runs.
        """
        return self.piston_below_deck + self.gasket_thickness + self.flat_above_face


# --- skimming -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Limits:
    """The engine maker's limits in mm, each None where the maker gives none."""

    least_thickness: Decimal | None = None
    """Of the head, or of the block from crank axis to deck."""
    least_piston_to_head: Decimal | None = None
    least_recession: Decimal | None = None
    most_recession: Decimal | None = None
    most_protrusion: Decimal | None = None
    """Of the piston above the deck."""
    most_compression_ratio: Decimal | None = None
    """A number."""


@dataclass(frozen=True, slots=True)
class Breach:
    """A limit that a skim would break: what is limited, its value afterwards, and the limit."""

    what: str
    value: Decimal
    limit: Decimal

    def __str__(self) -> str:
        """As a sentence."""
        side = "below the least" if self.value < self.limit else "above the most"
        value, limit = (f"{round(each, 4).normalize():f}" for each in (self.value, self.limit))
        return f"{self.what} would be {value}, {side} allowed, {limit}"


@dataclass(frozen=True, slots=True)
class Skim:
    """What a face comes to when `off` mm are taken off it."""

    face: Face
    off: Decimal
    cylinder: Cylinder
    """Afterwards."""
    ratio_before: Decimal
    thickness: Decimal | None
    """Of the head, or from crank axis to deck, afterwards, in mm; None where nobody measured it before."""
    recessions: tuple[Decimal, ...]
    """Of the valves below the face afterwards, in mm, in the order given; below 0 a valve stands proud."""
    breaches: tuple[Breach, ...]
    unknown: tuple[str, ...]
    """What has a limit but was not measured, so that nobody can say whether it is kept."""

    @property
    def allowed(self) -> bool | None:
        """Whether all limits are kept; None where that hangs on something not measured."""
        if self.breaches:
            return False
        return None if self.unknown else True


def cut_to_clean(out_of_flat: Decimal, stock: Decimal = Decimal(0)) -> Decimal:
    """The least that comes off a warped face in mm: its minimum-zone flatness, and stock for the finish.

    Only where the part is set up along its minimum zone; set up askew more comes off. Raises ValueError
    for a size below 0.
    """
    _finite(out_of_flat, stock)
    if out_of_flat < 0 or stock < 0:
        raise ValueError("out-of-flat and stock are not below 0 mm")
    return out_of_flat + stock


def skim(
    face: Face,
    cylinder: Cylinder,
    off: Decimal,
    limits: Limits,
    thickness: Decimal | None = None,
    recessions: Sequence[Decimal] = (),
) -> Skim:
    """What follows from taking `off` mm off the head or the deck; `thickness` and `recessions` are as now.

    Off the head, the chamber loses its own opening times the cut, while the clearance of piston to head
    stays: the face is bolted down on the same gasket. It shrinks only where the head's flat lies back from
    the face. Off the deck, the whole bore's area counts and the clearance shrinks by the cut. That a
    chamber's wall stands square to the face over the depth of the cut is assumed.

    Raises ValueError for a cut below 0, through the chamber, or through the part.
    """
    _finite(off, *recessions, *(() if thickness is None else (thickness,)))
    if off < 0:
        raise ValueError(f"a cut of {off} mm is not possible")
    if thickness is not None and off >= thickness:
        raise ValueError(f"a cut of {off} mm goes through a part of {thickness} mm")
    with localcontext(WORKING):
        if face == "head":
            chamber = cylinder.chamber_volume - cylinder.chamber_area * off / 1000
            if chamber < 0:
                raise ValueError(f"a cut of {off} mm takes more than the whole chamber")
            flat = max(cylinder.flat_above_face - off, Decimal(0))
            after = replace(cylinder, chamber_volume=chamber, flat_above_face=flat)
            sunk = tuple(each - off for each in recessions)
        else:
            after = replace(cylinder, piston_below_deck=cylinder.piston_below_deck - off)
            sunk = tuple(recessions)
        rest = None if thickness is None else thickness - off
        breaches, unknown = _against(face, after, limits, rest, sunk)
        return Skim(face, off, after, cylinder.compression_ratio, rest, sunk, breaches, unknown)


def skim_for_ratio(face: Face, cylinder: Cylinder, ratio: Decimal) -> Decimal:
    """The cut in mm that brings the compression ratio to `ratio`, whatever limits say.

    Raises ValueError where that ratio lies below today's, or where no cut of this face changes it.
    """
    _finite(ratio)
    if ratio < cylinder.compression_ratio:
        raise ValueError(f"a skim cannot lower the compression ratio to {ratio}")
    area = cylinder.chamber_area if face == "head" else circle_area(cylinder.bore)
    if area == 0:
        raise ValueError("the chamber has no opening at the face: a skim of it changes no volume")
    with localcontext(WORKING):
        return (cylinder.left - cylinder.swept / (ratio - 1)) * 1000 / area


def _against(
    face: Face, after: Cylinder, limits: Limits, thickness: Decimal | None, recessions: Sequence[Decimal]
) -> tuple[tuple[Breach, ...], tuple[str, ...]]:
    part = "head thickness in mm" if face == "head" else "height from crank axis to deck in mm"
    least: tuple[tuple[str, Decimal | None, Decimal | None], ...] = (
        (part, thickness, limits.least_thickness),
        ("piston-to-head clearance in mm", after.piston_to_head, limits.least_piston_to_head),
        ("least valve recession in mm", min(recessions, default=None), limits.least_recession),
    )
    most: tuple[tuple[str, Decimal | None, Decimal | None], ...] = (
        ("greatest valve recession in mm", max(recessions, default=None), limits.most_recession),
        ("piston protrusion in mm", -after.piston_below_deck, limits.most_protrusion),
        ("compression ratio", after.compression_ratio, limits.most_compression_ratio),
    )
    breaches, unknown = [], []
    for side, rows in ((1, least), (-1, most)):
        for what, value, limit in rows:
            if limit is not None and value is None:
                unknown.append(what)
            elif limit is not None and value is not None and (value - limit) * side < 0:
                breaches.append(Breach(what, value, limit))
    return tuple(breaches), tuple(unknown)


# --- the gasket's grade ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class GasketGrade:
    """A grade from the engine maker's list: its mark, compressed thickness and span of protrusion in mm."""

    mark: str
    thickness: Decimal
    least: Decimal
    most: Decimal


@dataclass(frozen=True, slots=True)
class GasketChoice:
    """Which gasket the measured protrusions ask for."""

    protrusion: Decimal
    """The greatest of all pistons, in mm; one gasket serves a whole head, so it decides."""
    spread: Decimal
    """Greatest less least, in mm: a large one tells of rods, pistons or a deck that differ."""
    grades: tuple[GasketGrade, ...]
    """All that the reading's error leaves possible, thickest first; empty where none can be vouched for."""

    @property
    def grade(self) -> GasketGrade | None:
        """The grade to take: the thickest that is possible; None where the list has none.

        Too thick a gasket costs some compression, too thin a one lets the piston strike the head.
        """
        return self.grades[0] if self.grades else None

    @property
    def settled(self) -> bool:
        """Whether one grade is left."""
        return len(self.grades) == 1

    @property
    def clearance(self) -> Decimal | None:
        """Piston to head in mm with `grade` at the greatest protrusion, the head's face being its flat."""
        return None if self.grade is None else self.grade.thickness - self.protrusion


def choose_gasket(
    grades: Sequence[GasketGrade], protrusions: Sequence[Decimal], error: Decimal = Decimal(0)
) -> GasketChoice:
    """The gasket by measured protrusion of every piston above the deck, in mm, with the reading's error.

    That the greatest protrusion decides is common practice, no source; some makers use a mean, so follow
    the maker's own rule. Where two spans share an end the thicker gasket is taken. A protrusion that the
    list does not reach gives no grade: it is never stretched.

    Raises ValueError for no protrusion, no grade, spans that overlap or run backward, a thickness that is
    not above 0, or a list in which a greater protrusion has no thicker gasket.
    """
    if not protrusions:
        raise ValueError("no protrusion was measured")
    _finite(error, *protrusions)
    if error < 0:
        raise ValueError("a reading's error is not below 0 mm")
    listed = _in_order(grades)
    most = max(protrusions)
    low, high = most - error, most + error
    # What lies beyond the list's end may be out of every span: no grade can then be vouched for.
    if high > listed[-1].most or low < listed[0].least:
        possible: list[GasketGrade] = []
    else:
        possible = [grade for grade in listed if grade.least <= high and grade.most >= low]
        if error == 0:
            possible = possible[-1:]
    return GasketChoice(most, most - min(protrusions), tuple(reversed(possible)))


def _in_order(grades: Sequence[GasketGrade]) -> list[GasketGrade]:
    if not grades:
        raise ValueError("the list has no gasket")
    for grade in grades:
        _finite(grade.thickness, grade.least, grade.most)
        if grade.thickness <= 0 or grade.most <= grade.least:
            raise ValueError(f"gasket {grade.mark!r}: thickness above 0 and a span from less to more, in mm")
    listed = sorted(grades, key=lambda grade: grade.least)
    for thin, thick in pairwise(listed):
        if thick.least < thin.most:
            raise ValueError(f"the spans of gaskets {thin.mark!r} and {thick.mark!r} overlap")
        if thick.thickness <= thin.thickness:
            raise ValueError(
                f"gasket {thick.mark!r} is for more protrusion than {thin.mark!r}, but no thicker"
            )
    return listed


def _finite(*values: Decimal) -> None:
    if not all(value.is_finite() for value in values):
        raise ValueError("a size is not a number")
