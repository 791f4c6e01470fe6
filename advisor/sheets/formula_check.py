"""The formulas of a dimension checked: each has readings of the right part and quantity, at enough places."""

from __future__ import annotations

from typing import Final

from advisor.sheets.checker import Checker
from advisor.sheets.places import Path as Steps
from advisor.sheets.vocabulary import Dimension, Formula, ReadingKind, Source

_AGAINST_SIZE: Final = ("below_size", "above_size", "short_of_new")
"""Operators that need the size of a new part."""

_LINES: Final = {"out_of_round": "directions", "taper": "sections"}
"""What an operator compares: it needs two of them at least."""


def check_formulas(checker: Checker, path: Steps, dimension: Dimension) -> None:
    """Note what is wrong with the formulas of the dimension at `path`."""
    for index, formula in enumerate(dimension.formulas):
        at: Steps = (*path, "formulas", index)
        if formula.reading is not None:
            _reading(checker, at, dimension, formula, formula.reading)
        for side in ("outer", "inner"):
            source: Source | None = getattr(formula, side)
            if source is not None:
                _source(checker, (*at, side), dimension, source)


def check_positions(checker: Checker, path: Steps, reading: ReadingKind) -> None:
    """Note a section or direction of the reading at `path` that is named twice."""
    for key in ("sections", "directions"):
        words: list[str] = getattr(reading, key)
        for index, word in enumerate(words):
            if word in words[:index]:
                checker.fault(
                    (*path, key, index),
                    "word-twice",
                    f"{word} stands among the {key} already",
                    "each word once",
                    "drop or rename one",
                )


def _reading(checker: Checker, at: Steps, dimension: Dimension, formula: Formula, name: str) -> None:
    vocabulary = checker.whole.vocabulary
    if not checker.word((*at, "reading"), name, vocabulary.readings, "reading"):
        return
    reading = vocabulary.readings[name]
    for kind in dimension.kinds:
        if not checker.belongs((*at, "reading"), name, reading.kinds, kind, "reading"):
            return
        sized = kind not in vocabulary.kinds or name in vocabulary.kinds[kind].sizes
        if formula.operator in _AGAINST_SIZE and not sized:
            checker.fault(
                (*at, "reading"),
                "formula-size",
                f"{formula.operator} compares with the new {name} of {kind}, which no engine sheet can give",
                f"{name} among the sizes of {kind}",
                f"add {name} to the sizes of {kind}",
            )
            return
    lines = _LINES.get(formula.operator)
    if lines is not None and len(getattr(reading, lines)) < 2:
        checker.fault(
            (*at, "operator"),
            "formula-positions",
            f"{formula.operator} compares {lines}, and reading {name} has fewer than two",
            f"a reading with two {lines} or more",
            f"name the {lines} of {name}, or use another operator",
        )
    _quantity(checker, (*at, "reading"), dimension, formula.operator, name, reading)


def _source(checker: Checker, at: Steps, dimension: Dimension, source: Source) -> None:
    vocabulary = checker.whole.vocabulary
    known = checker.word((*at, "reading"), source.reading, vocabulary.readings, "reading")
    if len(source.on) > 1:
        checker.fault(
            (*at, "on"),
            "relation-shape",
            "`on` names more than one related part",
            "on: {relation: kind}",
            "write a formula of its own for each",
        )
        return
    kinds = dimension.kinds
    for relation, kind in source.on.items():
        here: Steps = (*at, "on", relation)
        declared = checker.word(here, relation, vocabulary.relations, "relation")
        if checker.word(here, kind, vocabulary.kinds, "kind of part") and declared:
            checker.links(here, relation, dimension.kinds, kind)
        kinds = [kind]
    if not known:
        return
    reading = vocabulary.readings[source.reading]
    # A formula may serve some of the kinds only: the next one serves the others.
    if not source.on or kinds[0] in vocabulary.kinds:
        for kind in kinds:
            if not checker.belongs((*at, "reading"), source.reading, reading.kinds, kind, "reading"):
                return
    _quantity(checker, (*at, "reading"), dimension, "clearance", source.reading, reading)


def _quantity(
    checker: Checker, at: Steps, dimension: Dimension, operator: str, name: str, reading: ReadingKind
) -> None:
    gives = "share" if operator == "short_of_new" else reading.quantity
    if gives != dimension.quantity:
        checker.fault(
            at,
            "formula-quantity",
            f"{operator} of {name} gives a {gives.replace('_', ' ')}, "
            f"and the dimension is a {dimension.quantity.replace('_', ' ')}",
            f"quantity: {gives}",
            "correct the quantity of the dimension, or name another reading",
        )
