"""Press fits: pressure, stress and closing of the bore, and the heat or cold that assembly needs.

Two rings of elastic metal, thin or thick, by Lamé's equations. A block or a head is no ring: its answer
lies between that for a ring as thick as its thinnest wall and that for a wall without end, so both are
given. Stresses are those of a smooth, round, slack-free ring: no notch, no web, no bolt load.

Lamé's equations and linear expansion need only the four operations, so all of it is decimal and exact to
the digits of `WORKING`. The moduli are good to some per cent, and so is every pressure and stress.

Sources: pressure and hoop stress, roymech.co.uk, Useful Tables, Mechanics, Cylinders; heating and chilling,
engineeringtoolbox.com, assembly and shrink fits, for one part, eng-calculations.com for both at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext
from types import MappingProxyType
from typing import Final, Literal

from advisor.gauging.measure import WORKING

CAUTION: Final = (
    "Hot and deeply chilled parts burn, chilled metal turns brittle, and liquid nitrogen or dry ice takes "
    "the air out of a closed room: gloves, eye protection and fresh air. Never warm a part past the "
    "temperature that the engine maker allows for it, and follow the maker's manual for the fit itself."
)
"""Belongs beside every temperature from `heat_outer_to` and `chill_inner_to`."""

REFERENCE: Final = Decimal(20)
"""Temperature at which sizes are stated, in °C (ISO 1)."""

ABSOLUTE_ZERO: Final = Decimal("-273.15")
"""In °C."""


@dataclass(frozen=True, slots=True)
class Material:
    """What a press fit needs to know of a metal, with where it comes from."""

    name: str
    modulus: Decimal
    """Young's modulus in MPa."""
    poisson: Decimal
    """Poisson's ratio, at least 0 and below 0.5."""
    expansion: Decimal
    """Linear expansion for one kelvin near room temperature, in 1/K."""
    elastic_source: str
    expansion_source: str

    def __post_init__(self) -> None:
        if not self.modulus.is_finite() or self.modulus <= 0:
            raise ValueError(f"{self.name}: Young's modulus must be above nothing, not {self.modulus} MPa")
        if not (self.poisson.is_finite() and 0 <= self.poisson < Decimal("0.5")):
            raise ValueError(f"{self.name}: Poisson's ratio lies from 0 to 0.5, not at {self.poisson}")
        if not self.expansion.is_finite() or self.expansion <= 0:
            raise ValueError(f"{self.name}: expansion must be above nothing, not {self.expansion} 1/K")


_SHIGLEY: Final = "Shigley, Mechanical Engineering Design, 8th ed., solution to problem 3-69"
_CALLISTER: Final = "Callister, Materials Science and Engineering, appendix B"
_MEMORY: Final = "from memory, no source at hand"

MATERIALS: Final[Mapping[str, Material]] = MappingProxyType(
    {
        each.name: each
        for each in (
            # Shigley has 14.5 and 30 million psi.
            Material(
                "grey iron", Decimal(100_000), Decimal("0.211"), Decimal("11.4e-6"), _SHIGLEY, _CALLISTER
            ),
            Material(
                "ductile iron", Decimal(169_000), Decimal("0.275"), Decimal("11.2e-6"), _MEMORY,
                f"{_CALLISTER} (grade 60-40-18; 80-55-06 has 10.6e-6)",
            ),
            Material(
                "steel", Decimal(207_000), Decimal("0.292"), Decimal("11.5e-6"), _SHIGLEY,
                "Swyt, J. Res. NIST 99, 31 (1994)",
            ),
            Material(
                "aluminium 356", Decimal(72_400), Decimal("0.33"), Decimal("21.5e-6"), _MEMORY, _CALLISTER
            ),
            Material(
                "bronze", Decimal(100_000), Decimal("0.34"), Decimal("18.0e-6"), _MEMORY,
                f"{_CALLISTER} (bearing bronze C93200)",
            ),
        )
    }
)  # fmt: skip
"""Usual figures by plain name; where the maker gives others, pass a `Material` of your own."""


def material(name: str) -> Material:
    """The usual figures for a metal; ValueError, which lists what there is, for one that is not known."""
    if name not in MATERIALS:
        raise ValueError(f"no figures for {name!r}; there are {', '.join(MATERIALS)}")
    return MATERIALS[name]


@dataclass(frozen=True, slots=True)
class Joint:
    """A ring or solid pin pressed into a ring; diameters in mm."""

    diameter: Decimal
    """Where the two meet."""
    bore: Decimal
    """Bore of the inner part; 0 for a solid one."""
    outside: Decimal | None
    """Outside of the outer part; None for a wall without end."""
    inner: Material
    outer: Material

    def __post_init__(self) -> None:
        if not self.diameter.is_finite() or self.diameter <= 0:
            raise ValueError(f"the joint must have a diameter above nothing, not {self.diameter} mm")
        if not (self.bore.is_finite() and 0 <= self.bore < self.diameter):
            raise ValueError(
                f"the inner part's bore must lie from 0 to below the joint's {self.diameter} mm, "
                f"not at {self.bore} mm"
            )
        if self.outside is not None and not (self.outside.is_finite() and self.outside > self.diameter):
            raise ValueError(
                f"the outer part must be larger outside than the joint's {self.diameter} mm, "
                f"not {self.outside} mm"
            )


