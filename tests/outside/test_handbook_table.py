"""The table of handbook facts and the rule set say the same: what is cited stands there, and is so used."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

from advisor.sheets.vocabulary import Cite
from tests.outside.crank import rules

TABLE = Path(__file__).resolve().parents[2] / "docs" / "handbook-table.md"

# How the published facts were numbered, by part: the last number of each letter, and the numbers left out.
_NUMBERED = {
    "C": (31, ()),  # crankshaft
    "L": (13, (10, 11, 12)),  # clearance and crush
    "B": (26, (22,)),  # shells
    "Y": (28, (19, 21, 22, 23)),  # bores and liners
    "P": (16, ()),  # pistons, pins, rings
    "V": (40, (3, 30, 38)),  # valves, guides, seats, springs
    "H": (13, ()),  # head and block faces, cracks
    "R": (16, ()),  # connecting rods
    "K": (18, ()),  # camshaft, followers, gears, rockers
    "U": (10, (5, 6)),  # used once
    "T": (11, ()),  # compression and leak checks
    "F": (19, (13, 17, 18)),  # cautions
}
_EXAMPLES = ("W1", "W2", "W3", "W4", "W6", "W8", "W10", "W11", "W12", "W16", "W19")
"""The worked examples and tabled cases."""


def _published() -> set[str]:
    """Every fact that was numbered."""
    return {
        f"{letter}{number}"
        for letter, (last, left_out) in _NUMBERED.items()
        for number in range(1, last + 1)
        if number not in left_out
    }


def _rows() -> dict[str, list[str]]:
    """By row id: the cells of its line in the first tables (fact, source, used by, remark)."""
    rows: dict[str, list[str]] = {}
    text = TABLE.read_text(encoding="utf-8").split("## The two tables of limits")[0]
    for line in text.splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if re.fullmatch(r"[A-Z]\d+", cells[0]):
            assert cells[0] not in rows, f"{cells[0]} stands twice"
            assert len(cells) == 5, line
            rows[cells[0]] = cells[1:]
    return rows


def _uses() -> Iterator[tuple[str, str, Iterable[Cite]]]:
    """Everything that cites: kind of use, name as the table writes it, citations."""
    whole = rules()
    for rule in whole.rules:
        asked = [cite for evidence in rule.then.require for cite in evidence.cite]
        yield "rule", rule.id, [*rule.cite, *asked]
    for limit in whole.limits:
        yield "limit", f"limit {limit.part} {limit.dimension} {limit.purpose}", limit.cite
    for name, kind in whole.vocabulary.kinds.items():
        yield "evidence", f"evidence {name}", [cite for evidence in kind.evidence for cite in evidence.cite]
    for name, each in whole.vocabulary.sets.items():
        yield "set", f"set {name}", each.cite
    for name, operation in whole.vocabulary.operations.items():
        yield "operation", f"operation {name}", operation.cite
    for name, caution in whole.cautions.items():
        yield "caution", f"caution {name}", caution.cite


def _cited() -> dict[str, dict[str, set[str]]]:
    """By row: the names that cite it, each with the sources it gives."""
    cited: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for _, name, cites in _uses():
        for cite in cites:
            if cite.row:
                cited[cite.row][name].add(cite.source)
    return cited


def _named(cell: str) -> set[str]:
    return set(re.findall(r"`([^`]+)`", cell))


def test_every_row_that_is_cited_stands_in_the_table() -> None:
    assert _cited().keys() <= _rows().keys()


def test_every_use_named_exists_and_cites_that_row() -> None:
    cited = _cited()
    for row, (_, _, used_by, _) in _rows().items():
        assert _named(used_by) == set(cited.get(row, ())), row


def test_a_row_is_cited_from_the_source_that_the_table_gives() -> None:
    cited = _cited()
    for row, (_, source, _, _) in _rows().items():
        for sources in cited.get(row, {}).values():
            assert sources == _named(source), row


def test_a_row_without_use_says_why() -> None:
    for row, (_, _, used_by, remark) in _rows().items():
        if not _named(used_by):
            assert used_by == "declined", row
            assert remark, row


def test_every_name_in_the_later_tables_exists() -> None:
    known = {name for _, name, _ in _uses()}
    later = TABLE.read_text(encoding="utf-8").split("## The two tables of limits")[1]
    for name in _named(later):
        assert name in known or name.startswith("tests/"), name


def test_every_source_cited_is_used_and_none_is_idle() -> None:
    whole = rules()
    used = {cite.source for _, _, cites in _uses() for cite in cites}
    used |= {cite.source for instrument in whole.instruments.values() for cite in instrument.cite}
    assert set(whole.sources) == used


def test_every_published_fact_stands_in_the_table_once() -> None:
    """`_rows` fails on a row that stands twice."""
    assert _rows().keys() == _published()


def test_every_worked_example_stands_in_the_table_once() -> None:
    later = TABLE.read_text(encoding="utf-8").split("## Worked examples")[1]
    assert sorted(re.findall(r"^\| (W\d+):", later, re.MULTILINE)) == sorted(_EXAMPLES)


def test_the_table_says_how_many_rows_are_used_and_declined() -> None:
    declined = sum(used_by == "declined" for _, _, used_by, _ in _rows().values())
    used = len(_rows()) - declined
    says = f"{len(_rows())} facts: {used} used, {declined} declined; {len(_EXAMPLES)} worked examples."
    assert says in TABLE.read_text(encoding="utf-8"), says


def test_a_fact_named_in_the_later_tables_is_a_published_one() -> None:
    later = TABLE.read_text(encoding="utf-8").split("## The two tables of limits")[1]
    named = set(re.findall(r"\b([A-Z]\d{1,2})\b", later)) - set(_EXAMPLES)
    assert named <= _published()
