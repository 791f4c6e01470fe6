"""A gearbox for the tests: all of it looked at and measured, and nothing wrong but what a test changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Final

import advisor
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import check_engine
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import parse
from advisor.sheets.validate import validate
from advisor.verdicts.model import Decision, Verdict

ROOT: Final = Path(__file__).resolve().parents[2]
RULES: Final = ROOT / "rulesets" / "gearbox"
SHEET: Final = RULES / "tests" / "engines" / "two_shaft.yaml"

SHAFT_ENDS: Final = ("input front", "input rear", "output front", "output rear")
SPEEDS: Final = ("1", "2", "3")
PLACES: Final[Mapping[str, tuple[str, ...]]] = {
    "gearbox_case": ("",),
    "bearing_bore": SHAFT_ENDS,
    "gearbox_shaft": ("input", "output"),
    "rolling_bearing": SHAFT_ENDS,
    "loose_gear": SPEEDS,
    "fixed_gear": SPEEDS,
    "gear_needles": SPEEDS,
    "gear_thrust_washer": SPEEDS,
    "synchroniser_ring": SPEEDS,
    "synchroniser_sleeve": ("1", "2"),
    "selector_fork": ("1", "2"),
}
"""What is judged by looking and measuring, with its places."""

SPOTS: Final = ("first_spot", "second_spot", "third_spot")
POSITIONS: Final[Mapping[str, tuple[str, ...]]] = {
    "run_out": ("bearing_seats", "middle"),
    "bore_diameter": ("upright", "crosswise"),
    "ring_outside": ("first", "quarter_turn_on"),
    "gear_backlash": SPOTS,
    "ring_to_gear": SPOTS,
    "groove_width": ("first_spot", "second_spot"),
    "pad_thickness": ("first_pad", "second_pad"),
    "washer_thickness": SPOTS,
}
"""Readings that are taken at several positions."""

SOUND: Final[Mapping[str, Mapping[str, str]]] = {
    "bearing_bore": {"bore_diameter": "72.005 mm"},
    "gearbox_shaft": {"run_out": "0.010 mm"},
    "rolling_bearing": {"radial_play": "0.030 mm", "ring_outside": "72.000 mm"},
    "loose_gear": {"gear_backlash": "0.12 mm", "end_float": "0.20 mm", "gear_rock": "0.040 mm"},
    "gear_thrust_washer": {"washer_thickness": "3.990 mm"},
    "synchroniser_ring": {"ring_to_gear": "0.95 mm"},
    "synchroniser_sleeve": {"groove_width": "8.250 mm"},
    "selector_fork": {"pad_thickness": "7.900 mm"},
}
AT_STRIP: Final = {"gear_backlash", "end_float", "gear_rock"}
"""Readings that are taken before anything is drawn."""

ERROR: Final = "limit_of_error: 0.0005 mm"
"""A better instrument than a shop has, so that a check hangs on the limit and not on the instrument."""


@cache
def rules() -> RuleSet:
    """The rule set as it lies in the tree."""
    return advisor.load_rules(RULES)


@cache
def sheet(*changes: tuple[str, str]) -> EngineSheet:
    """The sheet of the trial gearbox, with some of its text exchanged."""
    text = SHEET.read_text("utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return check_engine(parse(text, "two_shaft.yaml"), rules())


@dataclass(frozen=True)
class Gearbox:
    """A sound gearbox with what was found or measured otherwise, by part and place."""

    findings: Mapping[tuple[str, str], str] = field(default_factory=dict)
    readings: Mapping[tuple[str, str, str], str] = field(default_factory=dict)
    more: tuple[str, ...] = ()
    without: frozenset[tuple[str, str]] = frozenset()
    """Parts that no entry speaks of: their place is among those of mixed-up ones."""

    def found(self, part: str, place: str, findings: str) -> Gearbox:
        """With these findings (`name: extent`, joined by commas) on one part."""
        return replace(self, findings={**self.findings, (part, place): findings})

    def measured(self, part: str, place: str, reading: str, size: str) -> Gearbox:
        """With this size at every position of one reading."""
        return replace(self, readings={**self.readings, (part, place, reading): size})

    def line(self, entry: str) -> Gearbox:
        """With one entry more on the bench."""
        return replace(self, more=(*self.more, entry))

    def lost(self, part: str, *places: str) -> Gearbox:
        """Without the entries of the parts at these places."""
        return replace(self, without=self.without | {(part, place) for place in places})

    def decide(self, on: EngineSheet | None = None) -> Decision:
        """The decision, on the way that every case goes."""
        text = "\n".join(
            ["format: 1", "case: a trial", "engine_sheet: two_shaft.yaml", "bench:", *self._bench()]
        )
        document = parse(text, "case.yaml")
        return advisor.decide(validate(CaseSheet, document), on or sheet(), rules(), document=document)

    def _bench(self) -> list[str]:
        said = self.findings.get(("gearbox_case", "strip"), "oil_debris: none")
        entries = [f"  - {{part: gearbox_case, moment: strip, findings: {{{said}}}}}"]
        for part, places in PLACES.items():
            for place in places:
                if (part, place) not in self.without:
                    entries += self._entries(part, place)
        return [*entries, *(f"  - {entry}" for entry in self.more)]

    def _entries(self, part: str, place: str) -> list[str]:
        head = f"part: {part}" + (f", place: {place}" if place else "")
        said = self.findings.get((part, place), "")
        readings: dict[bool, list[str]] = {True: [], False: []}
        for reading, size in SOUND.get(part, {}).items():
            told = self.readings.get((part, place, reading), size)
            values = f"value: {told}"
            if reading in POSITIONS:
                values = "values: {" + ", ".join(f"{spot}: {told}" for spot in POSITIONS[reading]) + "}"
            readings[reading in AT_STRIP].append(f"{reading}: {{{ERROR}, {values}}}")
        entries = []
        if readings[True]:
            entries.append(f"  - {{{head}, moment: strip, readings: {{{', '.join(readings[True])}}}}}")
        rest = f", readings: {{{', '.join(readings[False])}}}" if readings[False] else ""
        entries.append(f"  - {{{head}, findings: {{{said}}}, otherwise: none{rest}}}")
        return entries


def of(decision: Decision, part: str, place: str = "", tag: str = "") -> Verdict:
    """The verdict on one part."""
    (found,) = [v for v in decision.verdicts if (v.part, v.place, v.tag) == (part, place, tag)]
    return found


def because(verdict: Verdict) -> set[str]:
    """The rules behind a verdict."""
    return {reason.rule for reason in verdict.reasons}
