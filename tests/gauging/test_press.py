"""Press fits against worked examples, and against the equilibrium of the two rings solved by other means."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.gauging.press import (
    ABSOLUTE_ZERO,
    MATERIALS,
    BoundedPress,
    Joint,
    Material,
    Press,
    bounded_press,
    chill_inner_to,
    heat_outer_to,
    hoop,
    interference_at,
    material,
    press,
    used,
)

D = Decimal

IRON, STEEL = MATERIALS["grey iron"], MATERIALS["steel"]

INCH = D("25.4")
PSI = D("0.00689475729316836")
"""In MPa: 4.4482216152605 N on a square inch, exact by definition of the pound-force."""


def metal(modulus: str | Decimal, poisson: str = "0.3", expansion: str = "12e-6") -> Material:
    return Material("test metal", D(modulus), D(poisson), D(expansion), "given", "given")


def near(value: Decimal, printed: str) -> bool:
    """Whether a value rounds to a figure as printed, to its last place."""
    last = D(printed).as_tuple().exponent
    assert isinstance(last, int)
    return abs(value - D(printed)) <= D(1).scaleb(last) / 2


def test_two_steel_parts() -> None:
    """Shigley, 8th ed., solution 3-68: R 0.5 in, ro 1 in, solid, E 30 Mpsi, radial interference 0.001 in."""
    steel = metal(30_000_000 * PSI, "0.292")
    found = press(Joint(INCH, D(0), 2 * INCH, steel, steel), D("0.002") * INCH)
    assert round(found.pressure / PSI) == 22_500
    assert round(found.hoop_outer / PSI) == 37_500
    assert round(found.hoop_inner / PSI) == -22_500
    assert found.hoop_bore is None  # a solid part has no bore where the stress would double
    assert found.hoop_inner_worst == found.hoop_inner
    assert found.bore_closes == 0


def test_two_different_metals() -> None:
    """Shigley, 8th ed., solution 3-69: as 3-68 with an outer part of cast iron, E 14.5 Mpsi, Poisson 0.211.

    It prints 13 064 psi and 21 770; the figures unrounded are 13 063.8 and 21 773."""
    iron, steel = metal(14_500_000 * PSI, "0.211"), metal(30_000_000 * PSI, "0.292")
    found = press(Joint(INCH, D(0), 2 * INCH, steel, iron), D("0.002") * INCH)
    assert round(found.pressure / PSI) == 13_064
    assert round(found.hoop_outer / PSI, -1) == 21_770
    assert round(found.hoop_inner / PSI) == -13_064


def test_a_hub_of_40_mm() -> None:
    """Shigley, 8th ed., solution 3-64: 40 H7/s6, radial interference 0.0295 to 0.009 mm, 114.5 to 34.9 MPa.

    Hub outside 80 mm and E 207 GPa are inferred: the problem's text was not at hand, they fit its answers."""
    joint = Joint(D(40), D(0), D(80), metal("207000"), metal("207000"))
    assert near(press(joint, D("40.059") - D("40.000")).pressure, "114.5")
    assert near(press(joint, D("40.043") - D("40.025")).pressure, "34.9")


def test_a_shrunk_tube_and_its_heating() -> None:
    """Bhavikatti, Strength of Materials, example 8.8.17 p. 350: radii 150, 200, 250, 0.2 mm on the diameter.

    Its pressure is 12.3 MPa. The rise of 66.67 K that it prints is wrong, it uses 250 mm for the diameter:
    diameter times expansion times rise gives 41.67 K at 400 mm (engineeringtoolbox.com, shrink fits)."""
    both = metal("2e5")
    assert near(press(Joint(D(400), D(300), D(500), both, both), D("0.2")).pressure, "12.3")
    rise = heat_outer_to(D(400), D("0.2"), D(0), both, both, shop=D(20)) - 20
    assert near(rise, "41.67")


def test_a_compound_tube_under_pressure() -> None:
    """Bhavikatti, example 8.8.15 p. 344: radii 200, 250 and 300, shrunk with 6 MPa, then 80 MPa inside."""

    def together(at: int, bore: int, outside: int, inside: int, outer: int) -> Decimal:
        """Shrinking in the one tube, and the fluid in both as if they were one."""
        shrunk = hoop(D(at), D(bore), D(outside), D(inside), D(outer))
        return shrunk + hoop(D(at), D(400), D(600), D(80), D(0))

    assert near(together(400, 400, 500, 0, 6), "174.67")
    assert near(together(500, 400, 500, 0, 6), "128.83")
    assert near(together(500, 500, 600, 6, 0), "189.43")
    assert near(together(600, 500, 600, 6, 0), "155.27")


