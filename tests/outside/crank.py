"""A small invented engine in inches for checks against published figures: two cylinders, three mains.

Its sheet gives a maker's limit only where no handbook gives one, so that the handbook's limits serve.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import advisor
from advisor.gauging import gauge
from advisor.sheets.case import CaseSheet
from advisor.sheets.conditions import Outcome
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import check_engine
from advisor.sheets.laying import lay_out
from advisor.sheets.places import Document
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import parse
from advisor.sheets.validate import validate
from advisor.sheets.vocabulary import Purpose
from advisor.verdicts.model import Decision, Verdict

RULESET = Path(__file__).resolve().parents[2] / "rulesets" / "engine"

SHEET = """
format: 1
ruleset: engine
engine: trial engine with sizes in inches
units: inch
layout:
  fuel: diesel
  valve_gear: overhead_valve
  block_material: cast_iron
  head_material: cast_iron
  liners: none
  cooling: water
  charging: naturally_aspirated
  duty: ordinary
axes: {cylinder: 2, main: 3}
parts:
  crankshaft:
    made: {material: forged_steel, treatment: TREATMENT, fillets: ground}
    new: {main_journal_diameter: 2.500 in}
    limits:
      - {dimension: shaft_run_out, purpose: discard, at_most: 0.003 in}
      - {dimension: end_play, purpose: new, at_least: 0.004 in, at_most: 0.008 in}
  main_journal:
    new: {journal_diameter: 2.500 in, journal_length: 1.250 in}
    limits:
      - {dimension: journal_wear, purpose: discard, at_most: 0.003 in}
      - {dimension: journal_taper, purpose: new, at_most: 0.0004 in}
      - {dimension: main_clearance, purpose: new, at_most: 0.0035 in}
      - {dimension: least_main_clearance, purpose: new, at_least: 0.0015 in}
    repair_sizes:
      - operation: grind_main_journals
        size: journal_diameter
        steps: [-0.010 in, -0.020 in, -0.030 in]
        stock: 0.002 in
  crank_pin:
    new: {journal_diameter: 2.375 in, journal_length: 1.500 in}
    limits:
      - {dimension: journal_wear, purpose: discard, at_most: 0.003 in}
      - {dimension: journal_taper, purpose: new, at_most: 0.0004 in}
      - {dimension: big_end_clearance, purpose: new, at_most: 0.0035 in}
      - {dimension: least_big_end_clearance, purpose: new, at_least: 0.0015 in}
    repair_sizes:
      - operation: grind_crank_pins
        size: journal_diameter
        steps: [-0.010 in, -0.020 in, -0.030 in]
        stock: 0.002 in
  thrust_face: {}
  main_shell:
    new: {shell_wall: 0.0900 in}
    limits: [{dimension: shell_wear, purpose: discard, at_most: 0.001 in}]
  big_end_shell:
    new: {shell_wall: 0.0700 in}
    limits: [{dimension: shell_wear, purpose: discard, at_most: 0.001 in}]
  thrust_washer:
    new: {washer_thickness: 0.0930 in}
  connecting_rod:
    made: {cap_joint: CAP_JOINT, material: forged_steel}
    new: {housing_bore: 2.5170 in, housing_width: 1.400 in}
    limits:
      - {dimension: housing_wear, purpose: discard, at_most: 0.0015 in}
      - {dimension: housing_out_of_round, purpose: discard, at_most: 0.0020 in}
      - {dimension: housing_taper, purpose: discard, at_most: 0.0010 in}
  rod_bolt:
    made: {tightening: torque}
    new: {bolt_length: 2.500 in}
    limits: [{dimension: bolt_stretch, purpose: discard, at_most: 0.003 in}]
  main_cap_bolt:
    made: {tightening: TIGHTENING}
    new: {bolt_length: 4.000 in}
    limits: [{dimension: bolt_stretch, purpose: discard, at_most: 0.005 in}]
  main_bore:
    new: {housing_bore: 2.6820 in, housing_width: 1.200 in}
    limits:
      - {dimension: housing_wear, purpose: discard, at_most: 0.0015 in}
      - {dimension: housing_out_of_round, purpose: discard, at_most: 0.0020 in}
      - {dimension: bore_out_of_line, purpose: discard, at_most: 0.004 in}
      - {dimension: bore_out_of_line_adjacent, purpose: discard, at_most: 0.002 in}
  seal_track: {}
  crank_oil_seal: {}
  crank_gallery_plug: {made: {fixing: screwed}}
  bolt_lock: {}
  oil_pump:
    limits:
      - {dimension: rotor_end_clearance, purpose: discard, at_most: 0.005 in}
      - {dimension: rotor_tip_clearance, purpose: discard, at_most: 0.010 in}
      - {dimension: rotor_body_clearance, purpose: discard, at_most: 0.015 in}
      - {dimension: pressure_at_speed, purpose: discard, at_least: 35 psi}
      - {dimension: pressure_at_idle, purpose: discard, at_least: 12 psi}
