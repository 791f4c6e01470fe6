"""A small invented engine in inches for checks on block, bores, liners, pistons, rings and pins.

Its sheet gives a maker's limit only where no handbook gives one, so that the handbook's limits serve.
"""

from __future__ import annotations

from functools import cache

import advisor
from advisor.gauging import gauge
from advisor.sheets.case import CaseSheet
from advisor.sheets.conditions import Outcome
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import check_engine
from advisor.sheets.laying import lay_out
from advisor.sheets.places import Document
from advisor.sheets.text import parse
from advisor.sheets.validate import validate
from advisor.sheets.vocabulary import Purpose
from advisor.verdicts.model import Decision
from tests.outside.crank import BORE as HOUSING
from tests.outside.crank import even, readings, rules, single

HEAD = """
format: 1
ruleset: engine
engine: trial engine for bores, with sizes in inches
units: inch
layout:
  fuel: FUEL
  valve_gear: overhead_valve
  block_material: BLOCK
  head_material: cast_iron
  liners: none
  cooling: COOLING
  charging: naturally_aspirated
  duty: ordinary
axes: {cylinder: COUNT, main: 2, cam_bearing: 2}
parts:
  cylinder_block:
    made: {material: grey_iron}
    limits: [{dimension: block_softening, purpose: discard, at_least: 80 HB}]
  deck_face:
    new: {deck_height: 12.000 in}
    limits:
      - {dimension: deck_out_of_flat, purpose: discard, at_most: 0.004 in}
      - {dimension: deck_height_left, purpose: discard, at_least: 11.980 in}
  core_plug: {}
  piston_cooling_jet: {}
  cam_bore:
    new: {cam_bore_diameter: 2.0000 in}
    limits: [{dimension: cam_bore_wear, purpose: discard, at_most: 0.0020 in}]
  cam_bearing_bush: {new: {cam_bush_diameter: 1.9000 in}}
  main_bore:
    new: {housing_bore: 2.6820 in, housing_width: 1.200 in}
    limits:
      - {dimension: housing_wear, purpose: discard, at_most: 0.0015 in}
      - {dimension: housing_out_of_round, purpose: discard, at_most: 0.0020 in}
      - {dimension: bore_out_of_line, purpose: discard, at_most: 0.004 in}
  main_shell: {new: {shell_wall: 0.0900 in}}
  big_end_shell: {new: {shell_wall: 0.0700 in}}
  connecting_rod:
    made: {cap_joint: machined, material: forged_steel}
    new: {housing_bore: 2.5170 in, housing_width: 1.400 in}
    limits:
      - {dimension: housing_wear, purpose: discard, at_most: 0.0015 in}
      - {dimension: housing_out_of_round, purpose: discard, at_most: 0.0020 in}
  sump: {}
  cylinder_head: {made: {material: grey_iron}, new: {head_height: 3.500 in}}
  head_gasket: {}
"""

IN_BLOCK = """
  cylinder_bore:
    made: {construction: parent_metal, surface: SURFACE}
    new: {cylinder_diameter: CYLINDER, piston_travel: 4.500 in}
    limits: [{dimension: bore_out_of_round, purpose: discard, at_most: 0.0030 in}]
"""

STEPS = """
    repair_sizes:
      - operation: bore_oversize
        size: cylinder_diameter
        steps: [0.020 in, 0.040 in]
        stock: 0.003 in
"""

WET = """
  wet_liner:
    made: {surface: SURFACE}
    new: {cylinder_diameter: CYLINDER, piston_travel: 4.500 in, liner_flange_thickness: 0.400 in}
    limits:
      - {dimension: bore_out_of_round, purpose: discard, at_most: 0.0030 in}
      - {dimension: liner_stand_out, purpose: discard, at_least: 0.001 in, at_most: 0.006 in}
      - {dimension: liner_stand_out_spread, purpose: discard, at_most: 0.002 in}
      - {dimension: liner_flange_left, purpose: discard, at_least: 0.395 in}
  liner_counterbore:
    new: {counterbore_depth: 0.398 in}
    limits: [{dimension: counterbore_depth_now, purpose: discard, at_most: 0.420 in}]
  liner_seal: {}
"""