def test_an_iron_sleeve_as_computed_before() -> None:
    """Computed here, a regression: sleeve 95/90 in iron of 115 mm, 0.050 mm, E 110 GPa for both."""
    iron = metal("110000", "0.211")
    found = press(Joint(D(95), D(90), D(115), iron, iron), D("0.050"))
    assert near(found.pressure, "2.4")
    assert near(found.hoop_inner, "-45")
    assert near(found.bore_closes, "0.039")


def test_a_valve_seat_in_aluminium_as_computed_before() -> None:
    """Computed here, a regression: steel seat 36/30 in an aluminium ring of 50 mm, 0.08 mm."""
    head, seat = metal("70000", "0.33", "21.5e-6"), metal("200000", "0.3", "11.5e-6")
    found = press(Joint(D(36), D(30), D(50), seat, head), D("0.08"))
    assert near(found.pressure, "29")
    assert near(found.hoop_outer, "92")
    left = interference_at(D(36), D("0.08"), seat, head, D(200), D(200))
    assert near(D("0.08") - left, "0.065")
    assert near(heat_outer_to(D(36), D("0.08"), D("0.05"), seat, head) - 20, "168")


DIAMETERS = st.decimals("5", "200", places=3)
SHARES = st.decimals("0.01", "0.99", places=3)
METALS = st.builds(
    lambda modulus, poisson, expansion: metal(modulus, str(poisson), f"{expansion}e-6"),
    st.integers(40_000, 250_000).map(str),
    st.decimals("0", "0.499", places=3),
    st.integers(5, 30),
)
INTERFERENCES = st.decimals("0", "0.5", places=4)


@st.composite
def joints(draw: st.DrawFn) -> Joint:
    diameter = draw(DIAMETERS)
    bore = draw(st.one_of(st.just(D(0)), SHARES.map(lambda share: diameter * share)))
    outside = draw(st.one_of(st.none(), SHARES.map(lambda share: diameter / share)))
    return Joint(diameter, bore, outside, draw(METALS), draw(METALS))


class Ring:
    """A ring in plane stress with the displacement u = a r + b / r, in exact fractions.

    `checked` proves that any such u keeps the balance of forces, radial' + (radial - hoop) / r = 0,
    with the strains u' and u / r that fit together: so only a and b are left to find from the edges.
    """

    def __init__(self, metal: Material) -> None:
        self.modulus, self.poisson = Fraction(metal.modulus), Fraction(metal.poisson)

    def radial(self, r: Fraction) -> tuple[Fraction, Fraction]:
        """Radial stress at r for a = 1 and for b = 1."""
        return self._stress(Fraction(1), 1), self._stress(-1 / (r * r), 1 / (r * r))

    def hooped(self, r: Fraction) -> tuple[Fraction, Fraction]:
        """Hoop stress at r for a = 1 and for b = 1."""
        return self._stress(Fraction(1), 1), self._stress(1 / (r * r), -1 / (r * r))

    def _stress(self, along: Fraction, across: Fraction | int) -> Fraction:
        """Hooke's law in plane stress."""
        return self.modulus / (1 - self.poisson**2) * (along + self.poisson * across)

    def checked(self, r: Fraction) -> bool:
        slope = (Fraction(0), self.modulus / (1 - self.poisson**2) * (1 - self.poisson) * 2 / r**3)
        return all(
            each + (radial - hooped) / r == 0
            for each, radial, hooped in zip(slope, self.radial(r), self.hooped(r), strict=True)
        )


def solve(rows: list[list[Fraction]]) -> list[Fraction]:
    """Gauss and Jordan; the last column is the right-hand side."""
    rows = [list(row) for row in rows]
    for column in range(len(rows)):
        pivot = next(index for index in range(column, len(rows)) if rows[index][column])
        rows[column], rows[pivot] = rows[pivot], rows[column]
        rows[column] = [each / rows[column][column] for each in rows[column]]
        for index, row in enumerate(rows):
            if index != column:
                rows[index] = [a - row[column] * b for a, b in zip(row, rows[column], strict=True)]
    return [row[-1] for row in rows]


