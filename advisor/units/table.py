"""The units that are read: what each is called, its exact size, and how it is shown.

The sizes rest on definitions that are exact: the international inch and pound, the standard
acceleration of free fall and the conventional millimetre of mercury (NIST Special Publication 811,
appendix B, cited from memory; the tests prove every one against Pint's definitions).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Final, NamedTuple

from advisor.units.quantity import DIMENSIONS


class Unit(NamedTuple):
    """A unit: `value in base units = number * factor + offset`.

    `places` is how many decimal places it is shown with; `pint` is the unit as our Pint registry names it.
    """

    symbol: str
    dimension: str
    factor: Decimal
    offset: Decimal
    places: int
    pint: str


# symbol | factor | places shown | Pint's name | other spellings; one with a + is read with an s as well
_TABLE: Final = {
    "length": """
        mm  | 1            | 3 | millimeter | millimetre+, millimeter+
        cm  | 10           | 4 | centimeter | centimetre+, centimeter+
        m   | 1000         | 6 | meter      | metre+, meter+
        µm  | 0.001        | 1 | micrometer | um, micron+, micrometre+, micrometer+
        nm  | 0.000001     | 0 | nanometer  | nanometre+, nanometer+
        in  | 25.4         | 4 | inch       | ", ″, ”, in., inch, inches
        ft  | 304.8        | 5 | foot       | foot, feet
        thou| 0.0254       | 1 | thou       | thous
        µin | 0.0000254    | 1 | microinch  | uin, microinch, microinches""",
    "pressure": """
        N/in² | 1                   | 1 | newton / inch ** 2 |
        bar   | 64.516              | 2 | bar | bars
        mbar  | 0.064516            | 1 | millibar |
        Pa    | 0.00064516          | 0 | pascal |
        kPa   | 0.64516             | 1 | kilopascal |
        MPa   | 645.16              | 3 | megapascal | N/mm²
        psi   | 4.4482216152605     | 1 | pound_force_per_square_inch | lbf/in², lb/in², lbf/sq in, lb/sq in
        kgf/cm² | 63.26858314     | 2 | force_kilogram / centimeter ** 2 |
        mmHg  | 0.0860142714646614  | 1 | millimeter_Hg | mm Hg
        inHg  | 2.18476249520239956 | 2 | inch_Hg | in Hg, in. Hg""",
    "temperature": """
        °C  | 9 | 1 | degree_Celsius    | C, degC, deg C, ° C, degrees C, degrees Celsius, Celsius
        °F  | 5 | 1 | degree_Fahrenheit | F, degF, deg F, ° F, degrees F, degrees Fahrenheit, Fahrenheit""",
    "temperature_difference": """
        K             | 9 | 1 | kelvin                  | kelvin+
        °C difference | 9 | 1 | delta_degree_Celsius    | C difference, °C diff, C diff
        °F difference | 5 | 1 | delta_degree_Fahrenheit | F difference, °F diff, F diff""",
    "torque": """
        N·m   | 1                  | 1 | newton * meter      | Nm, N m, N.m, newton metre, newton metres
        N·cm  | 0.01               | 1 | newton * centimeter | Ncm, N cm, N.cm
        N·mm  | 0.001              | 0 | newton * millimeter | Nmm, N mm, N.mm
        kN·m  | 1000               | 4 | kilonewton * meter  | kNm, kN m, kN.m
        lbf·ft| 1.3558179483314004 | 1 | force_pound * foot  | lb·ft, lbs·ft, ft·lb+, ft·lbf, lbft, ftlb
        lbf·in| 0.1129848290276167 | 1 | force_pound * inch  | lb·in, lbs·in, in·lb+, in·lbf, in.lb
        kgf·m | 9.80665            | 2 | force_kilogram * meter      | m·kgf
        kgf·cm| 0.0980665          | 1 | force_kilogram * centimeter | cm·kgf""",
    "force": """
        N   | 1               | 1 | newton         | newton+
        kN  | 1000            | 3 | kilonewton     | kilonewton+
        lbf | 4.4482216152605 | 1 | force_pound    |
        kgf | 9.80665         | 2 | force_kilogram |""",
    "mass": """
        g  | 1            | 1 | gram      | gram+, gramme+
        kg | 1000         | 3 | kilogram  | kilogram+
        mg | 0.001        | 0 | milligram | milligram+
        lb | 453.59237    | 3 | pound     | lbs, lbm, pound+
        oz | 28.349523125 | 2 | ounce     | ounce+""",
    "time": """
        s    | 1     | 0 | second | sec, secs, second+
        min  | 60    | 1 | minute | mins, minute+
        h    | 3600  | 1 | hour   | hr+, hour+
        days | 86400 | 1 | day    | day, d""",
    "angle": """
        °      | 3600 | 2 | degree    | deg, degree+
        arcmin | 60   | 1 | arcminute | arcminute+, arc minute, arc minutes, arc min, min of arc
        arcsec | 1    | 0 | arcsecond | arcsecond+, arc second, arc seconds, arc sec""",
    "volume": """
        mm³ | 1         | 0 | millimeter ** 3 | cu mm
        cm³ | 1000      | 2 | centimeter ** 3 | cc, ccm, cu cm, ml, mL, millilitre+, milliliter+
        l   | 1000000   | 3 | liter           | L, litre+, liter+, dm³
        in³ | 16387.064 | 3 | inch ** 3       | cu in, cu. in., cu.in., cu in., cubic inch, cubic inches""",
    "share": """
        % | 1 | 2 | percent | percent, per cent""",
    "rotational_speed": """
        rpm | 1 | 0 | revolutions_per_minute | RPM, r/min, rev/min, revs/min, min⁻¹""",
    "hardness_hrc": """
        HRC | 1 | 1 | hardness_hrc | Rockwell C""",
    "hardness_hb": """
        HB | 1 | 0 | hardness_hb | HBW, BHN, Brinell""",
    "hardness_hv": """
        HV | 1 | 0 | hardness_hv | Vickers""",
    "slope": """
        mm/m  | 3      | 3 | millimeter / meter | thou/in
        mm/mm | 3000   | 6 | millimeter / millimeter | m/m
        mm/100 mm | 30 | 4 | millimeter / decimeter | mm per 100 mm
        µm/m  | 0.003  | 0 | micrometer / meter |
        µm/mm | 3      | 3 | micrometer / millimeter |
        in/in | 3000   | 6 | inch / inch | inch/inch, in per in
        in/ft | 250    | 4 | inch / foot | inch/foot, in per ft, inch per foot
        thou/ft | 0.25 | 1 | thou / foot | thou per foot""",
    "count": """
        pieces | 1 | 0 | count | piece, pcs, pc, pc., pcs.""",
}

# What people type and this reader will not size: what the text may mean, and what to write for it.
_TWO_ENDS: Final = "write mm, in, ft or arcmin"
AMBIGUOUS: Final[Mapping[str, tuple[str, str]]] = {
    "mil": ("a thousandth of an inch, a millimetre or an angle", "write thou or mm"),
    "mils": ("thousandths of an inch, millimetres or an angle", "write thou or mm"),
    "'": ("a foot or a minute of arc", _TWO_ENDS),
    "\u2032": ("a foot or a minute of arc", _TWO_ENDS),
    "\u2019": ("a foot or a minute of arc", _TWO_ENDS),
    "''": ("an inch or a second of arc", "write in or arcsec"),
    "M": ("a metre, a minute or a million", "write m or min"),
    "kg/cm²": ("a force or a mass over an area", "write kgf/cm² or bar"),
    "kg·m": ("a torque or a mass times a length", "write kgf·m or N·m"),
    "m·kg": ("a torque or a mass times a length", "write kgf·m or N·m"),
    "kg·cm": ("a torque or a mass times a length", "write kgf·cm or N·m"),
    "fl·oz": ("a British or an American fluid ounce", "write cm³"),
    "pt": ("a British or an American pint", "write l or cm³"),
    "pint": ("a British or an American pint", "write l or cm³"),
    "pints": ("a British or an American pint", "write l or cm³"),
    "qt": ("a British or an American quart", "write l"),
    "quart": ("a British or an American quart", "write l"),
    "quarts": ("a British or an American quart", "write l"),
    "gal": ("a British or an American gallon", "write l"),
    "gallon": ("a British or an American gallon", "write l"),
    "gallons": ("a British or an American gallon", "write l"),
    "ton": ("a metric, a British or an American ton", "write kg or lb"),
    "tons": ("a metric, a British or an American ton", "write kg or lb"),
    "HR": ("one of several Rockwell scales", "write HRC for the C scale"),
}

_RADIAN: Final = ("a radian is not an exact decimal of a degree", "write the angle in °")
INEXACT: Final[Mapping[str, tuple[str, str]]] = {
    **dict.fromkeys(("rad", "radian", "radians", "mrad"), _RADIAN),
}

# Where the unit is a near miss for the dimension expected, what to write instead.
NEAR_MISSES: Final[Mapping[tuple[str, str], str]] = {
    ("lb", "force"): "write lbf if a force is meant",
    ("kg", "force"): "write kgf or N if a force is meant",
    ("g", "force"): "write N if a force is meant",
    ("lbf", "mass"): "write lb if a mass is meant",
    ("kgf", "mass"): "write kg if a mass is meant",
    ("°C", "temperature_difference"): "write K or °C difference for a difference",
    ("°F", "temperature_difference"): "write °F difference for a difference",
    ("K", "temperature"): "write °C or °F: K is read as a difference",
    ("°", "temperature"): "write °C or °F for a temperature",
    ("min", "angle"): "write arcmin for a minute of arc",
    ("arcmin", "time"): "write min for a minute of time",
}

_SAME: Final = str.maketrans({
    "µ": "u", "\u03bc": "u", "⋅": "·", "∙": "·", "•": "·", "*": "·", "\u00d7": "·",
    "-": "·", "\u2010": "·", "\u2011": "·",
    "²": "2", "³": "3", "^": None, "″": '"', "”": '"', "º": "°", "˚": "°", "℃": "°C", "℉": "°F",
})  # fmt: skip
_JOINTS: Final = re.compile(" *([·/]) *")
_GAPS: Final = re.compile(" +")


def plain_spelling(unit: str) -> str:
    """One spelling for all the ways to type a unit's mu, product dot, power, quotes and spaces."""
    return _GAPS.sub("·", _JOINTS.sub(r"\1", unit.translate(_SAME).strip(" ")))


