"""A small invented engine in inches for checks on head, valves, valve train and camshaft: two cylinders.

Its sheet gives a maker's limit only where no handbook gives one, so that the handbook's limits serve. It is
built as an overhead-valve engine with push rods, or as an overhead-cam one with bucket followers.
"""

from __future__ import annotations

from functools import cache

import advisor
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import check_engine
from advisor.sheets.text import parse
from advisor.sheets.validate import validate
from advisor.verdicts.model import Decision, Verdict
from tests.outside.crank import even, of, rules, single

_COMMON = """
format: 1
ruleset: engine
engine: trial head with sizes in inches
units: inch
layout:
  fuel: diesel
  valve_gear: VALVE_GEAR
  block_material: cast_iron
  head_material: HEAD_MATERIAL
  liners: none
  cooling: COOLING
  charging: naturally_aspirated
  duty: ordinary
axes: {cylinder: 2, cam_bearing: 2}
parts:
  cylinder_head:
    made: {material: grey_iron}
    new: {head_height: 4.000 in}
    limits:
      - {dimension: head_out_of_flat, purpose: discard, at_most: 0.004 in}
      - {dimension: head_height_left, purpose: discard, at_least: 3.980 in}
      - {dimension: head_softening, purpose: discard, at_least: 80 HB}
      - {dimension: cam_bores_out_of_line, purpose: discard, at_most: 0.004 in}
  inlet_valve: &VALVE
  cam_journal:
    new: {cam_journal_diameter: 2.000 in}
    limits: [CAM_WEAR]
UNDERSIZES  camshaft:
    made: {material: chilled_iron}
    limits:
      - {dimension: camshaft_bend, purpose: discard, at_most: 0.002 in}
      - {dimension: cam_float, purpose: new, at_least: 0.002 in, at_most: 0.006 in}
  cam_lobe:
    new: {lobe_lift: 0.300 in}
    limits: [{dimension: lobe_lift_lost, purpose: discard, at_most: 0.010 in}]
  cam_thrust_plate: {}
"""


def _valves(filling: str, seat: str, guide: str, margin: str) -> str:
    text = ""
    thin = f"\n      - {{dimension: valve_margin, purpose: discard, at_least: {margin}}}" if margin else ""
    for side in ("inlet", "exhaust"):
        text += f"""
  {side}_valve:
    made: {{filling: {filling}}}
    new: {{valve_stem_diameter: 0.3400 in, valve_margin_height: 1/16 in, valve_length: 5.000 in}}
    limits:
      - {{dimension: valve_sunk, purpose: reassembly, at_most: 0.050 in}}
      - {{dimension: valve_sunk, purpose: discard, at_least: 0.010 in, at_most: 0.060 in}}
      - {{dimension: valve_face_out_of_true, purpose: discard, at_most: 0.002 in}}
      - {{dimension: stem_clearance, purpose: discard, at_most: 0.0045 in}}
      - {{dimension: valve_length_lost, purpose: discard, at_most: 0.020 in}}{thin}
  {side}_seat:
    made: {{construction: {seat}}}
    new: {{seat_contact_width: {"1/16 in" if side == "inlet" else "3/32 in"}}}
  {side}_guide:
    made: {{construction: {guide}}}
    new: {{guide_diameter: 0.3425 in}}
"""
    return (
        text
        + """
  valve_spring:
    new: {spring_free_length: 2.00 in, spring_load: 43.9 lbf}
  valve_collets: {}
"""
    )


_PUSH_RODS = """
  cam_bearing_bush:
    new: {cam_bush_diameter: 2.002 in}
    limits: [{dimension: cam_bush_wear, purpose: new, at_most: 0.001 in}]
  follower:
    made: {construction: FOLLOWER}
    new: {follower_diameter: 1.000 in}
  follower_bore: {}
  push_rod:
    new: {push_rod_length: 8.000 in}
  rocker_arm:
    new: {rocker_bore_diameter: 0.752 in}
    limits:
      - {dimension: rocker_clearance, purpose: discard, at_most: 0.005 in}
      - {dimension: lash_as_found, purpose: new, at_least: 0.010 in, at_most: 0.014 in}
  rocker_shaft:
    new: {rocker_shaft_diameter: 0.750 in}
  piston: {}
links:
"""
_BUCKETS = """
  head_cam_bore:
    new: {head_cam_bore_diameter: 2.002 in}
    limits: [{dimension: head_cam_clearance, purpose: discard, at_most: 0.005 in}]
  follower:
    made: {construction: bucket}
    new: {follower_diameter: 1.000 in}
  follower_bore: {}
links:
"""


