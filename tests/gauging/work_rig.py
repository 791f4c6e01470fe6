"""The demonstration engine and its case as a workshop, with lines of either exchanged."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from advisor._resources import demo_dir
from advisor.faults import Fault, Faults
from advisor.files import load_rules
from advisor.gauging import gauge
from advisor.gauging.figures import Figure, WorkFacts
from advisor.gauging.work import Workshop
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine_check import check_engine
from advisor.sheets.laying import lay_out
from advisor.sheets.places import Document
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import parse
from advisor.sheets.validate import validate

Edits = Sequence[tuple[str, str]]


def seen(entries: str) -> tuple[str, str]:
    """An edit of the case: more entries on the bench, as lines."""
    return ("\nbench:\n", f"\nbench:\n{entries}")


def walls(**by_cylinder: str) -> tuple[str, str]:
    """The walls of the bores, as `one="7.5 mm"`, read to 0.1 mm."""
    places = {"one": 1, "two": 2, "three": 3, "four": 4}
    return seen(
        "".join(
            f"  - {{part: cylinder_bore, place: '{places[name]}', readings: "
            f"{{bore_wall: {{limit_of_error: 0.1 mm, value: {wall}}}}}}}\n"
            for name, wall in by_cylinder.items()
        )
    )


PISTON_TWO = seen(
    "  - part: piston\n    place: '2'\n    moment: after machining\n    readings:\n"
    "      piston_protrusion: {with: dial_indicator, values: {front: 0.43 mm, rear: 0.43 mm}}\n"
)
"""The rod of cylinder 2 has been worked on, which voids its piston's height; here it is read again."""


@cache
def rules() -> RuleSet:
    return load_rules()


def document(name: str, edits: Edits = ()) -> Document:
    """A file of the demonstration at 20 °C, each first text of `edits` exchanged for the second."""
    text = (demo_dir() / "marsh_pump" / name).read_text("utf-8")
    # Sums beside these tests are done by hand, without expansion; test_readings.py has that.
    text = text.replace("temperature: 16 °C\n", "temperature: 20 °C\n")
    # How thick the walls are is for each test to say.
    text = re.sub(r"(?m)^ +bore_wall: .*\n", "", text)
    for old, new in edits:
        assert old in text, f"{name} has no {old!r}"
        text = text.replace(old, new)
    return parse(text, name)


def workshop(engine: Edits = (), case: Edits = ()) -> Workshop:
    """The demonstration gauged, with some of its lines exchanged."""
    sheet = check_engine(document("engine.yaml", engine), rules())
    of_case = document("case.yaml", case)
    bench = lay_out(sheet, validate(CaseSheet, of_case), rules(), of_case)
    return Workshop(bench, sheet, rules(), gauge(bench, sheet, rules()))


def item(of: Workshop, kind: str, where: str = "") -> int:
    """The item of a kind at a place."""
    (found,) = (
        index
        for index, each in enumerate(of.bench.items)
        if (each.key.kind, each.key.where) == (kind, where) and each.key.origin == "fitted"
    )
    return found


def figure(facts: WorkFacts, name: str) -> Figure:
    """The one figure of that name."""
    (found,) = (each for each in facts.figures if each.name == name)
    return found


def work_faults(edits: Edits) -> list[Fault]:
    """What is wrong with the demonstration's engine sheet once some of its lines are exchanged."""
    try:
        check_engine(document("engine.yaml", edits), rules())
    except Faults as faults:
        return list(faults.faults)
    return []