@dataclass(frozen=True, slots=True)
class Press:
    """What an interference does.

    Stresses in MPa, tension above nothing and compression below; sizes in mm.
    """

    interference: Decimal
    """On the diameter."""
    pressure: Decimal
    """Between the two, in MPa."""
    hoop_outer: Decimal
    """In the outer part at the joint, where it is largest."""
    hoop_inner: Decimal
    """In the inner part at the joint."""
    hoop_bore: Decimal | None
    """In the inner part at its bore, where it is largest; None for a solid part."""
    bore_closes: Decimal
    """By how much the inner part's bore gets smaller, on the diameter."""
    joint_opens: Decimal
    """By how much the outer part's hole gets larger, on the diameter."""

    @property
    def hoop_inner_worst(self) -> Decimal:
        """The largest compression in the inner part."""
        return self.hoop_inner if self.hoop_bore is None else self.hoop_bore


def press(joint: Joint, interference: Decimal) -> Press:
    """Pressure, hoop stresses and changes of size from a diametral interference in mm.

    ValueError for an interference below nothing, which is a clearance. Elastic throughout: a stress beyond
    the material's strength means that the figures no longer hold, see `used`.
    """
    if not interference.is_finite() or interference < 0:
        raise ValueError(f"an interference cannot be {interference} mm; below nothing it is a clearance")
    with localcontext(WORKING):
        wall, sleeve = _outer_ratio(joint), _inner_ratio(joint)
        # How far each part gives way at the joint for 1 MPa, as a share of its size.
        outer_gives = (wall + joint.outer.poisson) / joint.outer.modulus
        inner_gives = (sleeve - joint.inner.poisson) / joint.inner.modulus
        pressure = interference / (joint.diameter * (outer_gives + inner_gives))
        # (1 + sleeve) is 2 R² / (R² - r²): the stress at the bore of a ring that is pressed from outside.
        at_bore = -pressure * (1 + sleeve)
        return Press(
            interference=interference,
            pressure=pressure,
            hoop_outer=pressure * wall,
            hoop_inner=-pressure * sleeve,
            hoop_bore=at_bore if joint.bore else None,
            bore_closes=-at_bore / joint.inner.modulus * joint.bore,
            joint_opens=pressure * outer_gives * joint.diameter,
        )


def hoop(
    at: Decimal, bore: Decimal, outside: Decimal, inside_pressure: Decimal, outside_pressure: Decimal
) -> Decimal:
    """Hoop stress in MPa at a diameter of one ring under pressure inside and outside (Lamé).

    Diameters in mm, pressures in MPa. ValueError where `at` is not in the ring, or the ring has no wall.
    """
    if not (bore.is_finite() and outside.is_finite() and 0 < bore < outside):
        raise ValueError(f"a ring from {bore} to {outside} mm has no wall or no bore")
    if not (inside_pressure.is_finite() and outside_pressure.is_finite()):
        raise ValueError(f"no pressures of {inside_pressure} and {outside_pressure} MPa")
    if not (at.is_finite() and bore <= at <= outside):
        raise ValueError(f"{at} mm is not within the ring from {bore} to {outside} mm")
    with localcontext(WORKING):
        inner, outer = bore * bore, outside * outside
        even = (inside_pressure * inner - outside_pressure * outer) / (outer - inner)
        falling = (inside_pressure - outside_pressure) * inner * outer / (outer - inner)
        return even + falling / (at * at)


def _outer_ratio(joint: Joint) -> Decimal:
    """(ro² + R²) / (ro² - R²), 1 for a wall without end."""
    if joint.outside is None:
        return Decimal(1)
    inner, outer = joint.diameter * joint.diameter, joint.outside * joint.outside
    return (outer + inner) / (outer - inner)


def _inner_ratio(joint: Joint) -> Decimal:
    """(R² + ri²) / (R² - ri²), 1 for a solid part."""
    inner, outer = joint.bore * joint.bore, joint.diameter * joint.diameter
    return (outer + inner) / (outer - inner)


@dataclass(frozen=True, slots=True)
class BoundedPress:
    """The two ends between which a press into a block or head lies.

    Pressure, compression of the inner part and closing of its bore are greatest for the wall without end,
    tension in the block for the thinnest wall. What the bounds leave out: bending of a web or a corner.
    """

    thinnest: Press
    without_end: Press


