"""Cases as plain data, changed and decided, and decisions made comparable."""

from __future__ import annotations

import functools
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, NamedTuple

from advisor.files import LoadedCase, load_case, load_rules
from advisor.pipeline import decide
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import parse
from advisor.sheets.vocabulary import ANSWERS
from advisor.verdicts.model import Decision, Verdict
from tests.decide import small

DEMO = Path(__file__).resolve().parents[2] / "cases_demo" / "marsh_pump" / "case.yaml"
HEAD = {"format": "1", "case": "a trial case", "engine_sheet": "engine.yaml"}


class ItemName(NamedTuple):
    """Which item a verdict is on."""

    part: str
    place: str
    tag: str
    origin: str


@functools.cache
def small_rules() -> RuleSet:
    """The small rule set, loaded once."""
    with tempfile.TemporaryDirectory() as folder:
        return small.ruleset(Path(folder))


@functools.cache
def small_engine() -> EngineSheet:
    """The rig that it judges."""
    return small.engine(small_rules())


@functools.cache
def demo_rules() -> RuleSet:
    """The rule set that comes with the program, loaded once."""
    return load_rules()


@functools.cache
def demo() -> LoadedCase:
    """The demo case, loaded once."""
    return load_case(DEMO, demo_rules())


@functools.cache
def demo_data() -> dict[str, Any]:
    """The demo case as plain data; not to be changed in place."""
    data: dict[str, Any] = plain(demo().document.data)
    return data


def decide_data(
    data: Mapping[str, Any], rules: RuleSet | None = None, sheet: EngineSheet | None = None
) -> Decision:
    """Decide a case given as plain data; on the small rule set and its rig if nothing else is said."""
    case = CaseSheet.model_validate({**HEAD, **data})
    return decide(case, sheet or small_engine(), rules or small_rules())


def decide_text(text: str, rules: RuleSet | None = None, sheet: EngineSheet | None = None) -> Decision:
    """Decide a case of the rig, given as YAML without its head."""
    return decide_data(plain(parse(text, "case.yaml").data), rules, sheet)


def by_item(decision: Decision) -> dict[ItemName, Verdict]:
    """The verdicts by item."""
    named = {ItemName(v.part, v.place, v.tag, v.origin): v for v in decision.verdicts}
    assert len(named) == len(decision.verdicts)
    return named


def on(decision: Decision, part: str, place: str = "", *, tag: str = "", origin: str = "fitted") -> Verdict:
    """The verdict on one item."""
    return by_item(decision)[ItemName(part, place, tag, origin)]


def possible(decision: Decision) -> dict[ItemName, tuple[str, ...]]:
    """What is still possible, by item."""
    return {name: verdict.possible for name, verdict in by_item(decision).items()}


def mildest(verdict: Verdict) -> int:
    """The mildest answer that is still possible; 0 is reuse."""
    return ANSWERS.index(verdict.possible[0])


def plain(node: Any) -> Any:
    """What was read from a file as plain mappings, lists and text."""
    if isinstance(node, Mapping):
        return {key: plain(each) for key, each in node.items()}
    return [plain(each) for each in node] if isinstance(node, list) else node


_PLACES_AND_DIGESTS = ("at", "item", "case_digest", "sheet_digest", "rulesets")
_IN_VOCABULARY_ORDER = ("verdicts", "steps", "causes", "not_looked_at", "uses")


def bare(value: Any) -> Any:
    """A decision as plain data without file positions, indices and digests.

    Items and names follow the order of the vocabulary, which is not compared: such lists are sorted.
    """
    if is_dataclass(value):
        told = {}
        for each in fields(value):
            if each.name not in _PLACES_AND_DIGESTS or (
                each.name == "at" and type(value).__name__ == "Citation"
            ):
                inner = bare(getattr(value, each.name))
                told[each.name] = sorted(inner, key=repr) if each.name in _IN_VOCABULARY_ORDER else inner
        return told
    if isinstance(value, tuple | list):
        return [bare(each) for each in value]
    return value


def paths(node: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Every node of plain data with the way to it."""
    yield path, node
    if isinstance(node, dict):
        for key, each in node.items():
            yield from paths(each, (*path, key))
    elif isinstance(node, list):
        for index, each in enumerate(node):
            yield from paths(each, (*path, index))


def changed(node: Any, path: tuple[str | int, ...], value: Any) -> Any:
    """A copy of plain data with another value at `path`; with None the entry there is left out."""
    if not path:
        return value
    first, rest = path[0], path[1:]
    copy: Any = dict(node) if isinstance(node, dict) else list(node)
    if not rest and value is None:
        del copy[first]
    else:
        copy[first] = changed(node[first], rest, value)
    return copy
