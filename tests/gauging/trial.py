"""A few readings on the demonstration engine and the real rule set, gauged or decided."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from advisor.faults import Fault, Faults
from advisor.files import load_rules
from advisor.gauging import Gauged, GaugedDimension, gauge
from advisor.pipeline import decide
from advisor.sheets.bench import Bench
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import check_engine
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import parse
from advisor.sheets.validate import validate
from advisor.verdicts.model import Verdict

ENGINE = Path(__file__).resolve().parents[2] / "cases_demo" / "marsh_pump" / "engine.yaml"
STANDARD = "found_sizes:\n  - {part: main_journal, size: 0 mm, read_on: the shells}\n"


@cache
def rules() -> RuleSet:
    return load_rules()


@cache
def sheet(edits: tuple[tuple[str, str], ...] = ()) -> EngineSheet:
    text = ENGINE.read_text("utf-8")
    for old, new in edits:
        assert old in text, f"the sheet has no {old!r}"
        text = text.replace(old, new)
    return check_engine(parse(text, "engine.yaml"), rules())


def laid(bench: str, head: str = "temperature: 20 °C\n", edits: Sequence[tuple[str, str]] = ()) -> Bench:
    text = f"format: 1\ncase: a trial\nengine_sheet: engine.yaml\n{head}bench:\n{bench}"
    document = parse(text, "case.yaml")
    return lay_out(sheet(tuple(edits)), validate(CaseSheet, document), rules(), document)


def faults(bench: str, head: str = "") -> list[Fault]:
    try:
        laid(bench, head)
    except Faults as found:
        return list(found.faults)
    return []


def gauged(bench: Bench, edits: Sequence[tuple[str, str]] = ()) -> Gauged:
    return gauge(bench, sheet(tuple(edits)), rules())


def item(bench: Bench, part: str, place: str = "") -> int:
    return next(i for i, each in enumerate(bench.items) if (each.key.kind, each.key.where) == (part, place))


def dimension(
    text: str,
    part: str,
    place: str,
    name: str,
    head: str = "temperature: 20 °C\n",
    edits: Sequence[tuple[str, str]] = (),
) -> GaugedDimension:
    bench = laid(text, head, edits)
    return gauged(bench, edits).dimensions[item(bench, part, place)][name]


def verdict(
    text: str, part: str, place: str = "", head: str = STANDARD, edits: Sequence[tuple[str, str]] = ()
) -> Verdict:
    whole = f"format: 1\ncase: a trial\nengine_sheet: engine.yaml\n{head}bench:\n{text}"
    decision = decide(validate(CaseSheet, parse(whole, "case.yaml")), sheet(tuple(edits)), rules())
    return next(each for each in decision.verdicts if (each.part, each.place) == (part, place))


WAYS = [f"{a} {b}" for a in ("front", "middle", "rear") for b in ("vertical", "horizontal")]


def journal(size: str | Sequence[str], place: str = "2", more: str = "with: outside_micrometer") -> str:
    """A main journal that measures one size everywhere, or these."""
    sizes = [size] * len(WAYS) if isinstance(size, str) else size
    values = ", ".join(f"{way}: {each}" for way, each in zip(WAYS, sizes, strict=True))
    return (
        f"  - part: main_journal\n    place: {place}\n    readings:\n"
        f"      journal_diameter: {{{more}, values: {{{values}}}}}\n"
    )


def bore(size: str, place: str = "2", more: str = "with: bore_gauge") -> str:
    """A main bore with its shells fitted."""
    return (
        f"  - part: main_bore\n    place: {place}\n    readings:\n      bore_with_shells: "
        f"{{{more}, values: {{front vertical: {size}, rear vertical: {size}}}}}\n"
    )