def bounded_press(
    diameter: Decimal,
    bore: Decimal,
    thinnest_wall: Decimal,
    interference: Decimal,
    inner: Material,
    outer: Material,
) -> BoundedPress:
    """A press into a part that is no ring: `thinnest_wall` is the least metal around the joint, in mm.

    Diameters and the diametral interference in mm. ValueError for a wall of nothing or less, for a bore
    that is not inside the joint, and for an interference below nothing.
    """
    if not thinnest_wall.is_finite() or thinnest_wall <= 0:
        raise ValueError(f"a wall must be thicker than nothing, not {thinnest_wall} mm")
    with localcontext(WORKING):
        outside = diameter + 2 * thinnest_wall
    return BoundedPress(
        press(Joint(diameter, bore, outside, inner, outer), interference),
        press(Joint(diameter, bore, None, inner, outer), interference),
    )


@dataclass(frozen=True, slots=True)
class Used:
    """Hoop stress as a share of a strength, least and most of what the bounds allow."""

    least: Decimal
    most: Decimal

    @property
    def holds(self) -> bool | None:
        """Whether the strength suffices for every wall within the bounds; None where it hangs on the wall."""
        if self.most <= 1:
            return True
        return False if self.least > 1 else None


def used(bounds: BoundedPress, part: Literal["inner", "outer"], strength: Decimal) -> Used:
    """How much of a strength in MPa the hoop stress takes.

    Tension counts in the outer part, compression in the inner. Hoop stress alone, as for a brittle metal; a
    ductile one starts to yield earlier, since the pressure at the joint adds to the tension of the outer
    part. ValueError for a strength of nothing or less.
    """
    if not strength.is_finite() or strength <= 0:
        raise ValueError(f"a strength must be above nothing, not {strength} MPa")
    with localcontext(WORKING):
        shares = [
            (each.hoop_outer if part == "outer" else -each.hoop_inner_worst) / strength
            for each in (bounds.thinnest, bounds.without_end)
        ]
    return Used(min(shares), max(shares))


def heat_outer_to(
    diameter: Decimal,
    interference: Decimal,
    clearance: Decimal,
    inner: Material,
    outer: Material,
    *,
    shop: Decimal = REFERENCE,
    inner_at: Decimal | None = None,
) -> Decimal:
    """The temperature in °C of the outer part at which the inner one drops in with a wanted clearance.

    Sizes in mm on the diameter, as found at the temperature `shop` in °C; `inner_at` is the temperature of
    a chilled inner part. That or anything warmer will do; it comes out below `shop` where the chilled part
    drops in without heat. No allowance for what is lost on the way to the press is in it.
    ValueError for a clearance below nothing, a diameter of nothing or a temperature below absolute zero.
    """
    given = shop if inner_at is None else inner_at
    _check_assembly(diameter, interference, clearance, shop, given)
    with localcontext(WORKING):
        need = (interference + clearance) / diameter - inner.expansion * (shop - given)
        return max(shop + need / outer.expansion, ABSOLUTE_ZERO)


def chill_inner_to(
    diameter: Decimal,
    interference: Decimal,
    clearance: Decimal,
    inner: Material,
    outer: Material,
    *,
    shop: Decimal = REFERENCE,
    outer_at: Decimal | None = None,
) -> Decimal:
    """The temperature in °C of the inner part at which it drops in with a wanted clearance.

    As `heat_outer_to`; `outer_at` is the temperature of a heated outer part. ValueError also where chilling
    alone cannot do it. Expansion is taken as even; metals shrink less and less in deep cold, so leave some
    clearance in hand below about -80 °C (common practice, no source).
    """
    given = shop if outer_at is None else outer_at
    _check_assembly(diameter, interference, clearance, shop, given)
    with localcontext(WORKING):
        need = (interference + clearance) / diameter - outer.expansion * (given - shop)
        temperature = shop - need / inner.expansion
    if temperature < ABSOLUTE_ZERO:
        raise ValueError("no cold is enough for the inner part alone; use heat and cold together")
    return temperature


def interference_at(
    diameter: Decimal,
    interference: Decimal,
    inner: Material,
    outer: Material,
    inner_at: Decimal,
    outer_at: Decimal,
    *,
    measured_at: Decimal = REFERENCE,
) -> Decimal:
    """The diametral interference in mm that is left with the two parts at temperatures in °C.

    `interference` is as found with both at `measured_at`. Below nothing the inner part has come loose.
    ValueError for a diameter of nothing or a temperature below absolute zero.
    """
    _check_assembly(diameter, interference, Decimal(0), measured_at, inner_at, outer_at)
    with localcontext(WORKING):
        grows = inner.expansion * (inner_at - measured_at) - outer.expansion * (outer_at - measured_at)
        return interference + grows * diameter


def _check_assembly(
    diameter: Decimal, interference: Decimal, clearance: Decimal, *temperatures: Decimal
) -> None:
    if not diameter.is_finite() or diameter <= 0:
        raise ValueError(f"the joint must have a diameter above nothing, not {diameter} mm")
    if not interference.is_finite():
        raise ValueError(f"an interference cannot be {interference} mm")
    if not clearance.is_finite() or clearance < 0:
        raise ValueError(f"the wanted clearance cannot be {clearance} mm")
    for each in temperatures:
        if not each.is_finite() or each < ABSOLUTE_ZERO:
            raise ValueError(f"there is no temperature of {each} °C")
