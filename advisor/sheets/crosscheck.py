"""Names of a rule set checked against one another: every word used is declared, where it is used."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import Path

from advisor.faults import Fault, Faults
from advisor.sheets.bench import UNKNOWN_PLACE
from advisor.sheets.case import NOT_THERE
from advisor.sheets.checker import ANYWHERE, ERROR_OF, IN_SET, Checker
from advisor.sheets.formula_check import check_formulas, check_positions
from advisor.sheets.limit_check import check_thumbs
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.rule_check import RuleChecker, check_own_places
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet, RuleSetFiles, merge, read_files, rule_positions
from advisor.sheets.ruleset_files import InstrumentFile
from advisor.sheets.vocabulary import NOT_KNOWN, Link, VocabularyFile
from advisor.units import DIMENSIONS, Quantity

__all__ = ["ANYWHERE", "ERROR_OF", "IN_SET", "Checker", "check_names", "load_ruleset"]

_ERRORS = ("limit", "resolution", "repeatability", "blade")
"""What an instrument says of its error."""

_PLACE_WORDS = ("all", "to", UNKNOWN_PLACE)
"""Words that a place is written with, and so no names on an axis."""


def load_ruleset(folder: Path) -> RuleSet:
    """Read a rule set from its folder and check its names.

    Raises `Faults` with everything that is wrong in any of its files.
    """
    files = read_files(folder)
    whole, faults = merge(files)
    faults += check_names(whole, files)
    if faults:
        raise Faults(sorted(faults, key=lambda fault: (fault.at is None, fault.at)))
    return whole


def check_names(whole: RuleSet, files: RuleSetFiles) -> list[Fault]:
    """A fault for every name that nothing declares, and for what a rule may not do."""
    faults = _check_names(whole, files)
    if not faults or files.base is None:
        return faults
    # What is wrong in the files of a base that is sound by itself is the work of the house.
    base, _ = merge(files.base)
    before = {(fault.code, fault.at) for fault in check_names(base, files.base)}
    return [
        fault
        if (fault.code, fault.at) in before or fault.at is None or fault.at.file in files.house_files
        else replace(fault, what=f"with the house rules {whole.house[-1].name}, {fault.what}")
        for fault in faults
    ]


def _check_names(whole: RuleSet, files: RuleSetFiles) -> list[Fault]:
    faults: list[Fault] = []
    for model, document in files.vocabulary:
        faults += _Vocabulary(whole, model, document).faults()
    seen: dict[str, RuleText] = {}
    for rule, document, index in rule_positions(files):
        if rule.id in seen:
            faults.append(
                Fault(
                    "rule-twice",
                    f"there is a rule {rule.id} already",
                    "each rule id once",
                    f"see {seen[rule.id].at}; rename one",
                    document.positions["rules", index, "id"],
                )
            )
        seen[rule.id] = rule
        path: Steps = ("rules", index)
        own = RuleChecker(whole, rule, document, path).faults()
        faults += own
        for name in rule.alternatives if not own else ():
            other = RuleChecker(whole, rule.following(name), document, (*path, "alternatives", name))
            faults += other.faults()
    faults += check_own_places(whole, files)
    faults += check_thumbs(whole, files)
    for cautions, document in (files.cautions, *files.more_cautions):
        for key, caution in cautions.cautions.items():
            checker = Checker(whole, document)
            checker.cites(("cautions", key), caution.cite)
            faults += checker.found
    for instruments, document in (files.instruments, *files.more_instruments):
        faults += _instruments(whole, instruments, document)
    return faults


def _instruments(whole: RuleSet, instruments: InstrumentFile, document: Document) -> list[Fault]:
    faults: list[Fault] = []
    for key, instrument in instruments.instruments.items():
        checker = Checker(whole, document)
        checker.cites(("instruments", key), instrument.cite)
        checker.word(("instruments", key, "measures"), instrument.measures, DIMENSIONS, "quantity")
        sizes = [(field, getattr(instrument, field)) for field in (*_ERRORS, "up_to")]
        sizes += [("from", instrument.from_)]
        sizes += [("turns", turn) for turn in instrument.turns]
        for field, size in sizes:
            # The error of a thermometer is a difference of temperature; that of others is of their own kind.
            wanted = instrument.measures
            if field in _ERRORS:
                wanted = ERROR_OF.get(wanted, wanted)
            if size is not None and checker.of_dimension(("instruments", key, field), size, wanted):
                _above_nothing(checker, ("instruments", key, field), size)
        others = [
            name
            for name, each in instruments.instruments.items()
            if each.sets and each.measures == instrument.measures
        ]
        for index, setter in enumerate(instrument.set_with):
            at: Steps = ("instruments", key, "set_with", index)
            checker.word(
                at, setter, others, "instrument for that quantity that is not itself set with another"
            )
        faults += checker.found
    return faults


def _wholes_of(kind: str, vocabulary: VocabularyFile) -> set[str]:
    """The kind itself, and every kind that it, or its whole, is one piece with."""
    found = {kind}
    waiting = [kind]
    while waiting:
        here = waiting.pop()
        for relation in vocabulary.relations.values():
            for link in relation.links:
                if link.integral and link.of == here and link.to not in found:
                    found.add(link.to)
                    waiting.append(link.to)
    return found


def _above_nothing(checker: Checker, path: Steps, size: Quantity) -> None:
    if size.value <= 0 and size.dimension != "temperature":
        checker.fault(
            path,
            "error-not-positive",
            f"{size.text} would be an instrument that never errs",
            "a size above 0",
            "take it from its table or certificate, or leave it out where it may be",
        )


class _Vocabulary(Checker):
    """The words of one vocabulary file."""

    elsewhere = "add {kind} to its kinds, or name another"

    def __init__(self, whole: RuleSet, model: VocabularyFile, document: Document) -> None:
        super().__init__(whole, document)
        self._model = model

    def faults(self) -> list[Fault]:
        model, all_ = self._model, self.whole.vocabulary
        kinds = all_.kinds
        for key, axis in model.axes.items():
            self._said_once(("axes", key, "values"), axis.values, _PLACE_WORDS)
        for key, kind in model.kinds.items():
            path: Steps = ("kinds", key)
            for name, values in kind.properties.items():
                self._said_once((*path, "properties", name), values, (NOT_KNOWN,))
            self.words((*path, "axes"), kind.axes, all_.axes, "axis")
            if kind.material is not None:
                self.word((*path, "material"), kind.material, all_.materials, "material")
            if kind.material_of is not None:
                self.word((*path, "material_of"), kind.material_of, kinds, "kind of part")
            self.word((*path, "consequence"), kind.consequence, all_.consequences, "consequence")
            self.words((*path, "cautions"), kind.cautions, self.whole.cautions, "caution")
            for index, evidence in enumerate(kind.evidence):
                self.evidence((*path, "evidence", index), evidence, key)
        for key, relation in model.relations.items():
            if key in (ANYWHERE, IN_SET):
                self._reserved(("relations", key), key)
            for index, link in enumerate(relation.links):
                path = ("relations", key, "links", index)
                known = self.word((*path, "of"), link.of, kinds, "kind of part")
                known &= self.word((*path, "to"), link.to, kinds, "kind of part")
                if known:
                    shared = [axis for axis in kinds[link.of].axes if axis in kinds[link.to].axes]
                    self.words((*path, "by"), link.by, shared, f"axis of both {link.of} and {link.to}")
                    if link.next_to is not None:
                        self.word(
                            (*path, "next_to"), link.next_to, shared, f"axis of both {link.of} and {link.to}"
                        )
                if link.integral:
                    self._integral((*path, "integral"), key, link)
        for key, each in model.sets.items():
            self.words(("sets", key, "kinds"), each.kinds, kinds, "kind of part")
            axes = {axis for kind in each.kinds if kind in kinds for axis in kinds[kind].axes}
            self.words(("sets", key, "by"), each.by, axes, f"axis of a kind in set {key}")
            self.cites(("sets", key), each.cite)
        for key, finding in model.findings.items():
            self.words(("findings", key, "kinds"), finding.kinds, kinds, "kind of part")
            for extent in NOT_THERE.keys() & finding.extents.keys():
                self._reserved(("findings", key, "extents", extent), extent)
            if key in all_.dimensions:
                self.fault(
                    ("findings", key),
                    "name-twice",
                    f"{key} is a dimension too",
                    "different names for the two",
                    "rename one",
                )
        for key, reading in model.readings.items():
            path = ("readings", key)
            self.words((*path, "kinds"), reading.kinds, kinds, "kind of part")
            self.word((*path, "quantity"), reading.quantity, DIMENSIONS, "quantity")
            self.words((*path, "instruments"), reading.instruments, self.whole.instruments, "instrument")
            check_positions(self, path, reading)
            if not reading.instruments:
                self.fault(
                    path,
                    "reading-without-instrument",
                    f"reading {key} does not say what it is taken with, so its error would count as nothing",
                    "instruments: a list with at least one",
                    "name an instrument of the rule set, or add one with its limit of error",
                )
            for index, name in enumerate(reading.instruments):
                instrument = self.whole.instruments.get(name)
                if (
                    instrument is not None
                    and {instrument.measures, reading.quantity} <= DIMENSIONS.keys()
                    and instrument.measures != reading.quantity
                ):
                    self.fault(
                        (*path, "instruments", index),
                        "instrument-quantity",
                        f"{name} measures {instrument.measures.replace('_', ' ')}",
                        f"an instrument for {reading.quantity.replace('_', ' ')}",
                        "name another instrument",
                    )
        for key, dimension in model.dimensions.items():
            path = ("dimensions", key)
            self.words((*path, "kinds"), dimension.kinds, kinds, "kind of part")
            self.word((*path, "quantity"), dimension.quantity, DIMENSIONS, "quantity")
            check_formulas(self, path, dimension)
        for key, operation in model.operations.items():
            path = ("operations", key)
            self.words((*path, "kinds"), operation.kinds, kinds, "kind of part")
            evidence_words = [*all_.readings, *all_.findings]
            self.words((*path, "voids"), operation.voids, evidence_words, "reading or finding")
            self.words((*path, "leaves"), operation.leaves, operation.voids, "reading that this work voids")
            for index, linked in enumerate(operation.voids_linked):
                here = (*path, "voids_linked", index)
                self.word((*here, "relation"), linked.relation, [*all_.relations, IN_SET], "relation")
                self.word((*here, "kind"), linked.kind, kinds, "kind of part")
                self.words((*here, "voids"), linked.voids, evidence_words, "reading or finding")
            self.words((*path, "cautions"), operation.cautions, self.whole.cautions, "caution")
            for relation_name, kind_name in operation.renews.items():
                self.word((*path, "renews", relation_name), relation_name, all_.relations, "relation")
                if self.word((*path, "renews", relation_name), kind_name, kinds, "kind of part"):
                    self.links((*path, "renews", relation_name), relation_name, operation.kinds, kind_name)
            self.cites(path, operation.cite)
        for key, task in model.tasks.items():
            self.words(("tasks", key, "cautions"), task.cautions, self.whole.cautions, "caution")
        return self.found

    def _integral(self, path: Steps, relation: str, link: Link) -> None:
        """A part that cannot be renewed by itself belongs to a whole, and never, by any way, to itself."""
        if not self.whole.vocabulary.relations[relation].whole:
            self.fault(
                path,
                "integral-without-whole",
                f"{link.of} is to be one piece with {link.to}, and {relation} links no part to its whole",
                "`integral` only on links of a relation with `whole: true`",
                f"add `whole: true` to {relation}, or move the link to a relation that has it",
            )
        if link.of in _wholes_of(link.to, self.whole.vocabulary):
            self.fault(
                path,
                "integral-circle",
                f"the links that make one piece go in a circle: {link.of} would be part of itself",
                "parts linked to their whole, and never back",
                "take `integral` from the link that goes from a whole to its part",
            )

    def _reserved(self, path: Steps, word: str) -> None:
        self.fault(
            path,
            "reserved-word",
            f"{word} is a word of the language and means something already",
            "another word",
            "rename it",
        )

    def _said_once(self, path: Steps, words: Sequence[str], reserved: Collection[str]) -> None:
        """Words to choose from: each is one word, said once, and none that means something else there."""
        for index, word in enumerate(words):
            if word in reserved:
                self._reserved((*path, index), word)
            elif not word or any(char.isspace() or char == "," for char in word):
                self.fault(
                    (*path, index),
                    "not-one-word",
                    f'"{word}" is not one word',
                    "a word without spaces and commas",
                    "join its words with underscores",
                )
            elif word in words[:index]:
                self.fault(
                    (*path, index), "word-twice", f"{word} stands here already", "each word once", "drop one"
                )
