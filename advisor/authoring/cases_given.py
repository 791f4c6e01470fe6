"""The case of a test laid over what is given at the head of its file.

What a test says of a part at some place goes before what the head says of the same finding or reading there.
The two become one case and one document, in which every entry keeps the place where it was written.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor.sheets.case import BenchEntry, CaseSheet
from advisor.sheets.case_tests import Given
from advisor.sheets.engine import EngineSheet
from advisor.sheets.entries import EntryReader
from advisor.sheets.ground import Ground, ground_of
from advisor.sheets.places import Block, Document, Items, Node, Positions, Spot
from advisor.sheets.ruleset import RuleSet

_SECTIONS = ("found_sizes", "cleans_up", "bench", "done", "causes", "risks")
_SINGLE = ("hours", "hours_wanted")


@dataclass(frozen=True, slots=True)
class _Entry:
    """An entry of some section, with what was typed and where."""

    entry: object
    node: Node
    spot: Spot


def laid_over(
    name: str, own: tuple[Given, Block], head: tuple[Given, Block] | None, sheet: EngineSheet, rules: RuleSet
) -> tuple[CaseSheet, Document]:
    """One case called `name`, and its document, from a test's own case and what the head of its file gives.

    Each is handed over with the block in which it was written.
    """
    parts = [each for each in (head, own) if each is not None]
    file = own[1].file
    data = Block(file, own[1].spot)
    held: dict[str, object] = {}
    for key in _SECTIONS:
        by_part = [list(_entries(given, block, key)) for given, block in parts]
        if key == "bench" and len(by_part) == 2:
            by_part[0] = _left(by_part[0], by_part[1], ground_of(sheet, rules))
        entries = [each for some in by_part for each in some]
        items = Items()
        for each in entries:
            items.append(each.node)
            items.spots.append(each.spot)
        data[key] = items
        data.spots[key] = (own[1].spot, own[1].spot)
        held[key] = [each.entry for each in entries]
    for key in _SINGLE:
        held[key] = next((got for given, _ in reversed(parts) if (got := getattr(given, key))), None)
    case = CaseSheet.model_validate({"format": "1", "case": name, "engine_sheet": "the test's own", **held})
    return case, Document(file, data, Positions(file, data, data.spot))


def _entries(given: Given, block: Block, key: str) -> Iterator[_Entry]:
    node = block.get(key)
    spot = block.spots[key][1] if key in block.spots else block.spot
    for index, entry in enumerate(getattr(given, key)):
        if isinstance(node, Items):
            yield _Entry(entry, node[index], node.spots[index])
        else:  # a single entry that was let stand for a list of one
            yield _Entry(entry, node if node is not None else "", spot)


class _Places(EntryReader):
    """The places that an entry of the bench means; what is wrong in it is told when the case is laid out."""

    def of(self, entry: BenchEntry) -> set[str]:
        if entry.part not in self._ground.places or entry.origin != "fitted":
            return set()
        text = entry.from_among if entry.place == "unknown" else entry.place
        return {" ".join(place) for place in self._place_list((), entry.part, text)}


def _left(head: list[_Entry], own: list[_Entry], ground: Ground) -> list[_Entry]:
    """The head's entries, without what the test's own entries say otherwise."""
    places = _Places(ground, Document("", "", Positions("", "")))
    said: dict[tuple[str, str], set[str]] = {}
    closed: dict[str, set[str]] = {}
    mixed_up: dict[str, set[str]] = {}
    for each in own:
        entry = each.entry
        assert isinstance(entry, BenchEntry)
        where = places.of(entry)
        for word in (*entry.findings, *entry.readings):
            said.setdefault((entry.part, word), set()).update(where)
        if entry.opened == "no":
            closed.setdefault(entry.part, set()).update(where)
        if entry.place == "unknown":
            mixed_up.setdefault(entry.part, set()).update(where)
    kept: list[_Entry] = []
    for each in head:
        entry = each.entry
        assert isinstance(entry, BenchEntry)
        gone = closed.get(entry.part, set()) | mixed_up.get(entry.part, set())
        words = [word for word in (*entry.findings, *entry.readings) if (entry.part, word) in said]
        if not words and not gone:
            kept.append(each)
            continue
        # A copy for each set of places at which the same words are left.
        left: dict[tuple[str, ...], list[str]] = {}
        for place in sorted(places.of(entry) - gone):
            without = tuple(word for word in words if place in said.get((entry.part, word), ()))
            left.setdefault(without, []).append(place)
        for without, here in left.items():
            rest = {
                "place": ", ".join(here),
                "findings": {k: v for k, v in entry.findings.items() if k not in without},
                "readings": {k: v for k, v in entry.readings.items() if k not in without},
            }
            if rest["findings"] or rest["readings"] or entry.otherwise or entry.opened == "no":
                kept.append(_Entry(entry.model_copy(update=rest), each.node, each.spot))
    return kept