def equilibrium(joint: Joint, interference: Decimal) -> dict[str, Fraction]:
    """What `press` answers, from four conditions at the edges and no formula for pressed rings."""
    inner, outer = Ring(joint.inner), Ring(joint.outer)
    radius, bore = Fraction(joint.diameter) / 2, Fraction(joint.bore) / 2
    zero, one = Fraction(0), Fraction(1)
    assert inner.checked(radius)
    assert outer.checked(radius)
    outside = None if joint.outside is None else Fraction(joint.outside) / 2
    a, b, c, d = solve(
        [
            # No stress at the bore; a solid part has no b / r in its middle.
            [*inner.radial(bore), zero, zero, zero] if bore else [zero, one, zero, zero, zero],
            # No stress outside; a wall without end has no a r far away.
            [zero, zero, *outer.radial(outside), zero] if outside else [zero, zero, one, zero, zero],
            # One pressure at the joint, and displacements that make up for the interference.
            [*inner.radial(radius), *(-each for each in outer.radial(radius)), zero],
            [-radius, -1 / radius, radius, 1 / radius, Fraction(interference) / 2],
        ]
    )

    def of(pair: tuple[Fraction, Fraction], first: Fraction, second: Fraction) -> Fraction:
        return pair[0] * first + pair[1] * second

    found = {
        "pressure": -of(inner.radial(radius), a, b),
        "hoop_outer": of(outer.hooped(radius), c, d),
        "hoop_inner": of(inner.hooped(radius), a, b),
        "joint_opens": 2 * (c * radius + d / radius),
        "bore_closes": -2 * (a * bore + b / bore) if bore else zero,
    }
    if bore:
        found["hoop_bore"] = of(inner.hooped(bore), a, b)
    return found


@given(joints(), INTERFERENCES)
def test_the_rings_are_in_equilibrium(joint: Joint, interference: Decimal) -> None:
    """Against the exact solution of the balance of forces and of what must fit together at the joint."""
    found = press(joint, interference)
    for name, exact in equilibrium(joint, interference).items():
        ours = Fraction(getattr(found, name))
        assert abs(ours - exact) <= abs(exact) * Fraction(1, 10**40), name
    assert (found.hoop_bore is None) == (joint.bore == 0)


@given(joints(), INTERFERENCES, INTERFERENCES)
def test_stress_goes_with_interference_and_with_stiffness(
    joint: Joint, first: Decimal, second: Decimal
) -> None:
    """Elastic: both interferences together do what each does by itself, and sizes need no stiffness."""
    few = Fraction(1, 10**40)
    together = Fraction(press(joint, first + second).pressure)
    one, two = (press(joint, each) for each in (first, second))
    assert abs(together - Fraction(one.pressure) - Fraction(two.pressure)) <= few
    doubled = replace(
        joint,
        inner=replace(joint.inner, modulus=joint.inner.modulus * 2),
        outer=replace(joint.outer, modulus=joint.outer.modulus * 2),
    )
    stiffer = press(doubled, first)
    assert abs(Fraction(stiffer.pressure) - 2 * Fraction(one.pressure)) <= few
    assert abs(Fraction(stiffer.bore_closes) - Fraction(one.bore_closes)) <= few


@given(joints(), INTERFERENCES)
def test_the_hoop_stress_carries_the_pressure(joint: Joint, interference: Decimal) -> None:
    """Across a cut through the middle, the outer ring's hoop stress holds the pressure on the joint: p d."""
    if joint.outside is None:
        joint = replace(joint, outside=joint.diameter * 3)
    assert joint.outside is not None
    found = press(joint, interference)

    def at(diameter: Decimal) -> Decimal:
        return hoop(diameter, joint.diameter, outside, found.pressure, D(0))

    outside = joint.outside
    assert abs(at(joint.diameter) - found.hoop_outer) <= abs(found.hoop_outer) * D("1e-20")
    # The middle of each strip, and strips that widen in ratio: the stress falls with the square of the size.
    widens = (outside / joint.diameter).ln() / 50
    cut = [min(joint.diameter * (widens * index).exp(), outside) for index in range(51)]
    carried = sum(((high - low) * at((low + high) / 2) for low, high in pairwise(cut)), D(0))
    wanted = found.pressure * joint.diameter
    assert abs(carried - wanted) <= wanted * D("0.02")