def _rows() -> Iterator[tuple[Unit, list[str]]]:
    for dimension, block in _TABLE.items():
        for line in block.strip().splitlines():
            symbol, factor, places, pint, others = (cell.strip() for cell in line.split("|"))
            offset = Decimal(-160 if symbol == "°F" else 0)
            unit = Unit(symbol, dimension, Decimal(factor), offset, int(places), pint)
            yield unit, [symbol, *_spellings(others)]


def _spellings(cell: str) -> Iterator[str]:
    for spelling in filter(None, map(str.strip, cell.split(","))):
        yield spelling.removesuffix("+")
        if spelling.endswith("+"):
            yield f"{spelling[:-1]}s"


def _tables() -> tuple[dict[str, Unit], dict[str, Unit], dict[str, Unit]]:
    by_symbol, by_text, by_plain = {}, {}, {}
    for unit, spellings in _rows():
        by_symbol[unit.symbol] = unit
        for text in spellings:
            by_text[text] = by_plain[plain_spelling(text)] = unit
    return by_symbol, by_text, by_plain


_ALL: Final = _tables()
UNITS: Final[Mapping[str, Unit]] = _ALL[0]
"""Every unit under its symbol."""
SPELLINGS: Final[Mapping[str, Unit]] = _ALL[1]
"""Every unit under each of its spellings as people type them."""
PLAIN: Final[Mapping[str, Unit]] = _ALL[2]
"""Every unit under each `plain_spelling`."""


def offer(dimension: str) -> str:
    """A dimension and some units for it, as a phrase: `a length (mm, µm, in or thou)`."""
    noun, _, units = DIMENSIONS[dimension]
    return f"{noun} ({', '.join(units[:-1])} or {units[-1]})" if len(units) > 1 else f"{noun} ({units[0]})"
