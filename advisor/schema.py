"""The decision as it is printed and kept: its JSON form, and the JSON Schema of that form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any

from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Citation, Decision, Verdict
from advisor.verdicts.words import plain


@dataclass(frozen=True, slots=True)
class CautionText:
    """What could hurt somebody, and whose rule governs."""

    label: str
    says: str
    governs: str
    cites: tuple[Citation, ...]

    @property
    def whole(self) -> str:
        """Both sentences in one text."""
        return f"{sentence(self.says)} Governs: {sentence(self.governs)}"


@dataclass(frozen=True, slots=True)
class PrintedVerdict(Verdict):
    """A verdict whose `cautions` are whole texts; `caution_keys` are their keys in the register."""

    caution_keys: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PrintedDecision(Decision):
    """A decision with the register of the cautions that its verdicts carry."""

    verdicts: tuple[PrintedVerdict, ...]
    cautions: Mapping[str, CautionText] = field(default_factory=dict)


def sentence(text: str) -> str:
    """`text` with a full stop at its end, unless it has its own."""
    text = text.strip()
    return text if not text or text[-1] in ".!?" else text + "."


def caution_texts(decision: Decision, rules: RuleSet) -> dict[str, CautionText]:
    """The cautions that a decision's verdicts carry, by key, in the order of their first verdict."""
    keys = dict.fromkeys(key for verdict in decision.verdicts for key in verdict.cautions)
    return {key: caution_text(key, rules) for key in keys}


def caution_text(key: str, rules: RuleSet) -> CautionText:
    """The caution of that key. Raises `KeyError` where there is none."""
    caution = rules.cautions[key]
    cites = tuple(
        Citation(
            cite.source,
            cite.where,
            rules.sources[cite.source].title,
            rules.sources[cite.source].tier,
            cite.row,
        )
        for cite in caution.cite
    )
    return CautionText(plain(key), caution.says, caution.governs, cites)


def printed(decision: Decision, rules: RuleSet) -> PrintedDecision:
    """`decision` with its cautions in words."""
    texts = caution_texts(decision, rules)
    verdicts = tuple(
        PrintedVerdict(
            **{
                **_shallow(verdict),
                "cautions": tuple(texts[key].whole for key in verdict.cautions),
                "caution_keys": verdict.cautions,
            }
        )
        for verdict in decision.verdicts
    )
    return PrintedDecision(**{**_shallow(decision), "verdicts": verdicts, "cautions": texts})


def _shallow(value: Any) -> dict[str, Any]:
    return {each.name: getattr(value, each.name) for each in fields(value)}


def as_json(decision: Decision, rules: RuleSet) -> dict[str, Any]:
    """The JSON form of a decision: plain mappings, lists and text, every key always there."""
    return asdict(printed(decision, rules))


def decision_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of what `as_json` gives."""
    from pydantic import TypeAdapter

    schema = TypeAdapter(PrintedDecision).json_schema(mode="serialization")
    for shape in (schema, *schema["$defs"].values()):
        if shape.get("type") == "object" and "properties" in shape:
            shape["required"] = sorted(shape["properties"])
            shape["additionalProperties"] = False
            for each in shape["properties"].values():
                each.pop("default", None)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "A decision of the rebuild decision advisor",
    }