def _pairs(relation: str, of: str, to: str, *, whole_side: str, reverse: bool = False) -> str:
    """The listed pairs of one relation between what stands at `1 inlet` and what stands at `1`."""
    pairs = ", ".join(
        f"{{of: {n}, to: {n} {whole_side}}}" if reverse else f"{{of: {n} {whole_side}, to: {n}}}"
        for n in (1, 2)
    )
    return f"  - {{relation: {relation}, of: {of}, to: {to}, pairs: [{pairs}]}}\n"


GRIND_CAM = "grind_cam_journals_undersize"


@cache
def engine(
    head_material: str = "cast_iron",
    valve_gear: str = "overhead_valve",
    cooling: str = "water",
    filling: str = "solid",
    seat: str = "insert",
    guide: str = "pressed_in",
    follower: str = "flat_face",
    cam_wear: str = "",
    margin: str = "",
    undersize: str = "",
) -> EngineSheet:
    """The trial engine, made as asked; `cam_wear` and `margin` are limits of its maker,
    and `undersize` lists the sizes to which its camshaft journals may be ground."""
    text = _COMMON.replace("  inlet_valve: &VALVE\n", _valves(filling, seat, guide, margin))
    text = text.replace("HEAD_MATERIAL", head_material).replace("VALVE_GEAR", valve_gear)
    text = text.replace("COOLING", cooling)
    wear = f"discard, at_most: {cam_wear}" if cam_wear else "new, at_most: 0.0005 in"
    text = text.replace("CAM_WEAR", f"{{dimension: cam_journal_wear, purpose: {wear}}}")
    sizes = f"steps: [{undersize}], stock: 0.002 in"
    ground = f"    repair_sizes:\n      - {{operation: {GRIND_CAM}, size: cam_journal_diameter, {sizes}}}\n"
    text = text.replace("UNDERSIZES", ground if undersize else "")
    overhead = valve_gear == "overhead_cam"
    text += _BUCKETS if overhead else _PUSH_RODS.replace("FOLLOWER", follower)
    lifter = "follower" if overhead else "rocker_arm"
    for side in ("inlet", "exhaust"):
        text += _pairs("closes", "valve_spring", f"{side}_valve", whole_side=side)
        text += _pairs("closed_by", f"{side}_valve", "valve_spring", whole_side=side, reverse=True)
        text += _pairs("drives", lifter, f"{side}_valve", whole_side=side)
        text += _pairs("driven_by", f"{side}_valve", lifter, whole_side=side, reverse=True)
    return check_engine(parse(text, "engine.yaml"), rules())


LINES = ("along_left", "along_right", "across_front", "across_rear", "diagonal_one", "diagonal_two")
THREE = ("top", "middle", "bottom")
FOUR = ("front upright", "front crosswise", "rear upright", "rear crosswise")

VALVE = [
    even("valve_stem_diameter", THREE, "0.3398 in"),
    single("valve_margin_height", "0.060 in"),
    single("valve_face_runout", "0.0005 in"),
    single("valve_recession", "0.040 in"),
    single("valve_length", "4.998 in"),
]

