"""A small invented engine for checks on all that hangs round the crankcase: two cylinders, two main bearings.

It has a gear train, a chain and a belt at once, a carburettor beside its injectors, and a turbocharger, so
that one sheet serves for every part. Its maker gives a limit for whatever is measured, as no handbook does.
"""

from __future__ import annotations

import re
from functools import cache

import advisor
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import check_engine
from advisor.sheets.text import parse
from advisor.sheets.validate import validate
from advisor.verdicts.model import Decision, Verdict
from tests.outside.crank import rules

SHEET = """
format: 1
ruleset: engine
engine: trial engine with everything that hangs on one
units: mm
layout:
  fuel: diesel
  valve_gear: overhead_valve
  block_material: cast_iron
  head_material: cast_iron
  liners: none
  cooling: water
  charging: turbocharged
  duty: ordinary
axes: {cylinder: 2, main: 2}
parts:
  crankshaft: {made: {material: forged_steel, treatment: none, fillets: ground}}
  main_shell: {}
  big_end_shell: {}
  main_bore: {}
  crank_oil_seal: {}
  seal_track: {}
  cylinder_block: {made: {material: grey_iron}}
  cylinder_bore: {}
  cylinder_head: {}
  deck_face: {}
  piston: {}
  piston_cooling_jet: {}
  inlet_valve: {}
  exhaust_valve: {}
  timing_gear:
    limits:
      - {dimension: backlash, purpose: discard, at_most: 0.35 mm}
      - {dimension: least_backlash, purpose: discard, at_least: 0.05 mm}
      - {dimension: backlash_spread, purpose: discard, at_most: 0.10 mm}
  accessory_gear:
    limits: [{dimension: accessory_backlash, purpose: discard, at_most: 0.35 mm}]
  accessory_bush:
    limits: [{dimension: accessory_bush_clearance, purpose: discard, at_most: 0.12 mm}]
  idler_bush:
    new: {idler_bush_diameter: 35.050 mm}
    limits:
      - {dimension: idler_clearance, purpose: discard, at_most: 0.130 mm}
      - {dimension: least_idler_clearance, purpose: discard, at_least: 0.030 mm}
      - {dimension: idler_end_float, purpose: discard, at_most: 0.45 mm}
  idler_shaft:
    new: {idler_shaft_diameter: 35.000 mm}
    limits: [{dimension: idler_shaft_wear, purpose: discard, at_most: 0.050 mm}]
  balance_shaft: {}
  timing_chain:
    new: {chain_length: 150.0 mm}
    limits: [{dimension: chain_elongation, purpose: discard, at_most: 1.5 mm}]
  timing_sprocket: {}
  chain_tensioner: {}
  chain_guide: {}
  timing_belt: {}
  belt_tensioner: {}
  drive_belt: {}
  flywheel:
    made: {construction: FLYWHEEL}
    limits: [{dimension: flywheel_face_out_of_true, purpose: discard, at_most: 0.25 mm}]
  ring_gear: {}
  torsional_damper:
    made: {construction: DAMPER}
    limits: [{dimension: damper_rim_out_of_true, purpose: discard, at_most: 0.60 mm}]
  oil_pump:
    limits:
      - {dimension: rotor_end_clearance, purpose: discard, at_most: 0.13 mm}
      - {dimension: rotor_tip_clearance, purpose: discard, at_most: 0.25 mm}
      - {dimension: rotor_body_clearance, purpose: discard, at_most: 0.38 mm}
      - {dimension: pressure_at_speed, purpose: discard, at_least: 2.5 bar}
      - {dimension: pressure_at_idle, purpose: discard, at_least: 0.9 bar}
  relief_valve:
    new: {relief_spring_length: 52.0 mm}
    limits:
      - {dimension: relief_spring_shortening, purpose: discard, at_most: 2.0 mm}
      - {dimension: relief_opens_at, purpose: discard, at_least: 3.8 bar, at_most: 5.5 bar}
  oil_strainer: {}
  oil_filter: {}
  oil_cooler: {}
  water_pump:
    limits: [{dimension: water_pump_play, purpose: discard, at_most: 0.30 mm}]
  thermostat:
    limits: [{dimension: thermostat_opens_at, purpose: discard, at_least: 77 °C, at_most: 87 °C}]
  coolant_hose: {}
  sump:
    made: {material: SUMP}
    limits: [{dimension: cover_out_of_flat, purpose: discard, at_most: 0.15 mm}]
  engine_cover:
    made: {material: aluminium}
    limits: [{dimension: cover_out_of_flat, purpose: discard, at_most: 0.15 mm}]
  spacer_plate:
    limits:
      - {dimension: cover_out_of_flat, purpose: discard, at_most: 0.15 mm}
      - {dimension: plate_unevenness, purpose: discard, at_most: 0.10 mm}
  head_gasket: {}
  gasket_set: {}
  lip_seal: {}
  sealing_washer: {}
  locking_hardware: {}
  fastener_set: {}
  flywheel_bolt: {made: {tightening: TIGHTENING}}
  head_bolt:
    made: {tightening: TIGHTENING}
    new: {head_bolt_length: 120.0 mm}
    limits:
      - {dimension: head_bolt_stretch, purpose: discard, at_most: 0.50 mm}
      - {dimension: loosening_torque, purpose: discard, at_least: 60 N·m}
  manifold:
    limits: [{dimension: manifold_out_of_flat, purpose: discard, at_most: 0.25 mm}]
  turbocharger:
    limits:
      - {dimension: turbo_radial, purpose: discard, at_most: 0.60 mm}
      - {dimension: turbo_axial, purpose: discard, at_most: 0.10 mm}
  charge_air_cooler: {}
  air_filter: {}
  injector:
    limits:
      - {dimension: injector_opens_at, purpose: discard, at_least: 215 bar, at_most: 250 bar}
      - {dimension: injector_leak_back, purpose: discard, at_most: 50 bar}
      - {dimension: nozzle_protrusion, purpose: new, at_least: 2.3 mm, at_most: 2.7 mm}
  injection_pump: {}
  fuel_lift_pump: {}
  fuel_filter: {}
  carburettor: {}
  spark_plug: {}
  ignition_unit: {}
links:
  - relation: fits_in
    of: idler_bush
    to: timing_gear
    pairs: [{of: "", to: idler}]
  - relation: houses
    of: timing_gear
    to: idler_bush
    pairs: [{of: idler, to: ""}]
  - relation: meshes_with
    of: timing_gear
    to: timing_gear
    pairs: [{of: crank, to: idler}, {of: idler, to: crank}, {of: idler, to: cam}, {of: cam, to: idler}]
"""