PISTONS = """
  piston:
    made: {material: aluminium}
    new: {piston_diameter: 3.9950 in, pin_bore_diameter: 1.2500 in}
    limits:
      - {dimension: piston_clearance, purpose: discard, at_most: CLEARANCE}
      - {dimension: pin_fit_in_piston, purpose: discard, at_most: 0.0025 in}
      - {dimension: groove_clearance, purpose: discard, at_most: 0.006 in}
      - {dimension: piston_tilt, purpose: discard, at_most: 0.004 in}
  piston_ring_set:
    made: {facing: FACING}
    new: {ring_bore: CYLINDER}
    limits: [{dimension: ring_side_clearance, purpose: discard, at_most: 0.006 in}]
  piston_pin: {made: {fit: floating}, new: {piston_pin_diameter: 1.2498 in}}
  pin_circlip: {}
  small_end_bush:
    new: {small_end_diameter: 1.2505 in}
    limits: [{dimension: pin_fit_in_rod, purpose: discard, at_most: 0.0040 in}]
"""

INJECTORS = "  injector: {}\n"

CYLINDER = tuple(
    f"{section} {direction}"
    for section in ("top_of_ring_travel", "middle", "bottom_of_ring_travel")
    for direction in ("along", "across")
)
PIN = tuple(f"{section} {way}" for section in ("front", "middle", "rear") for way in ("upright", "crosswise"))
BUSH = tuple(f"{section} {way}" for section in ("front", "rear") for way in ("upright", "crosswise"))
BOSS = tuple(
    f"{section} {way}" for section in ("front_boss", "rear_boss") for way in ("upright", "crosswise")
)
FOUR = ("front", "rear", "left", "right")
DECK = ("along_left", "along_right", "across_front", "across_rear", "diagonal_one", "diagonal_two")

_FINE = "0.00002 in"

SOUND = {
    "deck_face": [even("deck_gap", DECK, "0.001 in"), even("deck_height", ("front", "rear"), "11.999 in")],
    "cam_bore": [even("cam_bore_diameter", BUSH, "2.0002 in")],
    "main_bore": [
        even("housing_bore", HOUSING, "2.6822 in"),
        single("bore_line_overall", "0.001 in"),
        single("bore_step_adjacent", "0.0005 in"),
    ],
    "connecting_rod": [
        single("rod_bend", "0.0002 in/in", "0.00001 in/in"),
        single("rod_twist", "0.0002 in/in", "0.00001 in/in"),
        even("housing_bore", HOUSING, "2.5172 in"),
    ],
    "cylinder_bore": [even("cylinder_diameter", CYLINDER, "4.0005 in")],
    "wet_liner": [
        even("cylinder_diameter", CYLINDER, "4.0005 in"),
        even("liner_protrusion", FOUR, "0.003 in"),
        even("liner_flange_thickness", FOUR, "0.400 in"),
    ],
    "liner_counterbore": [even("counterbore_depth", FOUR, "0.398 in")],
    "piston": [
        single("piston_diameter", "3.9945 in"),
        even("pin_bore_diameter", BOSS, "1.2501 in"),
        even("piston_protrusion", ("front", "rear"), "0.010 in"),
    ],
    "piston_ring_set": [
        readings("ring_gap", dict.fromkeys(("top", "second", "oil"), "0.018 in")),
        readings("ring_side_gap", dict.fromkeys(("top", "second"), "0.003 in")),
    ],
    "piston_pin": [even("piston_pin_diameter", PIN, "1.2497 in")],
    "small_end_bush": [even("small_end_diameter", BUSH, "1.2507 in")],
}
"""What was measured on an engine with nothing wrong; all else was looked for and is not there."""

KINDS = [
    "cylinder_block",
    "deck_face",
    "core_plug",
    "piston_cooling_jet",
    "cam_bore",
    "cam_bearing_bush",
    "main_bore",
    "main_shell",
    "big_end_shell",
    "connecting_rod",
    "sump",
    "cylinder_head",
    "head_gasket",
    "piston",
    "piston_ring_set",
    "piston_pin",
    "pin_circlip",
    "small_end_bush",
]
IN_THE_BLOCK = ["cylinder_bore"]
LINERS = ["wet_liner", "liner_counterbore", "liner_seal"]