@given(DIAMETERS, SHARES, SHARES, INTERFERENCES, METALS, METALS, SHARES)
def test_any_wall_between_lies_within_the_bounds(
    diameter: Decimal,
    bore: Decimal,
    wall: Decimal,
    interference: Decimal,
    inner: Material,
    outer: Material,
    thicker: Decimal,
) -> None:
    bounds = bounded_press(diameter, diameter * bore, diameter * wall, interference, inner, outer)
    between = press(
        Joint(diameter, diameter * bore, diameter + 2 * diameter * wall / thicker, inner, outer), interference
    )
    few = D("1e-40")
    for name, sign in (
        ("pressure", 1), ("bore_closes", 1), ("hoop_outer", -1), ("hoop_inner", -1), ("hoop_bore", -1)
    ):  # fmt: skip
        thin, middle, endless = (
            getattr(each, name) * sign for each in (bounds.thinnest, between, bounds.without_end)
        )
        assert thin - few <= middle <= endless + few, name


def test_a_wall_is_there_on_both_sides() -> None:
    """10 mm of metal around 95 mm is a ring of 115 mm; no end of metal is nearly one of 95 m."""
    bounds = bounded_press(D(95), D(90), D(10), D("0.05"), IRON, STEEL)
    assert bounds.thinnest == press(Joint(D(95), D(90), D(115), IRON, STEEL), D("0.05"))
    wide = press(Joint(D(95), D(90), D(95_000), IRON, STEEL), D("0.05"))
    assert bounds.without_end.pressure == pytest.approx(wide.pressure, rel=D("1e-5"))


def pressed(hoop_outer: str, hoop_bore: str) -> Press:
    return Press(D("0.05"), D(10), D(hoop_outer), D(-10), D(hoop_bore), D("0.01"), D("0.01"))


def test_strength_holds_fails_or_hangs_on_the_wall() -> None:
    """From the rule that both ends must agree."""
    bounds = BoundedPress(pressed("90", "-40"), pressed("50", "-60"))
    assert used(bounds, "outer", D(90)).holds is True
    assert used(bounds, "outer", D(89)).holds is None
    assert used(bounds, "outer", D(49)).holds is False
    assert used(bounds, "inner", D(60)).holds is True
    assert used(bounds, "inner", D(50)).holds is None
    assert used(bounds, "inner", D(39)).holds is False
    assert used(bounds, "outer", D(100)).most == D("0.9")
    assert used(bounds, "outer", D(100)).least == D("0.5")


TEMPERATURES = st.decimals("-50", "60", places=1)


@given(
    DIAMETERS, INTERFERENCES, st.decimals("0", "0.1", places=3), METALS, METALS, TEMPERATURES, TEMPERATURES
)
def test_at_the_assembly_temperature_the_clearance_is_there(
    diameter: Decimal,
    interference: Decimal,
    clearance: Decimal,
    inner: Material,
    outer: Material,
    shop: Decimal,
    chilled: Decimal,
) -> None:
    """Heating alone and both together: there and back by the interference left at that temperature."""
    for inner_at in (shop, min(shop, chilled)):
        hot = heat_outer_to(diameter, interference, clearance, inner, outer, shop=shop, inner_at=inner_at)
        left = interference_at(diameter, interference, inner, outer, inner_at, hot, measured_at=shop)
        if hot == ABSOLUTE_ZERO:
            assert left <= -clearance  # the chilled part drops into the coldest hole there is
        else:
            assert abs(left + clearance) <= D("1e-40")


@given(st.decimals("50", "200", places=3), st.decimals("0", "0.05", places=4), METALS, METALS, TEMPERATURES)
def test_chilling_needs_no_heat(
    diameter: Decimal, interference: Decimal, inner: Material, outer: Material, warmed: Decimal
) -> None:
    clearance = D("0.01")
    for outer_at in (D(20), max(D(20), warmed)):
        try:
            cold = chill_inner_to(diameter, interference, clearance, inner, outer, outer_at=outer_at)
        except ValueError:
            # Not even absolute zero makes the part small enough.
            shrunk = interference_at(diameter, interference, inner, outer, D("-273.15"), outer_at)
            assert shrunk + clearance > 0
        else:
            left = interference_at(diameter, interference, inner, outer, cold, outer_at)
            assert abs(left + clearance) <= D("1e-40")