def one(name: str, value: str, error: str) -> str:
    """A reading with the error of its instrument, as a line of a case."""
    return f"{name}: {{limit_of_error: {error}, value: {value}}}"


def many(name: str, error: str, value: str, positions: tuple[str, ...], **other: str) -> str:
    """A reading at several positions, all alike save those given by name."""
    inner = ", ".join(f"{each}: {other.get(each.replace(' ', '_'), value)}" for each in positions)
    return f"{name}: {{limit_of_error: {error}, values: {{{inner}}}}}"


SPOTS = ("first_spot", "second_spot", "third_spot")
ROUND = ("front upright", "front crosswise", "rear upright", "rear crosswise")
RUNS = ("first_run", "second_run", "third_run")
CORNERS = ("first_corner", "second_corner", "third_corner", "fourth_corner")

SOUND: dict[str, list[str]] = {
    "timing_gear": [many("gear_backlash", "0.002 mm", "0.15 mm", SPOTS)],
    "accessory_gear": [many("accessory_gear_backlash", "0.002 mm", "0.15 mm", SPOTS)],
    "accessory_bush": [one("accessory_bush_play", "0.05 mm", "0.002 mm")],
    "idler_bush": [
        many("idler_bush_diameter", "0.001 mm", "35.060 mm", ROUND),
        one("idler_end_float_reading", "0.20 mm", "0.01 mm"),
    ],
    "idler_shaft": [many("idler_shaft_diameter", "0.001 mm", "34.995 mm", ROUND)],
    "timing_chain": [many("chain_length", "0.02 mm", "150.3 mm", RUNS)],
    "flywheel": [one("flywheel_face_runout", "0.05 mm", "0.01 mm")],
    "torsional_damper": [one("damper_runout", "0.20 mm", "0.01 mm")],
    "oil_pump": [
        one("rotor_end_gap", "0.06 mm", "0.005 mm"),
        one("rotor_tip_gap", "0.12 mm", "0.005 mm"),
        one("rotor_body_gap", "0.20 mm", "0.005 mm"),
        one("oil_pressure", "3.8 bar", "0.05 bar"),
        one("oil_pressure_idle", "1.5 bar", "0.05 bar"),
    ],
    "relief_valve": [
        one("relief_spring_length", "51.8 mm", "0.02 mm"),
        one("relief_opening_pressure", "4.6 bar", "0.05 bar"),
    ],
    "water_pump": [one("water_pump_shaft_play", "0.08 mm", "0.01 mm")],
    "thermostat": [one("thermostat_opening", "82 °C", "0.5 K")],
    "spacer_plate": [
        many("plate_thickness", "0.002 mm", "12.00 mm", CORNERS),
        one("cover_gap", "0.05 mm", "0.01 mm"),
    ],
    "sump": [one("cover_gap", "0.05 mm", "0.01 mm")],
    "engine_cover": [one("cover_gap", "0.05 mm", "0.01 mm")],
    "head_bolt": [
        one("head_bolt_length", "120.10 mm", "0.02 mm"),
        one("head_bolt_breakaway", "90 N·m", "4 N·m"),
    ],
    "manifold": [one("manifold_gap", "0.05 mm", "0.01 mm")],
    "turbocharger": [
        one("turbo_radial_play", "0.35 mm", "0.01 mm"),
        one("turbo_axial_play", "0.05 mm", "0.005 mm"),
    ],
    "injector": [
        one("opening_pressure", "238 bar", "1 bar"),
        one("leak_back", "16 bar", "1 bar"),
        one("nozzle_stand_out", "2.5 mm", "0.02 mm"),
    ],
}
"""What was measured on an engine with nothing wrong; all else was looked for and is not there."""

