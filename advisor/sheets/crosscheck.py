"""Names of a rule set checked against one another: every word used is declared, where it is used."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from pathlib import Path

from advisor.faults import Fault, Faults, nearest
from advisor.sheets.conditions import EvidenceIs, Stands, leaves
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.rules import ConditionText, RuleText
from advisor.sheets.ruleset import RuleSet, RuleSetFiles, concerns_of, merge, read_files, rule_positions
from advisor.sheets.vocabulary import Cite, Evidence, VocabularyFile
from advisor.units import DIMENSIONS

ANYWHERE = "anywhere"
"""The relation to every other item of a kind; needs no declaration."""

ERROR_OF: Mapping[str, str] = {"temperature": "temperature_difference"}
"""What the error of an instrument is, where it is not of the kind that it measures."""

IN_SET = "in_set"
"""The relation to the other items of the same set; follows from `sets`."""


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
        faults += _Rule(whole, rule, document, ("rules", index)).faults()
    for rules, document in files.rules:
        for index, limit in enumerate(rules.limits):
            checker = Checker(whole, document)
            path = ("limits", index)
            vocabulary = whole.vocabulary
            checker.word((*path, "part"), limit.part, vocabulary.kinds, "kind of part")
            checker.dimension((*path, "dimension"), limit.dimension, limit.part)
            checker.cites(path, limit.cite)
            sizes = vocabulary.kinds[limit.part].sizes if limit.part in vocabulary.kinds else []
            for side in ("at_most", "at_least"):
                size = getattr(limit, side)
                if size is not None and size.size is not None:
                    checker.word((*path, side, "size"), size.size, sizes, f"size of {limit.part}")
            if limit.band is not None:
                checker.word((*path, "band"), limit.band, sizes, f"size of {limit.part}")
            faults += checker.found
    cautions, document = files.cautions
    for key, caution in cautions.cautions.items():
        checker = Checker(whole, document)
        checker.cites(("cautions", key), caution.cite)
        faults += checker.found
    instruments, document = files.instruments
    for key, instrument in instruments.instruments.items():
        checker = Checker(whole, document)
        checker.cites(("instruments", key), instrument.cite)
        checker.word(("instruments", key, "measures"), instrument.measures, DIMENSIONS, "quantity")
        for field in ("limit", "up_to"):
            size = getattr(instrument, field)
            # The error of a thermometer is a difference of temperature; that of others is of their own kind.
            wanted = (
                ERROR_OF.get(instrument.measures, instrument.measures)
                if field == "limit"
                else instrument.measures
            )
            if wanted in DIMENSIONS and size is not None and size.dimension != wanted:
                checker.fault(
                    ("instruments", key, field),
                    "unit-dimension",
                    f"{size.text} is {DIMENSIONS[size.dimension].noun}",
                    DIMENSIONS[wanted].noun,
                    "correct the unit",
                )
        faults += checker.found
    return faults


class Checker:
    """Collects faults about the words of one file."""

    def __init__(self, whole: RuleSet, document: Document) -> None:
        self.whole = whole
        self.document = document
        self.found: list[Fault] = []

    def fault(self, path: Steps, code: str, what: str, expected: str = "", mend: str = "") -> None:
        """Note a fault at `path`."""
        self.found.append(Fault(code, what, expected, mend, self.document.positions[path]))

    def word(self, path: Steps, word: str, valid: Collection[str], noun: str, declare: str = "") -> bool:
        """Whether `word` is one of `valid`; a fault if not, with the nearest valid word."""
        if word in valid:
            return True
        close = nearest(word, valid)
        some = ", ".join(sorted(valid)[:12]) + (", ..." if len(valid) > 12 else "")
        self.fault(
            path,
            "unknown-word",
            f"{word} is not a {noun}" if noun[0] not in "aeiou" else f"{word} is not an {noun}",
            f"one of {some}" if valid else f"a {noun}, and none is declared",
            f'did you mean "{close}"?'
            if close
            else (declare or f"declare it in the vocabulary, or correct the {noun}"),
        )
        return False

    def words(self, path: Steps, given: Iterable[str], valid: Collection[str], noun: str) -> None:
        """`word` for each of a list."""
        for index, word in enumerate(given):
            self.word((*path, index), word, valid, noun)

    def cites(self, path: Steps, cites: Iterable[Cite], key: str = "cite") -> None:
        """Every source cited is in the bibliography."""
        for index, cite in enumerate(cites):
            self.word(
                (*path, key, index, "source"),
                cite.source,
                self.whole.sources,
                "source in the bibliography",
                "enter the source in the bibliography, or cite common_practice if nobody opened one",
            )

    def finding(self, path: Steps, finding: str, kind: str) -> bool:
        """Whether a finding is declared, and for this kind."""
        vocabulary = self.whole.vocabulary
        if not self.word(path, finding, vocabulary.findings, "finding"):
            return False
        return self.belongs(path, finding, vocabulary.findings[finding].kinds, kind, "finding")

    def dimension(self, path: Steps, dimension: str, kind: str) -> bool:
        """Whether a dimension is declared, and for this kind."""
        vocabulary = self.whole.vocabulary
        if not self.word(path, dimension, vocabulary.dimensions, "dimension"):
            return False
        return self.belongs(path, dimension, vocabulary.dimensions[dimension].kinds, kind, "dimension")

    def belongs(self, path: Steps, name: str, kinds: list[str], kind: str, noun: str) -> bool:
        """Whether `kind` is one of the kinds that a finding, dimension or reading is for."""
        if kind in kinds or kind not in self.whole.vocabulary.kinds:
            return True
        self.fault(
            path,
            "not-of-this-kind",
            f"{noun} {name} is not one of {kind}",
            f"a {noun} of {kind}; {name} belongs to {', '.join(kinds)}",
            f"add {kind} to its kinds, or ask it of a related item with `some:`",
        )
        return False

    def evidence(self, path: Steps, evidence: Evidence, kind: str) -> None:
        """The words of one piece of evidence asked for."""
        if evidence.finding is not None:
            self.finding((*path, "finding"), evidence.finding, kind)
        if evidence.dimension is not None:
            self.dimension((*path, "dimension"), evidence.dimension, kind)
        self.cites(path, evidence.cite)


class _Vocabulary(Checker):
    """The words of one vocabulary file."""

    def __init__(self, whole: RuleSet, model: VocabularyFile, document: Document) -> None:
        super().__init__(whole, document)
        self._model = model

    def faults(self) -> list[Fault]:
        model, all_ = self._model, self.whole.vocabulary
        kinds = all_.kinds
        for key, kind in model.kinds.items():
            path: Steps = ("kinds", key)
            self.words((*path, "axes"), kind.axes, all_.axes, "axis")
            self.word((*path, "consequence"), kind.consequence, all_.consequences, "consequence")
            self.words((*path, "cautions"), kind.cautions, self.whole.cautions, "caution")
            for index, evidence in enumerate(kind.evidence):
                self.evidence((*path, "evidence", index), evidence, key)
        for key, relation in model.relations.items():
            if key in (ANYWHERE, IN_SET):
                self.fault(
                    ("relations", key),
                    "reserved-word",
                    f"{key} is a word of the language",
                    "another name",
                    "",
                )
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
        for key, each in model.sets.items():
            self.words(("sets", key, "kinds"), each.kinds, kinds, "kind of part")
            self.words(("sets", key, "by"), each.by, all_.axes, "axis")
            self.cites(("sets", key), each.cite)
        for key, finding in model.findings.items():
            self.words(("findings", key, "kinds"), finding.kinds, kinds, "kind of part")
            if key in all_.dimensions:
                self.fault(
                    ("findings", key),
                    "name-twice",
                    f"{key} is a dimension too",
                    "different names for the two",
                    "",
                )
        for key, reading in model.readings.items():
            path = ("readings", key)
            self.words((*path, "kinds"), reading.kinds, kinds, "kind of part")
            self.word((*path, "quantity"), reading.quantity, DIMENSIONS, "quantity")
            self.words((*path, "instruments"), reading.instruments, self.whole.instruments, "instrument")
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
                if instrument is not None and instrument.measures != reading.quantity:
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
            for index, formula in enumerate(dimension.formulas):
                if formula.reading is not None:
                    self.word(
                        (*path, "formulas", index, "reading"), formula.reading, all_.readings, "reading"
                    )
                for side in ("outer", "inner"):
                    source = getattr(formula, side)
                    if source is not None:
                        at: Steps = (*path, "formulas", index, side)
                        self.word((*at, "reading"), source.reading, all_.readings, "reading")
                        for relation_name, kind_name in source.on.items():
                            self.word((*at, "on"), relation_name, all_.relations, "relation")
                            self.word((*at, "on"), kind_name, kinds, "kind of part")
        for key, operation in model.operations.items():
            path = ("operations", key)
            self.words((*path, "kinds"), operation.kinds, kinds, "kind of part")
            evidence_words = [*all_.readings, *all_.findings]
            self.words((*path, "voids"), operation.voids, evidence_words, "reading or finding")
            for index, linked in enumerate(operation.voids_linked):
                here = (*path, "voids_linked", index)
                self.word((*here, "relation"), linked.relation, [*all_.relations, IN_SET], "relation")
                self.word((*here, "kind"), linked.kind, kinds, "kind of part")
                self.words((*here, "voids"), linked.voids, evidence_words, "reading or finding")
            self.words((*path, "cautions"), operation.cautions, self.whole.cautions, "caution")
            for relation_name, kind_name in operation.renews.items():
                self.word((*path, "renews", relation_name), relation_name, all_.relations, "relation")
                self.word((*path, "renews", relation_name), kind_name, kinds, "kind of part")
            self.cites(path, operation.cite)
        for key, task in model.tasks.items():
            self.words(("tasks", key, "cautions"), task.cautions, self.whole.cautions, "caution")
        return self.found


class _Rule(Checker):
    """The words of one rule, and what its conclusions may rest on."""

    def __init__(self, whole: RuleSet, rule: RuleText, document: Document, path: Steps) -> None:
        super().__init__(whole, document)
        self._rule = rule
        self._path = path
        self._concluded = concerns_of(whole.rules)

    def faults(self) -> list[Fault]:
        rule, path, vocabulary = self._rule, self._path, self.whole.vocabulary
        if not self.word((*path, "for"), rule.for_, vocabulary.kinds, "kind of part"):
            return self.found
        if rule.when is not None:
            self._condition((*path, "when"), rule.when, rule.for_)
        answers = vocabulary.kinds[rule.for_].answers
        for index, bar in enumerate(rule.then.bar):
            at: Steps = (*path, "then", "bar", index)
            for answer in bar.answers:
                if answer not in answers:
                    self.fault(
                        (*at, "answers"),
                        "answer-not-open",
                        f"{answer} is not among the answers of {rule.for_}",
                        ", ".join(answers),
                        "drop it, or add it to the kind's answers",
                    )
            for name in bar.mend:
                if self.word((*at, "mend"), name, vocabulary.operations, "operation"):
                    self._operation((*at, "mend"), name)
        for index, evidence in enumerate(rule.then.require):
            self.evidence((*path, "then", "require", index), evidence, rule.for_)
        self.words((*path, "then", "concern"), rule.then.concern, vocabulary.concerns, "concern")
        self.words((*path, "then", "task"), rule.then.task, vocabulary.tasks, "task")
        self.words((*path, "cautions"), rule.cautions, self.whole.cautions, "caution")
        self.cites(path, rule.cite)
        self._grounds()
        return self.found

    def _operation(self, at: Steps, name: str) -> None:
        rule, operation = self._rule, self.whole.vocabulary.operations[name]
        if rule.for_ not in operation.kinds:
            self.fault(
                at,
                "not-of-this-kind",
                f"operation {name} is not done to {rule.for_}",
                f"an operation of {rule.for_}; {name} is for {', '.join(operation.kinds)}",
                f"add {rule.for_} to its kinds, or name another operation",
            )
        if "recondition" not in self.whole.vocabulary.kinds[rule.for_].answers:
            self.fault(
                at,
                "answer-not-open",
                f"{rule.for_} is never reconditioned, so nothing mends this bar",
                "no mend",
                "drop mend, or add recondition to the kind's answers",
            )

    def _grounds(self) -> None:
        """A bar may not rest on missing evidence, nor on a limit that is not for throwing away."""
        if not (self._rule.then.bar or self._rule.then.concern):
            return
        for leaf in leaves(self._rule.condition):
            if isinstance(leaf, EvidenceIs):
                self.fault(
                    (*self._path, "when"),
                    "bar-on-missing-evidence",
                    f"rule {self._rule.id} concludes from evidence that is missing",
                    "only require and task under such a condition",
                    "ask for the evidence with `require`, and bar in a rule that has seen it",
                )
            stands = leaf if isinstance(leaf, Stands) else getattr(leaf, "leaf", None)
            if self._rule.then.bar and isinstance(stands, Stands) and stands.purpose != "discard":
                self.fault(
                    (*self._path, "when"),
                    "bar-on-limit",
                    f"rule {self._rule.id} bars an answer on a limit for {stands.purpose}",
                    "a limit for discard",
                    "the other limits are for new parts and for going back together: use `task` there",
                )

    def _condition(self, path: Steps, condition: ConditionText, kind: str) -> None:
        for key in ("all", "any", "of"):
            for index, part in enumerate(getattr(condition, key) or ()):
                self._condition((*path, key, index), part, kind)
        if condition.absent is not None:
            self._condition((*path, "absent"), condition.absent, kind)
        link = condition.some or condition.every
        if link is not None:
            kind = self._link((*path, "some" if condition.some else "every"), link, kind)
        self._leaf(path, condition, kind)

    def _link(self, path: Steps, link: dict[str, str], kind: str) -> str:
        vocabulary = self.whole.vocabulary
        for relation, other in link.items():
            if relation == "at_least":
                continue
            self.word((*path, relation), other, vocabulary.kinds, "kind of part")
            if relation == ANYWHERE:
                return other
            if relation == IN_SET:
                self._shared_set((*path, relation), kind, other)
            elif self.word((*path, relation), relation, vocabulary.relations, "relation"):
                links = vocabulary.relations[relation].links
                if other in vocabulary.kinds and not any(
                    each.of == kind and each.to == other for each in links
                ):
                    self.fault(
                        (*path, relation),
                        "relation-links-nothing",
                        f"{relation} does not link {kind} to {other}",
                        "; ".join(f"{each.of} to {each.to}" for each in links[:8]),
                        "add the link to the relation, or use another relation",
                    )
            return other
        return kind

    def _shared_set(self, path: Steps, kind: str, other: str) -> None:
        sets = self.whole.vocabulary.sets
        if not any(kind in each.kinds and other in each.kinds for each in sets.values()):
            self.fault(
                path,
                "relation-links-nothing",
                f"no set holds both {kind} and {other}",
                "two kinds of one set",
                "add them to a set in the vocabulary",
            )

    def _leaf(self, path: Steps, condition: ConditionText, kind: str) -> None:
        vocabulary = self.whole.vocabulary
        if condition.finding is not None and self.finding((*path, "finding"), condition.finding, kind):
            extents = vocabulary.findings[condition.finding].extents
            for key, extent in (
                ("at_least", condition.at_least),
                ("at_most", condition.at_most),
                ("is", condition.is_),
            ):
                if extent is not None:
                    self.word((*path, key), extent, extents, f"extent of {condition.finding}")
            if (
                condition.at_least == "none"
                or condition.at_most == list(extents)[-1]
                or (
                    condition.at_least in extents
                    and condition.at_most in extents
                    and list(extents).index(condition.at_least) > list(extents).index(condition.at_most)
                )
            ):
                self.fault(
                    path,
                    "extent-always",
                    f"finding {condition.finding} is compared in a way that says nothing",
                    "at_least beyond none, at_most short of the last extent, and no less than at_least",
                    "for looked for and not there write is: none",
                )
        if condition.dimension is not None:
            self.dimension((*path, "dimension"), condition.dimension, kind)
        if condition.concern is not None and self.word(
            (*path, "concern"), condition.concern, vocabulary.concerns, "concern"
        ):
            concluded = any(
                rule.for_ == kind and condition.concern in rule.then.concern for rule in self.whole.rules
            )
            if not concluded:
                self.fault(
                    (*path, "concern"),
                    "concern-never-concluded",
                    f"no rule concludes {condition.concern} about {kind}",
                    "a concern that a rule for that kind concludes",
                    "write that rule, or look at the concern where it is concluded",
                )
        if condition.evidence is not None:
            names = {
                name
                for entries in (vocabulary.findings, vocabulary.dimensions)
                for name, each in entries.items()
                if kind in each.kinds
            }
            self.word((*path, "evidence"), condition.evidence, names, f"finding or dimension of {kind}")
        if condition.property is not None and kind in vocabulary.kinds:
            properties = vocabulary.kinds[kind].properties
            if self.word((*path, "property"), condition.property, properties, f"property of {kind}"):
                self.word(
                    (*path, "is"),
                    condition.is_ or "",
                    properties[condition.property],
                    f"value of {condition.property}",
                )
        if condition.layout is not None and self.word(
            (*path, "layout"), condition.layout, vocabulary.layout, "layout key"
        ):
            values = vocabulary.layout[condition.layout].values
            self.word((*path, "is"), condition.is_ or "", values, f"value of {condition.layout}")
