"""The examples of a rule in plain language."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.explain.wording import fact, linked
from advisor.sheets.conditions import HasConcern, HasProperty, LayoutIs, Origin, PlaceUnknown
from advisor.sheets.vocabulary import VocabularyFile
from advisor.verdicts.words import plain, short_label


def example(entry: Mapping[str, object], vocabulary: VocabularyFile) -> str:
    """An example that was read and checked with its rule, in words; what it leaves out is not told."""
    return "; ".join(_told(entry, vocabulary)) or "nothing was found, and every size is inside its limits"


def _told(entry: Mapping[str, object], vocabulary: VocabularyFile) -> Iterator[str]:
    for key, value in entry.items():
        match key:
            case "concerns":
                yield from (fact(HasConcern(str(name)), vocabulary) for name in _list(value))
            case "made":
                yield from (fact(HasProperty(name, str(word)), vocabulary) for name, word in _pairs(value))
            case "layout":
                yield from (fact(LayoutIs(name, str(word)), vocabulary) for name, word in _pairs(value))
            case "place":
                yield fact(PlaceUnknown(), vocabulary)
            case "origin":
                yield fact(Origin(str(value)), vocabulary)
            case "missing":
                yield from (f"{_label(name, vocabulary)}: {state}" for name, state in _pairs(value))
            case "related":
                yield from (_related(each, vocabulary) for each in _list(value))
            case _ if key in vocabulary.dimensions:
                yield from (f"{_label(key, vocabulary)} {_standing(each)}" for each in _list(value))
            case _:
                extent = "looked for, and not there" if value == "none" else plain(str(value))
                yield f"{_label(key, vocabulary)}: {extent}"


def _related(entry: object, vocabulary: VocabularyFile) -> str:
    """A linked item: its first key that is a relation says how it is linked, and of which kind it is."""
    told = dict(_pairs(entry))
    relation = next(key for key in told if key in (*vocabulary.relations, "anywhere", "in_set"))
    kind = short_label(vocabulary.kinds[str(told.pop(relation))].label)
    which = linked(relation, kind, vocabulary)
    return f"on a {which}: {' and '.join(_told(told, vocabulary)) or 'nothing was found'}"


def _standing(text: object) -> str:
    how, _, purpose = str(text).rpartition(" ")
    if how == "in doubt":
        return f"too close to the limit for {purpose} to tell"
    return f"{how} the limit for {purpose}"


def _label(name: str, vocabulary: VocabularyFile) -> str:
    known = vocabulary.findings.get(name) or vocabulary.dimensions[name]
    return known.label


def _list(value: object) -> list[object]:
    return list(value) if isinstance(value, list | tuple) else [value]


def _pairs(value: object) -> list[tuple[str, object]]:
    assert isinstance(value, Mapping)
    return [(str(key), each) for key, each in value.items()]