"""

ERROR = "limit_of_error: 0.00002 in"
"""A better instrument than a shop has, so that a check hangs on the limit and not on the instrument."""

JOURNAL = tuple(
    f"{section} {direction}"
    for section in ("front", "middle", "rear")
    for direction in ("vertical", "horizontal")
)
"""The positions of a full set of readings on a journal."""

STRIP = ("widest", "narrowest")
"""The places at which a crushed strip is read."""


@cache
def rules() -> RuleSet:
    """The rule set that comes with the program, as it lies in the tree."""
    return advisor.load_rules(RULESET)


@cache
def engine(
    treatment: str = "none",
    cap_joint: str = "machined",
    tightening: str = "torque",
    pin_length: str = "",
    pin: str = "",
    shaft: str = "",
    part: str = "",
    limit: str = "",
) -> EngineSheet:
    """The trial engine, made as asked.

    With a length of its pins, its maker gives no limit of their taper either; with a diameter of its shaft,
    none of the end float. `pin` is the diameter of its pins. `limit` is one more limit that the maker gives
    for `part`; a part whose own limit is to go is named with an empty `limit`.
    """
    text = SHEET.replace("TREATMENT", treatment)
    text = text.replace("CAP_JOINT", cap_joint).replace("TIGHTENING", tightening)
    if pin:
        text = text.replace("journal_diameter: 2.375 in", f"journal_diameter: {pin}")
    if shaft:
        text = text.replace("main_journal_diameter: 2.500 in", f"main_journal_diameter: {shaft}")
        text = text.replace(
            "      - {dimension: end_play, purpose: new, at_least: 0.004 in, at_most: 0.008 in}\n", ""
        )
    if pin_length:
        text = text.replace("journal_length: 1.500 in", f"journal_length: {pin_length}")
        text = text.replace("      - {dimension: journal_taper, purpose: new, at_most: 0.0004 in}\n", "")
    if limit:
        before, mark, after = text.partition(f"\n  {part}:\n")
        text = before + mark + after.replace("    limits:\n", f"    limits:\n      - {limit}\n", 1)
    elif part:
        before, mark, after = text.partition(f"\n  {part}:\n")
        kept = [line for line in after.split("\n") if "bolt_stretch" not in line]
        text = before + mark + "\n".join(kept)
    return check_engine(parse(text, "engine.yaml"), rules())


def readings(name: str, values: dict[str, str]) -> str:
    """The readings of one kind, one for each position, as a line of a case."""
    inner = ", ".join(f"{position}: {value}" for position, value in values.items())
    return f"{name}: {{{ERROR}, values: {{{inner}}}}}"


def single(name: str, value: str, error: str = "0.00002 in") -> str:
    return f"{name}: {{limit_of_error: {error}, value: {value}}}"


def even(name: str, positions: tuple[str, ...], value: str) -> str:
    return readings(name, dict.fromkeys(positions, value))


BORE = tuple(
    f"{section} {direction}"
    for section in ("front", "rear")
    for direction in ("vertical", "diagonal_left", "diagonal_right", "horizontal")
)

KINDS = [
    "crankshaft",
    "main_journal",
    "crank_pin",
    "thrust_face",
    "main_shell",
    "big_end_shell",
    "thrust_washer",
    "connecting_rod",
    "rod_bolt",
    "main_cap_bolt",
    "main_bore",
    "seal_track",
    "crank_oil_seal",
    "crank_gallery_plug",
    "bolt_lock",
    "oil_pump",
]

SOUND = {
    "crankshaft": [single("run_out", "0.001 in"), single("end_float", "0.006 in")],
    "main_journal": [
        even("journal_diameter", JOURNAL, "2.4995 in"),
        even("plastic_strip", STRIP, "0.0025 in"),
    ],
    "crank_pin": [even("journal_diameter", JOURNAL, "2.3745 in"), even("plastic_strip", STRIP, "0.0025 in")],
    "main_shell": [single("shell_wall", "0.0899 in")],
    "big_end_shell": [single("shell_wall", "0.0699 in")],
    "thrust_washer": [single("washer_thickness", "0.0928 in")],
    "connecting_rod": [
        single("rod_bend", "0.0002 in/in", "0.00001 in/in"),
        single("rod_twist", "0.0002 in/in", "0.00001 in/in"),
        even("housing_bore", BORE, "2.5172 in"),
    ],
    "rod_bolt": [single("bolt_length", "2.501 in")],
    "main_cap_bolt": [single("bolt_length", "4.001 in")],
    "main_bore": [
        even("housing_bore", BORE, "2.6822 in"),
        single("bore_line_overall", "0.001 in"),
        single("bore_step_adjacent", "0.0005 in"),
    ],
    "oil_pump": [
        single("rotor_end_gap", "0.003 in"),
        single("rotor_tip_gap", "0.006 in"),
        single("rotor_body_gap", "0.008 in"),
        single("oil_pressure", "50 psi", "1 psi"),
        single("oil_pressure_idle", "20 psi", "1 psi"),
    ],
}
"""What was measured on an engine with nothing wrong; all else was looked for and is not there."""


def _entry(part: str, place: str, rest: str) -> str:
    # Quoted, because a place may hold commas.
    return f'  - {{part: {part}, place: "{place}", {rest}}}'


class Bench:
    """A case under way: an engine with nothing wrong, and what is found on it instead."""

    def __init__(self, **made: str) -> None:
        self._made = made
        self._lines: list[str] = []
        self._dropped: set[tuple[str, str]] = set()
        self._extra = ""

    def found(self, part: str, place: str = "all", moment: str = "strip", **findings: str) -> Bench:
        """Something seen on an item."""
        inner = ", ".join(f"{name}: {extent}" for name, extent in findings.items())
        self._lines.append(_entry(part, place, f"moment: {moment}, findings: {{{inner}}}"))
        return self

    def measured(self, part: str, place: str, *lines: str) -> Bench:
        """Readings in place of those of a sound engine."""
        self._lines.append(_entry(part, place, f"readings: {{{', '.join(lines)}}}"))
        for line in lines:
            self._dropped.add((part, line.split(":")[0]))
        return self

    def without(self, part: str, reading: str) -> Bench:
        """Nobody measured it, on any item of this kind."""
        self._dropped.add((part, reading))
        return self

    def sound(self, part: str, place: str, reading: str) -> Bench:
        """The sound engine's reading again, on items that `measured` or `without` left bare."""
        line = next(line for line in SOUND[part] if line.startswith(f"{reading}:"))
        self._lines.append(_entry(part, place, f"readings: {{{line}}}"))
        return self

    def more(self, text: str) -> Bench:
        """Further sections of the case."""
        self._extra += text
        return self

    def line(self, text: str) -> Bench:
        """A bench entry as it is written."""
        self._lines.append(f"  - {text}")
        return self

    def decide(self) -> Decision:
        document, case = self._case()
        return advisor.decide(case, engine(**self._made), rules(), document=document)

    def outcomes(self, part: str, place: str, dimension: str, purpose: Purpose) -> frozenset[Outcome]:
        """Where a dimension stands against a limit, as gauging has it."""
        document, case = self._case()
        bench = lay_out(engine(**self._made), case, rules(), document)
        gauged = gauge(bench, engine(**self._made), rules())
        (index,) = [
            number
            for number, item in enumerate(bench.items)
            if (item.key.kind, item.key.where) == (part, place)
        ]
        return gauged.dimensions[index][dimension].standings[purpose].outcomes

    def _case(self) -> tuple[Document, CaseSheet]:
        text = ["format: 1", "case: a trial", "engine_sheet: engine.yaml", "found_sizes:"]
        for kind in ("main_journal", "crank_pin"):
            text.append(f"  - {{part: {kind}, size: 0 mm, read_on: the backs of its shells}}")
        text.append("bench:")
        for kind in KINDS:
            kept = [line for line in SOUND.get(kind, []) if (kind, line.split(":")[0]) not in self._dropped]
            text.append(f"  - {{part: {kind}, moment: strip, otherwise: none}}")
            if kept:
                text.append(f"  - {{part: {kind}, place: all, readings: {{{', '.join(kept)}}}}}")
        text += self._lines
        document = parse("\n".join(text) + "\n" + self._extra, "case.yaml")
        return document, validate(CaseSheet, document)


def of(decision: Decision, part: str, place: str = "") -> Verdict:
    """The verdict on one item."""
    return next(each for each in decision.verdicts if (each.part, each.place) == (part, place))


def because(verdict: Verdict) -> set[str]:
    """The rules that carry a verdict."""
    return {reason.rule for reason in verdict.reasons if reason.rule}


def asked(verdict: Verdict) -> set[tuple[str, str, str]]:
    """What a verdict waits for: part, place and the finding or dimension."""
    return {(ask.part, ask.place, ask.reading) for ask in verdict.asks}


def fired(decision: Decision, *, certain: bool = True) -> set[tuple[str, str, str]]:
    """Rules that fired, each with the part and place that it fired on."""
    return {(step.rule, step.part, step.place) for step in decision.steps if step.certain == certain}