SOUND = {
    "cylinder_head": [
        even("head_gap", LINES, "0.001 in"),
        even("head_height", ("front", "rear"), "3.998 in"),
    ],
    "inlet_valve": VALVE,
    "exhaust_valve": VALVE,
    "inlet_seat": [single("seat_contact_width", "0.063 in"), single("seat_runout", "0.001 in")],
    "exhaust_seat": [single("seat_contact_width", "0.095 in"), single("seat_runout", "0.001 in")],
    "inlet_guide": [even("guide_diameter", THREE, "0.3428 in")],
    "exhaust_guide": [even("guide_diameter", THREE, "0.3428 in")],
    "valve_spring": [
        single("spring_free_length", "1.99 in"),
        single("spring_load", "43.5 lbf", "0.01 lbf"),
        single("spring_lean", "0.3 mm", "0.01 mm"),
    ],
    "camshaft": [single("camshaft_runout", "0.001 in"), single("cam_end_float", "0.005 in")],
    "cam_journal": [even("cam_journal_diameter", FOUR, "1.9998 in")],
    "cam_lobe": [single("lobe_lift", "0.299 in")],
    "cam_bearing_bush": [even("cam_bush_diameter", FOUR, "2.0022 in")],
    "head_cam_bore": [even("head_cam_bore_diameter", ("upright", "crosswise"), "2.0022 in")],
    "rocker_arm": [single("rocker_bore_diameter", "0.7525 in"), single("valve_lash", "0.012 in")],
    "rocker_shaft": [even("rocker_shaft_diameter", ("unworn_spot", "most_worn_spot"), "0.7498 in")],
}
"""What was measured on an engine with nothing wrong; all else was looked for and is not there."""


class Head:
    """A case under way: an engine with nothing wrong, and what is found on it instead."""

    def __init__(self, **made: str) -> None:
        self._sheet = engine(**made)
        self._lines: list[str] = []
        self._dropped: set[tuple[str, str]] = set()
        self._done = ""

    def found(self, part: str, place: str = "all", moment: str = "strip", **findings: str) -> Head:
        """Something seen on an item."""
        inner = ", ".join(f"{name}: {extent}" for name, extent in findings.items())
        self._lines.append(f'  - {{part: {part}, place: "{place}", moment: {moment}, findings: {{{inner}}}}}')
        return self

    def measured(self, part: str, place: str, *lines: str, moment: str = "clean") -> Head:
        """Readings of an item; those of a sound one stay where the moment is a later one."""
        self._lines.append(
            f'  - {{part: {part}, place: "{place}", moment: {moment}, readings: {{{", ".join(lines)}}}}}'
        )
        return self

    def instead(self, part: str, place: str, *lines: str, others: str = "") -> Head:
        """Readings in place of those of a sound engine; the items at `others` keep the sound ones."""
        self.measured(part, place, *lines)
        for line in lines:
            name = line.split(":")[0]
            self._dropped.add((part, name))
            if others:
                self.measured(part, others, *(each for each in SOUND[part] if each.startswith(f"{name}:")))
        return self

    def without(self, part: str, reading: str) -> Head:
        """Nobody measured it, on any item of this kind."""
        self._dropped.add((part, reading))
        return self

    def line(self, text: str) -> Head:
        """A bench entry as it is written."""
        self._lines.append(f"  - {text}")
        return self

    def done(self, text: str) -> Head:
        """Work carried out."""
        self._done += f"  - {text}\n"
        return self

    def decide(self) -> Decision:
        text = ["format: 1", "case: a trial", "engine_sheet: engine.yaml"]
        if self._sheet.parts["cam_journal"].repair_sizes:
            text.append("found_sizes: [{part: cam_journal, size: 0 mm, read_on: the new bushes}]")
        text.append("bench:")
        for kind in self._sheet.parts:
            if kind == "piston":
                continue
            text.append(f"  - {{part: {kind}, moment: strip, otherwise: none}}")
            kept = [line for line in SOUND.get(kind, []) if (kind, line.split(":")[0]) not in self._dropped]
            if kept:
                text.append(f"  - {{part: {kind}, place: all, readings: {{{', '.join(kept)}}}}}")
        text += self._lines
        whole = "\n".join(text) + "\n" + (f"done:\n{self._done}" if self._done else "")
        document = parse(whole, "case.yaml")
        return advisor.decide(validate(CaseSheet, document), self._sheet, rules(), document=document)


def tasks(verdict: Verdict) -> set[str]:
    """The tasks that go with a verdict."""
    return {task.task for task in verdict.tasks}


def work(verdict: Verdict) -> list[str]:
    """The work that a verdict orders."""
    return [each.operation for each in verdict.operations]


def order(verdict: Verdict) -> str:
    """All that the orders of a verdict say."""
    return " ".join(line for each in verdict.operations for line in (*each.steps, *each.checks))


def stands(decision: Decision, part: str, place: str = "") -> tuple[str, str]:
    """Verdict and ground of one item."""
    verdict = of(decision, part, place)
    return verdict.verdict, verdict.ground
