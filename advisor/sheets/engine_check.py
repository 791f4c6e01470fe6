"""An engine sheet checked against the vocabulary of its rule set."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from advisor.faults import Faults
from advisor.sheets.checker import Checker
from advisor.sheets.engine import EnginePart, EngineSheet, ListedLink
from advisor.sheets.limit_check import check_nesting, check_repair_sizes, check_sides
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.size_check import check_positive, check_wear_limit
from advisor.sheets.text import in_file_order, load
from advisor.sheets.validate import validate
from advisor.sheets.vocabulary import NOT_KNOWN
from advisor.sheets.work_check import check_geometry, check_work

MOST_ON_AXIS = 100
"""Places on one axis of an engine."""

MOST_ITEMS = 5_000
"""Items of one engine. Far beyond any engine; there so that a slip of the finger is told as one."""


def load_engine(path: Path, ruleset: RuleSet) -> EngineSheet:
    """Read an engine sheet and check every word of it. Raises `Faults`."""
    document = load(path)
    return check_engine(document, ruleset)


def check_engine(document: Document, ruleset: RuleSet) -> EngineSheet:
    """The engine sheet in `document`. Raises `Faults` for its shape, or for its words."""
    try:
        sheet = validate(EngineSheet, document)
    except Faults:
        # Only a file with faults is asked what it is: the answer takes the models of every kind of file.
        from advisor.sheets.filekind import ENGINE, refuse_other

        refuse_other(document, ENGINE)
        raise
    checker = _Sheet(ruleset, document, sheet)
    checker.check()
    if checker.found:
        raise in_file_order(checker.found)
    return sheet


class _Sheet(Checker):
    otherwise = "correct the word here"

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
                f"choose that rule set with --rules {sheet.ruleset}, or move the sheet to this one's words",
            )
            # In the words of another rule set, nearly every word would be told as unknown.
            return
        self.known_version(sheet.vocabulary_version)
        for key, value in sheet.layout.items():
            if self.word(("layout", key), key, vocabulary.layout, "layout key"):
                self.word(("layout", key), value, vocabulary.layout[key].values, f"value of {key}")
        for key in vocabulary.layout:
            if key not in sheet.layout:
                self.fault(
                    ("layout",),
                    "layout-missing",
                    f"the layout does not say {key}: {vocabulary.layout[key].label}",
                    f"one of {', '.join(vocabulary.layout[key].values)}",
                    f"add {key}: and one of these words",
                )
        numbered = [name for name, axis in vocabulary.axes.items() if not axis.values]
        for axis, number in sheet.axes.items():
            self.word(("axes", axis), axis, numbered, "numbered axis")
            if number > MOST_ON_AXIS:
                self.fault(
                    ("axes", axis),
                    "too-many-places",
                    f"{number} is too many for axis {axis}",
                    f"at most {MOST_ON_AXIS}",
                    "correct the number",
                )
        items = 0
        for name, part in sheet.parts.items():
            if self.word(("parts", name), name, vocabulary.kinds, "kind of part"):
                items += self._part(name, part)
        check_geometry(self, sheet)
        # Told before a place is laid out, and only where no axis is itself at fault.
        if items > MOST_ITEMS and all(number <= MOST_ON_AXIS for number in sheet.axes.values()):
            self.fault(
                ("axes",),
                "too-many-places",
                f"the axes give this engine {items} items",
                f"at most {MOST_ITEMS}",
                "correct the numbers",
            )
        for index, link in enumerate(sheet.links):
            if self.word(("links", index, "relation"), link.relation, vocabulary.relations, "relation"):
                self._listed(("links", index), link)

    def _listed(self, path: Steps, link: ListedLink) -> None:
        """Pairs of places that the sheet lists for a relation."""
        links = self.whole.vocabulary.relations[link.relation].links
        if not any(each.listed and (each.of, each.to) == (link.of, link.to) for each in links):
            self.fault(
                path,
                "link-not-listed",
                f"{link.relation} from {link.of} to {link.to} is not for the engine sheet to list",
                "a link with listed: true in the vocabulary",
                "drop these pairs, or correct the relation or the kinds",
            )
            return
        seen: set[tuple[str, str]] = set()
        for index, pair in enumerate(link.pairs):
            at = (*path, "pairs", index)
            known = self._place((*at, "of"), link.of, pair.of)
            known &= self._place((*at, "to"), link.to, pair.to)
            if known and (pair.of, pair.to) in seen:
                self.fault(
                    at,
                    "pair-twice",
                    f"{pair.of} and {pair.to} stand here already",
                    "each pair once",
                    "drop one",
                )
            seen.add((pair.of, pair.to))

    def _place(self, path: Steps, name: str, text: str) -> bool:
        """Whether a text is one place of a kind on this engine."""
        kind = self.whole.vocabulary.kinds[name]
        if name not in self._sheet.parts:
            self.fault(
                path,
                "part-not-on-sheet",
                f"this sheet has no {name}",
                "a part under parts",
                f"add {name} to the parts, or drop its pairs",
            )
            return False
        there = self._sheet.parts[name].places
        words = text.split(" ") if text else []
        if (
            len(words) == len(kind.axes)
            and all(self._on_axis(axis, word) for axis, word in zip(kind.axes, words, strict=True))
            and (not there or text in there)
        ):
            return True
        self.fault(
            path,
            "unknown-place",
            f"{text or 'an empty word'} is no place of {name} on this engine",
            "one place, told by " + " and ".join(kind.axes)
            if kind.axes
            else f"no pairs: there is one {name}",
            "write its number and words in that order, one place for each end of a pair",
        )
        return False

    def _on_axis(self, axis: str, word: str) -> bool:
        values = self.whole.vocabulary.axes[axis].values
        if values:
            return word in values
        number = self._sheet.axes.get(axis, 0)
        # Compared as text, since 01 is no place, and by length first, since a number may be of any length.
        return (
            word.isascii()
            and word.isdigit()
            and len(word) <= 9
            and word == str(int(word))
            and (1 <= int(word) <= number)
        )

    def _part(self, name: str, part: EnginePart) -> int:
        """Check one kind of part; returns how many places it has."""
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
                    f"say under axes how many there are on {axis}",
                )
            places *= values
        known = [self._place((*path, "places", index), name, text) for index, text in enumerate(part.places)]
        if known and all(known):
            places = len(set(part.places))
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
            of_new = (*path, "new", key)
            if self.word(of_new, key, kind.sizes, f"size of {name}") and self.of_dimension(
                of_new, quantity, self.size_quantity(name, key)
            ):
                check_positive(self, of_new, quantity, f"the new {key} of {name}")
        for index, limit in enumerate(part.limits):
            at = (*path, "limits", index)
            if self.dimension((*at, "dimension"), limit.dimension, name):
                wanted = vocabulary.dimensions[limit.dimension].quantity
                for side in ("at_most", "at_least"):
                    value = getattr(limit, side)
                    if value is not None:
                        self.of_dimension((*at, side), value, wanted)
                check_sides(self, at, limit)
                check_wear_limit(self, at, part, limit)
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
        check_nesting(self, (*path, "limits"), part.limits)
        for index, sizes in enumerate(part.repair_sizes):
            at = (*path, "repair_sizes", index)
            if self.word((*at, "operation"), sizes.operation, vocabulary.operations, "operation"):
                operation = vocabulary.operations[sizes.operation]
                if name not in operation.kinds or not operation.repair_size:
                    self.fault(
                        (*at, "operation"),
                        "not-of-this-kind",
                        f"operation {sizes.operation} does not take {name} to a repair size",
                        "an operation of this kind with repair_size: true",
                        "name another operation, or correct the vocabulary",
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
                    "give the new size, or drop these repair sizes",
                )
            check_repair_sizes(self, at, part, sizes)
        check_work(self, name, part, self._sheet)
        return places


def treatments(part: EnginePart, properties: Mapping[str, list[str]]) -> dict[str, str | None]:
    """What the sheet says of each property; None where it says nothing, or that nobody knows."""
    return {
        name: None if part.made.get(name, NOT_KNOWN) == NOT_KNOWN else part.made[name] for name in properties
    }
