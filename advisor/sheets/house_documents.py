"""The files of a base as they are with the house's changes in them, every word still at its place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from pydantic import BaseModel

from advisor.sheets.house_changes import Edits, key_of
from advisor.sheets.places import Block, Document, Items, Node, Positions, Spot
from advisor.sheets.rule_of_thumb import RuleOfThumb
from advisor.sheets.rules import RuleFile
from advisor.sheets.ruleset import RuleSetFiles
from advisor.sheets.ruleset_files import InstrumentFile
from advisor.sheets.vocabulary import VocabularyFile

M = TypeVar("M", bound=BaseModel)


def changed_files(files: RuleSetFiles, edits: Edits) -> RuleSetFiles:
    """`files` without what the house retires, and with what it changes."""
    instruments, *more_instruments = (
        _instruments(each, edits) for each in (files.instruments, *files.more_instruments)
    )
    return replace(
        files,
        vocabulary=tuple(_vocabulary(each, edits) for each in files.vocabulary),
        rules=tuple(_rules(model, document, edits) for model, document in files.rules),
        instruments=instruments,
        more_instruments=tuple(more_instruments),
    )


def limits_file(document: Document, edits: Edits) -> tuple[RuleFile, Document]:
    """The limits that a house changed, as a file of rules whose words stand where the house wrote them."""
    assert isinstance(document.data, Block)
    limits: list[RuleOfThumb] = []
    nodes, spots = [], []
    # In an order of their own, so that the order of the entries changes nothing.
    for _, (limit, index) in sorted(edits.limits.items(), key=lambda each: each[0]):
        entry = _item(document.data, "limits", index)
        limits.append(limit)
        nodes.append(_merged(entry, entry[limit.change]))
        spots.append(entry.spot)
    data = Block(document.file, document.data.spot)
    _put(data, "limits", _items(nodes, spots), document.data.spot)
    model = RuleFile.model_construct(None, format="1", rules=[], limits=limits)
    return model, Document(document.file, data, Positions(document.file, data, document.data.spot))


def _vocabulary(each: tuple[VocabularyFile, Document], edits: Edits) -> tuple[VocabularyFile, Document]:
    model, document = each
    new = {name: edits.consequences.get(name, entry) for name, entry in model.consequences.items()}
    return _with(model, model.consequences, consequences=new), document


def _instruments(each: tuple[InstrumentFile, Document], edits: Edits) -> tuple[InstrumentFile, Document]:
    model, document = each
    new = {name: edits.instruments.get(name, entry) for name, entry in model.instruments.items()}
    return _with(model, model.instruments, instruments=new), document


def _with(model: M, old: object, **update: Mapping[str, object]) -> M:
    """A model with an update; the model itself where that changes nothing."""
    return model if list(update.values()) == [old] else model.model_copy(update=update)


def _rules(model: RuleFile, document: Document, edits: Edits) -> tuple[RuleFile, Document]:
    """A file of rules, its document cut in the same way as its rules and limits are."""
    retired = any(rule.id in edits.retired or rule.id in edits.followed for rule in model.rules)
    touched = [key_of(limit) for limit in model.limits]
    if not retired and not any(key in edits.limits or key in edits.followed_limits for key in touched):
        return model, document
    assert isinstance(document.data, Block)
    data = Block(document.file, document.data.spot)
    for key, node in document.data.items():
        if key not in ("rules", "limits"):
            _put(data, key, node, document.data.spots[key][1])
    rules, nodes, spots = [], [], []
    for index, rule in enumerate(model.rules):
        if rule.id in edits.retired:
            continue
        block = _item(document.data, "rules", index)
        spots.append(block.spot)
        if rule.id in edits.followed:
            name = edits.followed[rule.id][0]
            rules.append(rule.following(name))
            nodes.append(_merged(block, _inner(block, name)))
        else:
            rules.append(rule)
            nodes.append(block)
    if "rules" in document.data:
        _put(data, "rules", _items(nodes, spots), document.data.spots["rules"][1])
    limits: list[RuleOfThumb] = []
    nodes, spots = [], []
    for index, limit in enumerate(model.limits):
        key_here = key_of(limit)
        if key_here in edits.limits:
            continue
        block = _item(document.data, "limits", index)
        spots.append(block.spot)
        if key_here in edits.followed_limits:
            followed, name = edits.followed_limits[key_here]
            limits.append(followed)
            nodes.append(_merged(block, _inner(block, name)))
        else:
            limits.append(limit)
            nodes.append(block)
    if "limits" in document.data:
        _put(data, "limits", _items(nodes, spots), document.data.spots["limits"][1])
    new = model.model_copy(update={"rules": rules, "limits": limits})
    return new, Document(document.file, data, Positions(document.file, data, document.positions.root))


def _item(data: Block, section: str, index: int) -> Block:
    items = data[section]
    assert isinstance(items, Items)
    block = items[index]
    assert isinstance(block, Block)
    return block


def _inner(block: Block, name: str) -> Block:
    """The node of one of the alternatives."""
    alternatives = block["alternatives"]
    assert isinstance(alternatives, Block)
    inner = alternatives[name]
    assert isinstance(inner, Block)
    return inner


def _merged(block: Block, over: Node) -> Block:
    """A mapping with the keys of another in place of its own."""
    merged = Block(block.file, block.spot)
    for source in (block, over):
        if isinstance(source, Block):
            merged.update(source)
            merged.spots.update(source.spots)
    return merged


def _items(nodes: Iterable[Node], spots: Iterable[Spot]) -> Items:
    items = Items()
    items.extend(nodes)
    items.spots = list(spots)
    return items


def _put(block: Block, key: str, node: Node, spot: Spot) -> None:
    block[key] = node
    block.spots[key] = (spot, spot)
