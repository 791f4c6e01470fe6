"""Checks the words of one file against what a rule set declares, and collects the faults."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Iterable, Mapping
from typing import Final, Protocol

from advisor.faults import Fault
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import quoted
from advisor.sheets.vocabulary import Cite, Evidence
from advisor.units import DIMENSIONS, Quantity
from advisor.units.table import offer

ANYWHERE = "anywhere"
"""The relation to every other item of a kind; needs no declaration."""

IN_SET = "in_set"
"""The relation to the other items of the same set; follows from `sets`."""

MOST_OFFERED: Final = 12
"""Words listed in a message."""

ERROR_OF: Mapping[str, str] = {"temperature": "temperature_difference"}
"""What the error of an instrument is, where it is not of the kind that it measures."""


class OfKinds(Protocol):
    """What is declared for some kinds of part."""

    @property
    def kinds(self) -> list[str]:
        """The kinds."""


class Checker:
    """Collects faults about the words of one file."""

    elsewhere = "correct the word, or the part"
    """How to mend a word that belongs to another kind of part than {kind}."""

    otherwise = "correct the word here, or declare it in the vocabulary"
    """How to mend a word that is like no other."""

    def __init__(self, whole: RuleSet, document: Document) -> None:
        self.whole = whole
        self.document = document
        self.found: list[Fault] = []

    def fault(self, path: Steps, code: str, what: str, expected: str = "", mend: str = "") -> None:
        """Note a fault at `path`."""
        self.found.append(Fault(code, what, expected, mend, self.document.positions[path]))

    def word(
        self,
        path: Steps,
        word: str,
        valid: Collection[str],
        noun: str,
        declare: str = "",
        offer: Collection[str] | None = None,
    ) -> bool:
        """Whether `word` is one of `valid`; a fault if not, with the nearest valid word.

        Where `valid` maps words to what they stand for, their labels are known too. `offer` holds the words
        that could be meant, where these are not all of them.
        """
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
        offered = valid if offer is None else offer
        close = meant(word, offered, valid) or meant(word, valid, valid)
        self.fault(
            path,
            "unknown-word",
            f"{shown(word) or 'nothing'} is not {_a(noun)}",
            some_of(word, offered) or f"{_a(noun)}, and none is declared",
            f'did you mean "{close}"?' if close else (declare or self.otherwise),
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
        if not self.own_word(path, finding, vocabulary.findings, kind, "finding"):
            return False
        return self.belongs(path, finding, vocabulary.findings[finding].kinds, kind, "finding")

    def dimension(self, path: Steps, dimension: str, kind: str) -> bool:
        """Whether a dimension is declared, and for this kind."""
        vocabulary = self.whole.vocabulary
        if not self.own_word(path, dimension, vocabulary.dimensions, kind, "dimension"):
            return False
        return self.belongs(path, dimension, vocabulary.dimensions[dimension].kinds, kind, "dimension")

    def own_word(self, path: Steps, word: str, declared: Mapping[str, OfKinds], kind: str, noun: str) -> bool:
        """Whether a word is declared; a fault offers those that this kind of part has."""
        if word in declared:
            return True
        own = [name for name, each in declared.items() if kind in each.kinds]
        return self.word(path, word, declared, f"{noun} of {kind}" if own else noun, offer=own or None)

    def belongs(self, path: Steps, name: str, kinds: list[str], kind: str, noun: str) -> bool:
        """Whether `kind` is one of the kinds that a finding, dimension or reading is for."""
        if kind in kinds or kind not in self.whole.vocabulary.kinds:
            return True
        self.fault(
            path,
            "not-of-this-kind",
            f"{name} is not {_a(noun)} of {kind}",
            f"{self._own(noun, kind)}; {name} belongs to {', '.join(kinds)}",
            self.elsewhere.format(kind=kind),
        )
        return False

    def _own(self, noun: str, kind: str) -> str:
        """The words of a sort that a kind of part has, for a message."""
        declared: Mapping[str, OfKinds] = getattr(self.whole.vocabulary, f"{noun}s", {})
        own = [name for name, each in declared.items() if kind in each.kinds]
        if not own or len(own) > MOST_OFFERED:
            return f"{_a(noun)} of {kind}"
        return f"{_a(noun)} of {kind}: {', '.join(own)}"

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


def shown(word: str) -> str:
    """A word as it is told: as it was typed, or with what cannot be seen in it written out."""
    return word if word.isprintable() else quoted(word)


def some_of(word: str, valid: Collection[str]) -> str:
    """All of a few words, or those most like `word` of many."""
    if len(valid) <= MOST_OFFERED:
        # A list has an order that means something, such as the extents of a finding.
        listed = list(valid) if isinstance(valid, list) else sorted(valid)
        return f"one of {', '.join(listed)}" if len(listed) > 1 else "".join(listed)
    like = difflib.SequenceMatcher(b=_folded(word))

    def unlike(each: str) -> tuple[float, str]:
        like.set_seq1(_folded(each))
        return -like.ratio(), each

    nearest_first = sorted(valid, key=unlike)[:MOST_OFFERED]
    return f"one of {', '.join(nearest_first)} and {len(valid) - MOST_OFFERED} more"


def meant(word: str, offered: Collection[str], declared: object) -> str:
    """The word of `offered` probably meant: by its spelling, its words in another order, or its label."""
    spellings: dict[str, str] = {}
    for each in offered:
        label = getattr(declared[each], "label", "") if isinstance(declared, Mapping) else ""
        for spelling in (_folded(each), _folded(str(label))):
            spellings.setdefault(spelling, each)
    typed = _folded(word)
    in_order = sorted(typed.split())
    for spelling, each in spellings.items():
        if typed and in_order == sorted(spelling.split()):
            return each
    close = difflib.get_close_matches(typed, spellings, n=1, cutoff=0.6) if len(typed) <= _LONGEST else []
    return spellings[close[0]] if close else ""


_LONGEST: Final = 100


def _folded(text: str) -> str:
    """A word or label without what people spell in several ways: capitals, underscores, hyphens."""
    return re.sub(r"[\s_-]+", " ", text.casefold()).strip()


def _a(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"
