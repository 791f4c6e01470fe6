"""A pressed joint of the engine sheet: housing bore, stress, heat and cold, and the inset's bore afterwards.

The sums are those of `press` and `fits`. Bounds go together with the span of the interference: the tightest
joint stresses most, the loosest holds least.
"""

from __future__ import annotations

from decimal import Decimal, localcontext
from typing import Final

from advisor.gauging import fits
from advisor.gauging.figures import CELSIUS, MEGAPASCAL, Figure, WorkFacts, worst
from advisor.gauging.measure import WORKING
from advisor.gauging.press import (
    REFERENCE,
    BoundedPress,
    Material,
    bounded_press,
    chill_inner_to,
    heat_outer_to,
    material,
    used,
)
from advisor.sheets.work import Joint

_STRESS_UNSURE: Final = (
    "whether the wall stands the tension hangs on its shape, which no ring can tell: ask the inset's maker"
)
_TOO_HOT: Final = "more heat would be needed than the outer part may have: chill the inset as well"
_TOO_TENSE: Final = "the tension around the hole would be more than the metal stands"
_TOO_WIDE: Final = "the inset's bore would be larger than its finished size before it is cut"


def interference(joint: Joint) -> tuple[Decimal, Decimal]:
    """The least and the most interference wanted, in mm on the diameter."""
    if joint.interference is not None:
        return joint.interference.at_least.value, joint.interference.at_most.value
    fit = _fit(joint)
    return fit.least_interference, fit.most_interference


def housing(joint: Joint) -> tuple[Decimal, Decimal]:
    """The least and the largest hole for the inset, in mm.

    By the fit's class for the hole where a fit is given; otherwise the inset's diameter less what is wanted.
    """
    if joint.interference is None:
        hole = _fit(joint).hole_limits
        return hole.least, hole.most
    least, most = interference(joint)
    return joint.diameter.value - most, joint.diameter.value - least


def joint_facts(joint: Joint, wall: Decimal | None = None) -> WorkFacts:
    """What follows from a joint alone; `wall` in mm is what is measured to be left, where that is known."""
    with localcontext(WORKING):
        tight = _pressed(joint, interference(joint)[1], wall)
        loose = _pressed(joint, interference(joint)[0], wall)
        parts = (_hole(joint), _stress(joint, tight, loose), _bore(joint, tight, loose), _heat(joint))
        whole = parts[0]
        for each in parts[1:]:
            whole = whole.and_(each)
        return whole


def _hole(joint: Joint) -> WorkFacts:
    return WorkFacts(
        True,
        (
            Figure("housing_bore", "housing bore", *housing(joint)),
            Figure("interference", "interference", *interference(joint)),
        ),
    )


def _stress(joint: Joint, tight: BoundedPress, loose: BoundedPress) -> WorkFacts:
    strength = None if joint.strength is None else joint.strength.value
    figures = (
        Figure(
            "pressure",
            "pressure in the joint",
            loose.thinnest.pressure * MEGAPASCAL,
            tight.without_end.pressure * MEGAPASCAL,
            "pressure",
        ),
        Figure(
            "hoop_outer",
            "tension around the hole",
            loose.without_end.hoop_outer * MEGAPASCAL,
            tight.thinnest.hoop_outer * MEGAPASCAL,
            "pressure",
            at_most=strength,
        ),
    )
    if strength is None:
        return WorkFacts(True, figures)
    holds = used(tight, "outer", strength / MEGAPASCAL).holds
    return WorkFacts(
        holds,
        figures,
        says=(_STRESS_UNSURE,) if holds is None else (),
        unsure=(_STRESS_UNSURE,) if holds is None else (),
        against=(_TOO_TENSE,) if holds is False else (),
    )


def _bore(joint: Joint, tight: BoundedPress, loose: BoundedPress) -> WorkFacts:
    """By how much the inset's bore closes, and what is left in it to cut."""
    if joint.bore is None:
        return WorkFacts(True)
    least, most = loose.thinnest.bore_closes, tight.without_end.bore_closes
    low, high = joint.bore.value - most, joint.bore.value - least
    figures = (
        Figure("bore_closes", "the inset's bore closes by", least, most),
        Figure("bore_after", "the inset's bore once it is in", low, high),
    )
    if joint.finish is None:
        return WorkFacts(True, figures)
    to_cut = Figure(
        "left_to_cut",
        "left in it to cut, on the diameter",
        joint.finish.value - high,
        joint.finish.value - low,
        at_least=Decimal(0),
    )
    finish = Figure("finish_bore", "finished bore", joint.finish.value, joint.finish.value)
    against = (_TOO_WIDE,) if to_cut.kept is False else ()
    return WorkFacts(to_cut.kept, (*figures, to_cut, finish), against=against)


def _heat(joint: Joint) -> WorkFacts:
    """The heat that the outer part wants with the inset as cold as it may be made, and cold by itself."""
    if joint.play is None:
        return WorkFacts(True)
    inner, outer, play = material(joint.inner), material(joint.outer), joint.play.value
    diameter, most = joint.diameter.value, interference(joint)[1]
    cold = REFERENCE if joint.chill_to is None else joint.chill_to.value / CELSIUS
    warm = heat_outer_to(diameter, most, play, inner, outer, inner_at=cold)
    figures = []
    if joint.chill_to is not None:
        figures.append(_at("inset_at", "inset chilled to", cold))
    feasible: bool | None = True
    if warm > REFERENCE:
        limit = None if joint.heat_to is None else joint.heat_to.value
        figures.append(
            Figure(
                "heat_by",
                "heat the outer part by",
                (warm - REFERENCE) * CELSIUS,
                (warm - REFERENCE) * CELSIUS,
                "temperature_difference",
            )
        )
        figures.append(_at("heat_to", "that is from 20 °C to", warm, limit))
        feasible = worst(each.kept for each in figures)
        if joint.chill_to is None and joint.heat_to is None:
            figures += _cold_alone(diameter, most, play, inner, outer)
    against = (_TOO_HOT,) if feasible is False else ()
    return WorkFacts(feasible, tuple(figures), against=against)


def _cold_alone(
    diameter: Decimal, most: Decimal, play: Decimal, inner: Material, outer: Material
) -> list[Figure]:
    """The cold that does without any heat, where there is such a cold."""
    try:
        cold = chill_inner_to(diameter, most, play, inner, outer)
    except ValueError:
        return []
    return [_at("chill_to", "or, without heat, chill the inset to", cold)]


def _at(name: str, label: str, celsius: Decimal, at_most: Decimal | None = None) -> Figure:
    value = celsius * CELSIUS
    return Figure(name, label, value, value, "temperature", at_most=at_most)


def _pressed(joint: Joint, by: Decimal, wall: Decimal | None) -> BoundedPress:
    thinnest = joint.thinnest_wall.value if wall is None else min(wall, joint.thinnest_wall.value)
    bore = Decimal(0) if joint.bore is None else joint.bore.value
    inner, outer = material(joint.inner), material(joint.outer)
    return bounded_press(joint.diameter.value, bore, thinnest, by, inner, outer)


def _fit(joint: Joint) -> fits.Fit:
    assert joint.fit is not None  # the model holds that an interference or a fit is given
    hole, _, shaft = joint.fit.partition("/")
    return fits.fit(joint.diameter.value, hole, shaft)