@cache
def engine(
    liners: str = "none",
    fuel: str = "diesel",
    block: str = "cast_iron",
    cooling: str = "water",
    surface: str = "plain_iron",
    facing: str = "plain_iron",
    cylinder: str = "4.0000 in",
    clearance: str = "0.0110 in",
    count: str = "2",
    oversizes: bool = True,
) -> EngineSheet:
    """The trial engine, made as asked; `oversizes` says whether larger pistons are made for it, `clearance`
    what its maker allows a piston at most, `count` how many cylinders it has."""
    text = HEAD + (WET if liners == "wet" else IN_BLOCK + (STEPS if oversizes else "")) + PISTONS
    if fuel == "diesel":
        text += INJECTORS
    for mark, word in (
        ("FUEL", fuel),
        ("BLOCK", block),
        ("COOLING", cooling),
        ("SURFACE", surface),
        ("FACING", facing),
        ("CYLINDER", cylinder),
        ("CLEARANCE", clearance),
        ("COUNT", count),
        ("liners: none", f"liners: {liners}"),
    ):
        text = text.replace(mark, word)
    return check_engine(parse(text, "engine.yaml"), rules())


class Bench:
    """A case under way: an engine with nothing wrong, and what is found on it instead."""

    def __init__(self, **made: str | bool) -> None:
        self._made = made
        self._lines: list[str] = []
        self._dropped: set[tuple[str, str]] = set()
        self._extra = ""

    def found(self, part: str, place: str = "all", moment: str = "strip", **findings: str) -> Bench:
        """Something seen on an item."""
        inner = ", ".join(f"{name}: {extent}" for name, extent in findings.items())
        self._lines.append(f'  - {{part: {part}, place: "{place}", moment: {moment}, findings: {{{inner}}}}}')
        return self

    def measured(self, part: str, place: str, *lines: str, moment: str = "clean") -> Bench:
        """Readings in place of those of a sound engine, on this item; other items of its kind keep theirs."""
        self._lines.append(
            f'  - {{part: {part}, place: "{place}", moment: {moment}, readings: {{{", ".join(lines)}}}}}'
        )
        for line in lines:
            self._dropped.add((part, line.split(":")[0]))
            for other in sorted({"1", "2"} - {place}):
                sound = [each for each in SOUND.get(part, []) if each.split(":")[0] == line.split(":")[0]]
                if place != "all" and sound:
                    self._lines.append(f'  - {{part: {part}, place: "{other}", readings: {{{sound[0]}}}}}')
        return self

    def line(self, text: str) -> Bench:
        """A bench entry as it is written."""
        self._lines.append(f"  - {text}")
        return self

    def more(self, text: str) -> Bench:
        """Further sections of the case."""
        self._extra += text
        return self

    def decide(self) -> Decision:
        document, case = self._case()
        return advisor.decide(case, self._engine(), rules(), document=document)

    def outcomes(self, part: str, place: str, dimension: str, purpose: Purpose) -> frozenset[Outcome]:
        """Where a dimension stands against a limit, as gauging has it."""
        document, case = self._case()
        bench = lay_out(self._engine(), case, rules(), document)
        gauged = gauge(bench, self._engine(), rules())
        (index,) = [
            number
            for number, item in enumerate(bench.items)
            if (item.key.kind, item.key.where) == (part, place)
        ]
        return gauged.dimensions[index][dimension].standings[purpose].outcomes

    def _engine(self) -> EngineSheet:
        return engine(**self._made)

    def _case(self) -> tuple[Document, CaseSheet]:
        text = ["format: 1", "case: a trial", "engine_sheet: engine.yaml"]
        wet = self._made.get("liners") == "wet"
        if not wet and self._made.get("oversizes", True):
            text += ["found_sizes:", "  - {part: cylinder_bore, size: 0 mm, read_on: the piston crowns}"]
        text.append("bench:")
        kinds = KINDS + (LINERS if wet else IN_THE_BLOCK)
        if self._made.get("fuel", "diesel") == "diesel":
            kinds = [*kinds, "injector"]
        for kind in kinds:
            kept = [line for line in SOUND.get(kind, []) if (kind, line.split(":")[0]) not in self._dropped]
            text.append(f"  - {{part: {kind}, moment: running, otherwise: none}}")
            if kept:
                text.append(f"  - {{part: {kind}, place: all, readings: {{{', '.join(kept)}}}}}")
        document = parse("\n".join(text + self._lines) + "\n" + self._extra, "case.yaml")
        return document, validate(CaseSheet, document)


__all__ = [
    "BOSS",
    "BUSH",
    "CYLINDER",
    "DECK",
    "FOUR",
    "PIN",
    "Bench",
    "engine",
    "even",
    "readings",
    "single",
]