KINDS = re.findall(r"^  (\w+):", SHEET.partition("parts:")[2].partition("links:")[0], re.MULTILINE)

OWN = KINDS[KINDS.index("timing_gear") :]
"""The kinds that these checks are about; those before them only lend what they are linked to."""


@cache
def engine(
    flywheel: str = "solid",
    damper: str = "bonded_rubber",
    sump: str = "sheet_steel",
    tightening: str = "torque",
) -> EngineSheet:
    """The trial engine, made as asked."""
    text = SHEET
    made = {"FLYWHEEL": flywheel, "DAMPER": damper, "SUMP": sump, "TIGHTENING": tightening}
    for word, value in made.items():
        text = text.replace(word, value)
    return check_engine(parse(text, "engine.yaml"), rules())


class Round:
    """A case under way: an engine with nothing wrong, and what is found on it instead."""

    def __init__(self, **made: str) -> None:
        self._made = made
        self._lines: list[str] = []
        self._replaced: set[str] = set()

    def found(self, part: str, place: str = "all", moment: str = "strip", **findings: str) -> Round:
        """Something seen on an item."""
        inner = ", ".join(f"{name}: {extent}" for name, extent in findings.items())
        self._lines.append(f'  - {{part: {part}, place: "{place}", moment: {moment}, findings: {{{inner}}}}}')
        return self

    def measured(self, part: str, *lines: str) -> Round:
        """Readings in place of those of a sound engine, on every item of the kind."""
        self._lines.append(f"  - {{part: {part}, place: all, readings: {{{', '.join(lines)}}}}}")
        self._replaced |= {f"{part} {line.split(':')[0]}" for line in lines}
        return self

    def line(self, text: str) -> Round:
        """A bench entry as it is written."""
        self._lines.append(f"  - {text}")
        return self

    def unmeasured(self, part: str, *readings: str) -> Round:
        """Nobody measured it."""
        self._replaced |= {f"{part} {name}" for name in readings}
        return self

    def decide(self) -> Decision:
        text = ["format: 1", "case: a trial", "engine_sheet: engine.yaml", "bench:"]
        for kind in KINDS:
            text.append(f"  - {{part: {kind}, moment: strip, otherwise: none}}")
            kept = [
                line for line in SOUND.get(kind, []) if f"{kind} {line.split(':')[0]}" not in self._replaced
            ]
            if kept:
                text.append(f"  - {{part: {kind}, place: all, readings: {{{', '.join(kept)}}}}}")
        document = parse("\n".join(text + self._lines) + "\n", "case.yaml")
        case = validate(CaseSheet, document)
        return advisor.decide(case, engine(**self._made), rules(), document=document)


def tasks(verdict: Verdict) -> set[str]:
    """What has to be done when it goes back."""
    return {task.task for task in verdict.tasks}


def work(verdict: Verdict) -> list[str]:
    """The operations chosen."""
    return [each.operation for each in verdict.operations]


def causes(decision: Decision) -> set[str]:
    """Causes that are certain."""
    return {each.concern for each in decision.causes if each.certain}
