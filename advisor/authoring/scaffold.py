"""A case to be filled in: every part of an engine with its places, in the order in which the work is done."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Collection, Iterator

from advisor.sheets.engine import EngineSheet
from advisor.sheets.ground import Ground, ground_of
from advisor.sheets.place_words import places
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import MOMENTS, Finding, Moment, ReadingKind
from advisor.units import DIMENSIONS

NOT_YET = "not looked at"
"""What stands in the skeleton for everything: it says the same as leaving the entry out."""

_PLAIN = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 _./-]*[A-Za-z0-9_./])?")
_WIDTH = 80

_PARTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "1. BEFORE ANYTHING IS WASHED, TURNED OR PARTED",
        (
            "Do not wash or turn yet. What stands here is gone with the first wipe of a rag.",
            "Keep what comes out with the oil and out of the filters, and mark every part with its place.",
            "What was washed away before anyone looked is written as lost.",
        ),
    ),
    (
        "2. AS IT COMES APART",
        ("Look at each part as it comes off, still as it ran. Nothing goes back into a heap.",),
    ),
    (
        "3. CLEAN AND DRY, ON THE BENCH",
        ("Parts washed, dried, and as warm as the room and the instruments.",),
    ),
    (
        "4. BACK FROM THE MACHINE SHOP",
        (
            "Enter under `done:` what was carried out, and measure again what it touched:",
            "copy that entry from above to here and give it `moment: after machining`.",
        ),
    ),
)


def skeleton(
    sheet: EngineSheet, rules: RuleSet, *, case: str, sheet_file: str, kinds: Collection[str] = ()
) -> str:
    """The text of a case file for the engine of `sheet`, valid as it stands.

    `case` names the case and `sheet_file` is the sheet's file name as seen from the case. Each finding and
    each reading stands under the moment at which it has to be taken, as not looked at: findings once for all
    places of a kind, and readings for the first place. `kinds` keeps to those kinds of part, and writes the
    readings out for each of their places.
    """
    return "\n".join(_Writer(ground_of(sheet, rules), kinds).lines(case, sheet_file)) + "\n"


class _Writer:
    def __init__(self, ground: Ground, kinds: Collection[str]) -> None:
        self._ground = ground
        self._kinds = kinds
        self._vocabulary = ground.ruleset.vocabulary
        self._told: set[str] = set()
        """Findings and readings whose comment stands already."""

    def lines(self, case: str, sheet_file: str) -> Iterator[str]:
        sheet = self._ground.sheet
        yield from _comment(f"A case for the {sheet.engine}.")
        yield from _comment(
            f"Put what was seen or measured in place of `{NOT_YET}`, or strike the line out. Other words "
            "that may stand there: could not be judged, could not be measured, lost. An entry with "
            "`otherwise: none` says that every other finding of that part was looked for and is not there. "
            "A part that is not opened gets an entry of its own with `opened: no` and nothing else."
        )
        yield from _comment(
            "An entry counts for every place that it names. Where one place differs from the others, copy "
            "the entry for it and take the place out of the first. Sizes are never the same at two places: "
            "copy an entry with readings for each place that was measured."
        )
        yield "format: 1"
        yield f"case: {_scalar(case)}"
        yield f"engine_sheet: {_scalar(sheet_file)}"
        yield "# hours: 4200 h"
        yield "# hours_wanted: 6000 h"
        yield "# shop: who works on it"
        yield "# history: what the owner tells, and why it came in"
        yield ""
        yield from self._found_sizes()
        yield "bench:"
        written = False
        for number, (title, notes) in enumerate(_PARTS):
            yield ""
            yield f"  # {'=' * 76}"
            yield f"  # {title}"
            for note in notes:
                yield from _comment(note, 2)
            for line in self._part(number):
                written = True
                yield line
        if not written:
            yield "  []"
        yield ""
        yield from _comment("What has been carried out, one line for each:")
        yield "# done:"
        yield "#   - {operation: name_of_operation, part: name_of_part, place: all}"
        yield from _comment("Suspected causes that somebody has found, ruled out or accepted:")
        yield "# causes:"
        yield "#   - {concern: name, part: name, state: ruled out, by: who, because: why}"

    def _found_sizes(self) -> Iterator[str]:
        """The repair sizes that parts may have had when the engine arrived, to be read off them."""
        sized = {
            kind: part.repair_sizes
            for kind, part in self._ground.sheet.parts.items()
            if part.repair_sizes and self._wanted(kind)
        }
        if not sized:
            return
        yield from _comment(
            "The size each of these has now, as a difference from new, and where it was read (a stamp, a "
            "tag, the back of the part). Standard is 0 mm. Without it wear cannot be told from an "
            "undersize."
        )
        yield "# found_sizes:"
        for kind, sizes in sized.items():
            steps = ", ".join(["0 mm", *(step.text for each in sizes for step in each.steps)])
            yield from _comment(f"One of {steps}:", 2)
            yield f"#   - {{part: {kind}, size: 0 mm, read_on: where it was read}}"
        yield ""

    def _wanted(self, kind: str) -> bool:
        return not self._kinds or kind in self._kinds

    def _part(self, number: int) -> Iterator[str]:
        for kind, where in self._ground.places.items():
            if not self._wanted(kind):
                continue
            findings = [
                (name, finding, moment)
                for name, finding in self._vocabulary.findings.items()
                if kind in finding.kinds
                for part, moment in [_when(finding.moment, finding.destroyed_by_cleaning)]
                if part == number
            ]
            readings = [
                (name, reading, moment)
                for name, reading in self._vocabulary.readings.items()
                if kind in reading.kinds
                for part, moment in [_when(reading.moment, reading.moment == "strip")]
                if part == number
            ]
            for moment in MOMENTS:
                seen = [(name, finding) for name, finding, when in findings if when == moment]
                read = [(name, reading) for name, reading, when in readings if when == moment]
                words = [" ".join(place) for place in where]
                if len(words) == 1:
                    if seen or read:
                        yield from self._entry(kind, words[0], moment, seen, read)
                    continue
                # What is seen is mostly the same at many places; a size is one place's own.
                if seen:
                    yield from self._entry(kind, places(words), moment, seen, [])
                if read:
                    copies = words if self._kinds else words[:1]
                    others = "" if self._kinds else places(words[1:])
                    for each in copies:
                        yield from self._entry(kind, each, moment, [], read, others)

    def _entry(
        self,
        kind: str,
        place: str,
        moment: Moment,
        findings: list[tuple[str, Finding]],
        readings: list[tuple[str, ReadingKind]],
        others: str = "",
    ) -> Iterator[str]:
        yield ""
        yield from _comment(f"{self._vocabulary.kinds[kind].label} {place}".strip(), 2)
        if others:
            yield from _comment(f"Copy this entry for each of: {others}.", 2)
        yield f"  - part: {kind}"
        if place:
            yield f"    place: {_scalar(place)}"
        yield f"    moment: {moment}"
        if findings:
            yield "    findings:"
            for name, finding in findings:
                yield from self._finding(name, finding)
                yield f"      {name}: {NOT_YET}"
        if readings:
            yield "    readings:"
            for name, reading in readings:
                yield from self._reading(name, reading)

    def _finding(self, name: str, finding: Finding) -> Iterator[str]:
        if name in self._told:
            return
        self._told.add(name)
        yield from _comment(f"{finding.label}. {finding.look}", 6)
        for extent, says in finding.extents.items():
            yield from _comment(f"{extent}: {says}", 8)

    def _reading(self, name: str, reading: ReadingKind) -> Iterator[str]:
        if name not in self._told:
            self._told.add(name)
            units = DIMENSIONS[reading.quantity].offer
            wanted = f" The unit is written with each size: {', '.join(units)}." if units else ""
            yield from _comment(f"{reading.label}. {reading.how}", 6)
            yield from _comment(f"State of the part: {reading.condition.rstrip('.')}.{wanted}", 8)
        yield f"      {name}:"
        if reading.instruments:
            yield f"        # with: {reading.instruments[0]}"
            if reading.instruments[1:]:
                yield from _comment(f"or with: {', '.join(reading.instruments[1:])}", 8)
        positions = reading.positions()
        if positions == [""]:
            yield f"        value: {NOT_YET}"
            return
        yield "        values:"
        for position in positions:
            yield f"          {_scalar(position)}: {NOT_YET}"


def _when(moment: Moment, at_once: bool) -> tuple[int, Moment]:
    """The part of the skeleton in which a finding or reading stands, and the moment of its entry.

    `at_once` is for what is gone once anything has been washed, turned or parted.
    """
    if moment == "running":
        return 0, moment
    if at_once:
        return 0, "strip"
    return MOMENTS.index(moment), moment


def _scalar(text: str) -> str:
    return text if _PLAIN.fullmatch(text) else json.dumps(text, ensure_ascii=False)


def _comment(text: str, indent: int = 0) -> list[str]:
    mark = " " * indent + "# "
    return textwrap.wrap(
        " ".join(text.split()),
        _WIDTH,
        initial_indent=mark,
        subsequent_indent=mark,
        break_long_words=False,
        break_on_hyphens=False,
    )
