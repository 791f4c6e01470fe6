"""The formulas of a dimension checked: each has readings of the right part and quantity, at enough places."""

from __future__ import annotations

from typing import Final

from advisor.sheets.checker import Checker
from advisor.sheets.places import Path as Steps
from advisor.sheets.vocabulary import Dimension, Formula, ReadingKind, Source

_AGAINST_SIZE: Final = ("below_size", "above_size", "short_of_new", "off_new")
"""Operators that need the size of a new part."""

_LINES: Final = {"out_of_round": "directions", "taper": "sections", "mean_taper": "sections"}
"""What an operator compares: it needs two of them at least."""

_SHARES: Final = ("short_of_new", "off_new", "set_spread_share", "short_of_best")
"""Operators that give a share, whatever their reading is."""

_FACES: Final = ("flatness", "flatness_least_squares")
"""Operators that need to know where each position lies."""


def check_formulas(checker: Checker, path: Steps, dimension: Dimension) -> None:
    """Note what is wrong with the formulas of the dimension at `path`."""
    for index, formula in enumerate(dimension.formulas):
        _formula(checker, (*path, "formulas", index), dimension, formula)
    for index, agreement in enumerate(dimension.agree):
        for side in ("other", "one", "least"):
            way: Formula | None = getattr(agreement, side)
            if way is not None:
                _formula(checker, (*path, "agree", index, side), dimension, way)
        if agreement.times <= 0:
            checker.fault(
                (*path, "agree", index, "times"),
                "agree-times",
                f"{agreement.times:f} times the other way is never the same thing",
                "a number above 0",
                "leave it out where the two ways give the same size",
            )


def _formula(checker: Checker, at: Steps, dimension: Dimension, formula: Formula) -> None:
    if formula.reading is not None:
        _reading(checker, at, dimension, formula, formula.reading)
    for side in ("outer", "inner"):
        source: Source | None = getattr(formula, side)
        if source is not None:
            _source(checker, (*at, side), dimension, source)
    if formula.sections and formula.reading in checker.whole.vocabulary.readings:
        known = checker.whole.vocabulary.readings[formula.reading].sections
        checker.words((*at, "sections"), formula.sections, known, f"section of {formula.reading}")
    if formula.among is not None:
        vocabulary = checker.whole.vocabulary
        holding = [name for name, each in vocabulary.sets.items() if set(dimension.kinds) <= set(each.kinds)]
        checker.word((*at, "among"), formula.among, holding, f"set of {' and '.join(dimension.kinds)}")


def check_positions(checker: Checker, path: Steps, reading: ReadingKind) -> None:
    """Note what is wrong with the sections, directions and spots of the reading at `path`."""
    positions = reading.positions()
    for name, spot in reading.spots.items():
        checker.word((*path, "spots", name), name, positions, "position of this reading")
        if len(spot) != 2:
            checker.fault(
                (*path, "spots", name),
                "spot-shape",
                f"{name} lies at {len(spot)} numbers" if spot else f"{name} lies nowhere",
                "two numbers: how far along the face, and how far across",
                "any scale will do for either",
            )
    if reading.spots and len(reading.spots) < len(positions):
        checker.fault(
            (*path, "spots"),
            "spot-missing",
            f"{next(each for each in positions if each not in reading.spots)} has no place on the face",
            "a spot for every position",
            "add it",
        )
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
    if formula.operator in _FACES and not reading.spots:
        checker.fault(
            (*at, "operator"),
            "formula-positions",
            f"{formula.operator} needs to know where each position lies, and reading {name} does not say",
            "a reading with spots",
            f"give {name} spots, or use another operator",
        )
    lines = _LINES.get(formula.operator)
    if lines is not None and len(getattr(reading, lines)) < 2:
        checker.fault(
            (*at, "operator"),
            "formula-positions",
            f"{formula.operator} compares {lines}, and reading {name} has fewer than two",
            f"a reading with two {lines} or more",
            f"name the {lines} of {name}, or use another operator",
        )
    if formula.over is not None:
        _per_length(checker, at, dimension, name, formula.over)
    _quantity(checker, (*at, "reading"), dimension, formula.operator, name, reading)


def _per_length(checker: Checker, at: Steps, dimension: Dimension, gap: str, over: str) -> None:
    readings = checker.whole.vocabulary.readings
    if not checker.word((*at, "over"), over, readings, "reading"):
        return
    for key, name in (("reading", gap), ("over", over)):
        quantity = readings[name].quantity
        if quantity != "length":
            checker.fault(
                (*at, key),
                "formula-quantity",
                f"per_length divides a length by a length, and {name} is a {quantity.replace('_', ' ')}",
                "a reading of a length",
                "name another reading",
            )
    for kind in dimension.kinds:
        if not checker.belongs((*at, "over"), over, readings[over].kinds, kind, "reading"):
            return


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
    gives = "share" if operator in _SHARES else "slope" if operator == "per_length" else reading.quantity
    if gives != dimension.quantity:
        checker.fault(
            at,
            "formula-quantity",
            f"{operator} of {name} gives a {gives.replace('_', ' ')}, "
            f"and the dimension is a {dimension.quantity.replace('_', ' ')}",
            f"quantity: {gives}",
            "correct the quantity of the dimension, or name another reading",
        )
