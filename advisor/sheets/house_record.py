"""The house rules of a resolved rule set as frozen values: what was changed, by whom, when and why.

They are part of the rule set, so of its digest, and go with every decision made by it. Where they are
written is not, as with rules: `RuleSet.written` has it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final, Literal

ChangeKind = Literal[
    "rules added",
    "words added",
    "rule retired",
    "alternative followed",
    "limit changed",
    "probabilities changed",
    "instrument changed",
]


_COUNTED: Final[Mapping[ChangeKind, tuple[str, str]]] = {
    "limit changed": ("1 limit changed", "{} limits changed"),
    "rule retired": ("1 rule retired", "{} rules retired"),
    "alternative followed": ("1 other source followed", "{} other sources followed"),
    "probabilities changed": ("1 class of consequence set", "{} classes of consequence set"),
    "instrument changed": ("1 instrument by its certificate", "{} instruments by their certificates"),
    "rules added": ("1 rule or limit added", "{} rules and limits added"),
}


@dataclass(frozen=True, slots=True)
class HouseChange:
    """One thing that a house decided."""

    kind: ChangeKind
    subject: str
    """The rule by its id; a limit by part, dimension and purpose; a consequence, an instrument, a file."""
    part: str
    """The kind of part that it is about; empty where it is about none by itself."""
    says: str
    """What was changed, from what to what."""
    by: str
    on: str
    because: str
    looser: bool = False
    """Whether a verdict may come out milder by it than by the base."""
    harm: str = ""
    """What a wrong reuse does, where it is looser."""
    grave: bool = False
    """Whether the part is of a class that has to be surest of all (`guard_discard`)."""

    @property
    def key(self) -> str:
        """What `RuleSet.written` knows it by within its layer."""
        return f"{self.kind}: {self.subject}"

    @property
    def signed(self) -> str:
        """Who decided it, when and why: ``by A. Smith on 2026-03-14: our grinder holds half of it``."""
        return f"by {self.by} on {self.on}: {self.because.rstrip('.')}"

    @property
    def signed_words(self) -> str:
        """What was decided and by whom, in one phrase."""
        return f"{self.says}, {self.signed}"


@dataclass(frozen=True, slots=True)
class BaseUsed:
    """The rule set under a layer of house rules, as it was when the two were put together."""

    name: str
    version: str
    digest: str


@dataclass(frozen=True, slots=True)
class HouseLayer:
    """One layer of house rules over its base."""

    name: str
    version: str
    title: str
    base: BaseUsed
    drift: str
    """In words, how the base differs from the one that the house rules were written against; mostly empty."""
    changes: tuple[HouseChange, ...]

    @property
    def counted(self) -> str:
        """How many changes of each kind it makes, in words."""
        counts = Counter(change.kind for change in self.changes)
        told = [
            one if counts[kind] == 1 else many.format(counts[kind])
            for kind, (one, many) in _COUNTED.items()
            if counts[kind]
        ]
        return ", ".join(told) or "nothing changed"

    @property
    def looser(self) -> tuple[HouseChange, ...]:
        """The changes by which a verdict may come out milder, the gravest first."""
        return tuple(sorted((each for each in self.changes if each.looser), key=lambda each: not each.grave))


def layer_record(layer: HouseLayer) -> dict[str, Any]:
    """A layer as plain JSON values; `read_layer` reads it back."""
    record = asdict(layer)
    record["changes"] = list(record["changes"])
    return record


def read_layer(record: Mapping[str, Any]) -> HouseLayer:
    """A layer out of a record. Raises `LookupError` and `TypeError` for what is no such record."""
    changes = tuple(HouseChange(**each) for each in record["changes"])
    return HouseLayer(**{**record, "base": BaseUsed(**record["base"]), "changes": changes})