def test_both_together_need_less_of_each() -> None:
    """A seat chilled to -78 °C (dry ice, common practice, no source) needs less heat in the head."""
    seat, head = material("steel"), material("aluminium 356")
    alone = heat_outer_to(D(36), D("0.08"), D("0.05"), seat, head)
    both = heat_outer_to(D(36), D("0.08"), D("0.05"), seat, head, inner_at=D(-78))
    assert both < alone
    # 98 K of the seat are worth 98 × 11.5 / 21.5 K of the head.
    assert abs((alone - both) - 98 * D("11.5") / D("21.5")) < D("1e-40")
    with pytest.raises(ValueError, match="use heat and cold together"):
        chill_inner_to(D(36), D("0.08"), D("0.05"), seat, head)


def test_a_seat_comes_loose_in_a_hot_aluminium_head_and_not_in_iron() -> None:
    seat = material("steel")
    loose = interference_at(D(36), D("0.05"), seat, material("aluminium 356"), D(220), D(220))
    assert loose < 0
    assert interference_at(D(36), D("0.05"), seat, material("grey iron"), D(220), D(220)) > D("0.05")


@pytest.mark.parametrize(
    ("name", "expansion"),
    [
        ("grey iron", "11.4"), ("ductile iron", "11.2"), ("steel", "11.5"), ("aluminium 356", "21.5"),
        ("bronze", "18.0"),
    ],
)  # fmt: skip
def test_expansions_as_printed(name: str, expansion: str) -> None:
    """Callister, appendix B (amesweb.info and issuhub.com/view/index/5550, p. 816); steel Swyt, J. Res. NIST
    99, 31 (1994)."""
    metal = material(name)
    assert metal.expansion == D(expansion).scaleb(-6)
    assert metal.name == name
    assert ("from memory" in metal.elastic_source) == (name not in ("grey iron", "steel"))


def test_moduli_as_printed() -> None:
    """Shigley, 8th ed., solution 3-69, within two parts in a thousand."""
    for name, psi, poisson in (("grey iron", "14.5e6", "0.211"), ("steel", "30e6", "0.292")):
        assert abs(D(psi) * PSI / MATERIALS[name].modulus - 1) < D("0.002")
        assert MATERIALS[name].poisson == D(poisson)


def test_impossible_input_is_refused() -> None:
    for diameter, bore, outside in (
        ("0", "0", "10"), ("10", "10", "20"), ("10", "-1", "20"), ("10", "5", "10"), ("NaN", "0", "10"),
        ("10", "NaN", "20"), ("10", "5", "NaN"), ("10", "5", "Infinity"),
    ):  # fmt: skip
        with pytest.raises(ValueError, match=r"joint"):
            Joint(D(diameter), D(bore), D(outside), IRON, IRON)
    with pytest.raises(ValueError, match="thicker than nothing, not -3 mm"):
        bounded_press(D(95), D(90), D(-3), D("0.05"), IRON, IRON)
    with pytest.raises(ValueError, match="below nothing it is a clearance"):
        press(Joint(D(95), D(90), D(115), IRON, IRON), D("-0.01"))
    with pytest.raises(ValueError, match="not within the ring"):
        hoop(D(39), D(40), D(60), D(1), D(0))
    with pytest.raises(ValueError, match="no wall or no bore"):
        hoop(D(40), D(40), D(40), D(1), D(0))
    with pytest.raises(ValueError, match="no figures for 'cheese'; there are grey iron"):
        material("cheese")
    with pytest.raises(ValueError, match="strength must be above nothing"):
        used(BoundedPress(pressed("1", "-1"), pressed("1", "-1")), "outer", D(0))
    with pytest.raises(ValueError, match="no temperature of -300 °C"):
        heat_outer_to(D(36), D("0.08"), D("0.05"), IRON, IRON, inner_at=D(-300))
    with pytest.raises(ValueError, match="wanted clearance cannot be -1 mm"):
        heat_outer_to(D(36), D("0.08"), D(-1), IRON, IRON)


@pytest.mark.parametrize(
    ("field", "value"), [("modulus", "0"), ("modulus", "-1"), ("poisson", "0.5"), ("expansion", "0")]
)
def test_impossible_metals_are_refused(field: str, value: str) -> None:
    with pytest.raises(ValueError, match="grey iron: "):
        replace(IRON, **{field: D(value)})  # type: ignore[arg-type]
