"""An engine sheet checked against the vocabulary of its rule set."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from advisor.faults import Faults
from advisor.sheets.crosscheck import Checker
from advisor.sheets.engine import EnginePart, EngineSheet
from advisor.sheets.places import Document
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import load
from advisor.sheets.validate import validate
from advisor.units import Quantity

NOT_KNOWN = "unknown"
"""Written under `made` where nobody knows how the part is treated."""


def load_engine(path: Path, ruleset: RuleSet) -> EngineSheet:
    """Read an engine sheet and check every word of it. Raises `Faults`."""
    document = load(path)
    return check_engine(document, ruleset)


def check_engine(document: Document, ruleset: RuleSet) -> EngineSheet:
    """The engine sheet in `document`. Raises `Faults` for its shape, or for its words."""
    sheet = validate(EngineSheet, document)
    checker = _Sheet(ruleset, document, sheet)
    checker.check()
    if checker.found:
        raise Faults(checker.found)
    return sheet


class _Sheet(Checker):
    def __init__(self, ruleset: RuleSet, document: Document, sheet: EngineSheet) -> None:
        super().__init__(ruleset, document)
        self._sheet = sheet

    def check(self) -> None:
        sheet, vocabulary = self._sheet, self.whole.vocabulary
        if sheet.ruleset != self.whole.name:
            self.fault(
                ("ruleset",),
                "other-ruleset",
                f"this sheet uses the words of rule set {sheet.ruleset}",
                self.whole.name,
                "choose that rule set, or move the sheet to this one's words",
            )
        for key, value in sheet.layout.items():
            if self.word(("layout", key), key, vocabulary.layout, "layout key"):
                self.word(("layout", key), value, vocabulary.layout[key].values, f"value of {key}")
        for key in vocabulary.layout:
            if key not in sheet.layout:
                self.fault(
                    ("layout",),
                    "layout-missing",
                    f"the layout does not say {key} ({vocabulary.layout[key].label})",
                    f"one of {', '.join(vocabulary.layout[key].values)}",
                    f"add a line {key}: with that word",
                )
        numbered = [name for name, axis in vocabulary.axes.items() if not axis.values]
        for axis in sheet.axes:
            self.word(("axes", axis), axis, numbered, "numbered axis")
        for name, part in sheet.parts.items():
            if self.word(("parts", name), name, vocabulary.kinds, "kind of part"):
                self._part(name, part)
        for index, link in enumerate(sheet.links):
            if self.word(("links", index, "relation"), link.relation, vocabulary.relations, "relation"):
                listed = any(
                    each.listed and each.of == link.of and each.to == link.to
                    for each in vocabulary.relations[link.relation].links
                )
                if not listed:
                    self.fault(
                        ("links", index),
                        "link-not-listed",
                        f"{link.relation} from {link.of} to {link.to} is not for the engine sheet to list",
                        "a link with listed: yes in the vocabulary",
                        "",
                    )

    def _part(self, name: str, part: EnginePart) -> None:
        vocabulary = self.whole.vocabulary
        kind = vocabulary.kinds[name]
        path = ("parts", name)
        places = 1
        for axis in kind.axes:
            values = len(vocabulary.axes[axis].values) or self._sheet.axes.get(axis, 0)
            if not values:
                self.fault(
                    path,
                    "axis-missing",
                    f"{name} stands on axis {axis}, which has no number",
                    f"{axis}: a count under axes",
                    "",
                )
            places *= values
        if part.quantity is not None and kind.axes and places and part.quantity != places:
            self.fault(
                (*path, "quantity"),
                "quantity-places",
                f"{part.quantity} of {name} do not fill its {places} places",
                f"{places}, or no quantity at all",
                "correct the number here, or the number on its axis",
            )
        for key, value in part.made.items():
            if self.word((*path, "made", key), key, kind.properties, f"property of {name}"):
                self.word((*path, "made", key), value, [*kind.properties[key], NOT_KNOWN], f"value of {key}")
        for key, quantity in part.new.items():
            if self.word((*path, "new", key), key, kind.sizes, f"size of {name}"):
                reading = vocabulary.readings.get(key)
                if reading is not None and name in reading.kinds:
                    self._quantity((*path, "new", key), quantity, reading.quantity)
        for index, limit in enumerate(part.limits):
            at = (*path, "limits", index)
            if self.dimension((*at, "dimension"), limit.dimension, name):
                wanted = vocabulary.dimensions[limit.dimension].quantity
                for side in ("at_most", "at_least"):
                    value = getattr(limit, side)
                    if value is not None:
                        self._quantity((*at, side), value, wanted)
            if any(
                other.dimension == limit.dimension and other.purpose == limit.purpose
                for other in part.limits[:index]
            ):
                self.fault(
                    at,
                    "limit-twice",
                    f"{limit.dimension} has a limit for {limit.purpose} already",
                    "one limit for each dimension and purpose",
                    "put at_most and at_least into one entry",
                )
        for index, sizes in enumerate(part.repair_sizes):
            at = (*path, "repair_sizes", index)
            if self.word((*at, "operation"), sizes.operation, vocabulary.operations, "operation"):
                operation = vocabulary.operations[sizes.operation]
                if name not in operation.kinds or not operation.repair_size:
                    self.fault(
                        (*at, "operation"),
                        "not-of-this-kind",
                        f"operation {sizes.operation} does not take {name} to a repair size",
                        "an operation of this kind with repair_size: yes",
                        "",
                    )
            if (
                self.word((*at, "size"), sizes.size, kind.sizes, f"size of {name}")
                and sizes.size not in part.new
            ):
                self.fault(
                    (*at, "size"),
                    "size-missing",
                    f"the new {sizes.size} of {name} is not given, so its repair sizes hang in the air",
                    f"{sizes.size} under new",
                    "",
                )
            signs = {step.value > 0 for step in sizes.steps}
            if len(signs) > 1 or any(step.value == 0 for step in sizes.steps):
                self.fault(
                    (*at, "steps"),
                    "repair-steps",
                    "the repair sizes go both ways, or one of them is no step",
                    "all oversizes, or all undersizes written with a minus sign",
                    "",
                )

    def _quantity(self, path: tuple[str | int, ...], quantity: Quantity, wanted: str) -> None:
        if quantity.dimension != wanted:
            self.fault(
                path,
                "unit-dimension",
                f"{quantity.text} is a {quantity.dimension.replace('_', ' ')}",
                f"a {wanted.replace('_', ' ')}",
                "correct the unit",
            )


def treatments(part: EnginePart, properties: Mapping[str, list[str]]) -> dict[str, str | None]:
    """What the sheet says of each property; None where it says nothing, or that nobody knows."""
    return {
        name: None if part.made.get(name, NOT_KNOWN) == NOT_KNOWN else part.made[name] for name in properties
    }
