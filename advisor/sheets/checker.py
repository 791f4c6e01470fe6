"""Checks the words of one file against what a rule set declares, and collects the faults."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from advisor.faults import Fault, nearest
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Cite, Evidence
from advisor.units import DIMENSIONS, Quantity
from advisor.units.table import offer

ANYWHERE = "anywhere"
"""The relation to every other item of a kind; needs no declaration."""

IN_SET = "in_set"
"""The relation to the other items of the same set; follows from `sets`."""

ERROR_OF: Mapping[str, str] = {"temperature": "temperature_difference"}
"""What the error of an instrument is, where it is not of the kind that it measures."""


class Checker:
    """Collects faults about the words of one file."""

    elsewhere = "correct the word, or the part"
    """How to mend a word that belongs to another kind of part than {kind}."""

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
        renamed = self._present_name(word)
        if renamed in valid:
            self.fault(
                path,
                "word-renamed",
                f"{word} is called {renamed} now",
                renamed,
                "run `advisor migrate` on this file",
            )
            return False
        close = nearest(word, valid)
        # A list has an order that means something, such as the extents of a finding.
        listed = valid if isinstance(valid, list) else sorted(valid)
        some = ", ".join(listed[:12]) + (", ..." if len(listed) > 12 else "")
        self.fault(
            path,
            "unknown-word",
            f"{word or 'nothing'} is not {_a(noun)}",
            (f"one of {some}" if len(valid) > 1 else some) or f"{_a(noun)}, and none is declared",
            f'did you mean "{close}"?'
            if close
            else (declare or "correct the word here, or declare it in the vocabulary"),
        )
        return False

    def _present_name(self, word: str) -> str:
        """What the rule set's rename table makes of a word; the word itself where it has no entry."""
        table = self.whole.vocabulary.renamed
        seen = {word}
        while word in table and table[word] not in seen:
            word = table[word]
            seen.add(word)
        return word

    def known_version(self, version: int) -> None:
        """A file written with newer words than the rule set knows is not read by guess."""
        if version > self.whole.vocabulary_version:
            self.fault(
                ("vocabulary_version",),
                "newer-words",
                f"this file was written with version {version} of the words of rule set {self.whole.name}, "
                f"and this is version {self.whole.vocabulary_version}",
                f"at most {self.whole.vocabulary_version}",
                "use the newer rule set",
            )

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
            f"{name} is not {_a(noun)} of {kind}",
            f"{_a(noun)} of {kind}; {name} belongs to {', '.join(kinds)}",
            self.elsewhere.format(kind=kind),
        )
        return False

    def evidence(self, path: Steps, evidence: Evidence, kind: str) -> None:
        """The words of one piece of evidence asked for."""
        if evidence.finding is not None:
            self.finding((*path, "finding"), evidence.finding, kind)
        if evidence.dimension is not None:
            self.dimension((*path, "dimension"), evidence.dimension, kind)
        self.cites(path, evidence.cite)

    def of_dimension(self, path: Steps, quantity: Quantity, wanted: str) -> bool:
        """Whether a size is of the dimension wanted (a key of `DIMENSIONS`)."""
        if quantity.dimension == wanted or wanted not in DIMENSIONS:
            return True
        self.fault(
            path,
            "unit-dimension",
            f"{quantity.text} is {DIMENSIONS[quantity.dimension].noun}",
            offer(wanted),
            "correct the unit",
        )
        return False

    def links(self, path: Steps, relation: str, kinds: Iterable[str], other: str) -> bool:
        """Whether `relation` links one of `kinds` to the kind `other`; words that nothing declares pass."""
        vocabulary = self.whole.vocabulary
        asking = list(kinds)
        if relation not in vocabulary.relations or other not in vocabulary.kinds:
            return True
        links = vocabulary.relations[relation].links
        if not asking or any(each.of in asking and each.to == other for each in links):
            return True
        self.fault(
            path,
            "relation-links-nothing",
            f"{relation} does not link {' or '.join(asking)} to {other}",
            "; ".join(f"{each.of} to {each.to}" for each in links[:8]) or "a relation with links",
            "add the link to the relation, or use another relation",
        )
        return False

    def size_quantity(self, kind: str, size: str) -> str:
        """The quantity of a size of a new part: that of the reading of its name, and otherwise a length."""
        reading = self.whole.vocabulary.readings.get(size)
        return reading.quantity if reading is not None and kind in reading.kinds else "length"


def _a(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"
