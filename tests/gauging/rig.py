"""A bench of journals on which every operator has a dimension, gauged the whole way from typed readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from advisor.gauging import Gauged, gauge
from advisor.sheets.conditions import Outcome
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Purpose
from tests.decide import small

POSITIONS = ("front x", "front y", "rear x", "rear y")

OPERATORS = {
    "biggest": "largest",
    "least": "smallest",
    "middle": "mean",
    "oval": "out_of_round",
    "cone": "taper",
    "lost": "below_size",
    "gained": "above_size",
    "short": "short_of_new",
}
"""By dimension of a journal: its operator."""

_DIMENSIONS = "".join(
    f"  {name}: {{label: {name}, kinds: [shaft_journal], "
    f"quantity: {'share' if operator == 'short_of_new' else 'length'}, "
    f"formulas: [{{operator: {operator}, reading: diameter}}], sides: [at_most, at_least]}}\n"
    for name, operator in OPERATORS.items()
) + (
    "  least_play: {label: least play, kinds: [half_shell], quantity: length, formulas: [{operator: "
    "least_clearance, outer: {reading: bore}, inner: {reading: diameter, on: {runs_on: shaft_journal}}}], "
    "sides: [at_most, at_least]}\n"
)

LIMITS = {
    "biggest": "at_least: 59.980 mm, at_most: 60.010 mm",
    "least": "at_least: 59.950 mm, at_most: 60.000 mm",
    "middle": "at_least: 59.960 mm, at_most: 60.005 mm",
    "oval": "at_most: 0.020 mm",
    "cone": "at_least: 0.005 mm, at_most: 0.025 mm",
    "lost": "at_most: 0.050 mm",
    "gained": "at_most: 0.010 mm",
    "short": "at_most: 0.05 %",
}


@cache
def rules() -> RuleSet:
    """The small rule set with a dimension for every operator."""
    vocabulary = small.VOCABULARY.replace("dimensions:\n", f"dimensions:\n{_DIMENSIONS}")
    with TemporaryDirectory() as folder:
        return small.ruleset(Path(folder), vocabulary=vocabulary)


def limits(text: Mapping[str, str] = LIMITS) -> str:
    """Limits of a journal for reassembly, which are guarded, as lines of an engine sheet."""
    return "".join(
        f"      - {{dimension: {name}, purpose: reassembly, {each}}}\n" for name, each in text.items()
    )


def sheet(extra: str = "", *, steps: str = "-0.25 mm, -0.50 mm", stock: str = "0.05 mm") -> str:
    """The rig's engine sheet; `extra` holds further limits of a journal, as lines."""
    text = small.ENGINE.replace("    repair_sizes:\n", f"{extra}    repair_sizes:\n")
    text = text.replace("-0.25 mm, -0.50 mm", steps).replace("stock: 0.05 mm", f"stock: {stock}")
    return text.replace(
        "at_most: 0.120 mm, read_at: p. 5}",
        "at_most: 0.120 mm, read_at: p. 5}\n"
        "      - {dimension: least_play, purpose: reassembly, at_least: 0.020 mm, at_most: 0.100 mm}",
    )


def journal(place: int, values: Mapping[str, str], error: str = "0.003 mm") -> str:
    """The bench entry of one journal's diameters, by position, as they were typed."""
    typed = ", ".join(f"{position}: {text}" for position, text in values.items())
    return (
        f"  - {{part: shaft_journal, place: '{place}', readings: "
        f"{{diameter: {{limit_of_error: {error}, values: {{{typed}}}}}}}}}\n"
    )


def bore(place: str, text: str, error: str = "0.003 mm") -> str:
    """The bench entry of the bore of one half shell."""
    reading = f"{{limit_of_error: {error}, value: {text}}}"
    return f"  - {{part: half_shell, place: {place}, readings: {{bore: {reading}}}}}\n"


def gauged(entries: Sequence[str], engine: str, rest: str = "") -> Gauged:
    """What gauging makes of bench entries on an engine."""
    rule_set = rules()
    engine_sheet = small.engine(rule_set, engine)
    case, document = small.case("bench:\n" + "".join(entries) + rest)
    return gauge(lay_out(engine_sheet, case, rule_set, document), engine_sheet, rule_set)


FIRST_JOURNAL = 1
FIRST_SHELL = 4
"""Where the first journal and the first half shell lie on the rig's bench, behind the shaft."""


def outcomes(of: Gauged, item: int, purpose: Purpose = "reassembly") -> dict[str, frozenset[Outcome]]:
    """By dimension of an item: the outcomes that are possible against its limit."""
    return {name: each.standings[purpose].outcomes for name, each in of.dimensions[item].items()}


def mm(micrometres: int) -> str:
    """A length in mm, typed so finely that its digits add nothing."""
    return f"{Decimal(micrometres) / 1000:.6f} mm"
