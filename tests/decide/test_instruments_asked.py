"""An instrument is offered, and assumed, only where its range holds the size of the part."""

from __future__ import annotations

from decimal import Decimal

import pytest

from advisor._resources import demo_dir
from advisor.files import load_rules
from advisor.gauging.readings import take
from advisor.pipeline import decide
from advisor.sheets.bench import Read
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine_check import load_engine
from advisor.units import read_quantity

EMPTY = CaseSheet.model_validate({"format": "1", "case": "nothing seen", "engine_sheet": "engine.yaml"})


def test_what_is_asked_for_can_be_measured_with_what_is_named() -> None:
    rules = load_rules()
    sheet = load_engine(demo_dir() / "marsh_pump" / "engine.yaml", rules)
    by_label = {each.label: each for each in rules.instruments.values()}
    named = 0
    for verdict in decide(EMPTY, sheet, rules).verdicts:
        for ask in verdict.asks:
            new = sheet.parts[ask.part].new.get(ask.reading)
            formulas = getattr(rules.vocabulary.dimensions.get(ask.reading), "formulas", [])
            if new is None and formulas and formulas[0].reading is not None:
                new = sheet.parts[ask.part].new.get(formulas[0].reading)
            if new is not None and ask.instruments:
                named += 1
                assert all(by_label[label].spans(new) for label in ask.instruments), (ask, new)
    assert named > 20


@pytest.mark.parametrize(
    ("size", "error"),
    [
        # The limits of error are those of the table that comes with the program.
        ("24.970 mm", "0.004"),
        ("69.952 mm", "0.005"),
        ("2.754 in", "0.005"),
        ("120.00 mm", "0.006"),
        ("180.00 mm", "0.007"),
    ],
)
def test_the_instrument_assumed_is_one_that_can_have_shown_the_size(size: str, error: str) -> None:
    rules = load_rules()
    kind = rules.vocabulary.readings["journal_diameter"]
    only = kind.model_copy(
        update={"instruments": [name for name in rules.instruments if name.startswith("outside_micrometer")]}
    )
    read = Read({"front vertical": (read_quantity(size),)}, None, "clean")
    taken = take(read, only, ["front vertical"], rules.instruments)
    bounds = [
        part.bound for part in taken.parts_at("front vertical") if part.name.startswith("limit of error")
    ]
    assert bounds == [Decimal(error)]
