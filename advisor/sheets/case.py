"""The case: one engine on the bench, with what was found, seen, measured and done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Literal

from pydantic import Field, PlainSerializer, PlainValidator, WithJsonSchema

from advisor.faults import nearest
from advisor.sheets.base import (
    AnyQuantity,
    Count,
    FaultError,
    Length,
    Located,
    Sheet,
    Time,
    Words,
    kind_of,
)
from advisor.sheets.conditions import State
from advisor.sheets.digest import digest_of
from advisor.sheets.vocabulary import NONE, Answer, Moment, OneOrMany
from advisor.units import Quantity, UnitFault, read_quantity

NOT_THERE: Mapping[str, State] = {
    "not looked at": "not looked at",
    "could not be judged": "could not be judged",
    "could not be measured": "could not be judged",
    "lost": "lost",
}
"""What may be written in place of an extent or a value, and what it means."""


@dataclass(frozen=True, slots=True)
class Value:
    """What stands at one position of a reading: the values taken there, or why there are none."""

    taken: tuple[Quantity, ...]
    state: State | None = None
    text: tuple[str, ...] = ()

    @classmethod
    def read(cls, written: object) -> Value:
        """From a typed quantity, a list of repeated ones, or one of `NOT_THERE`.

        Raises `UnitFault`, or `FaultError` for another shape.
        """
        if isinstance(written, Value):
            return written
        if isinstance(written, str):
            if written in NOT_THERE:
                return cls((), NOT_THERE[written], (written,))
            return cls((_read_size(written),), None, (written,))
        if not isinstance(written, list) or not written or not all(isinstance(each, str) for each in written):
            raise FaultError(
                "wrong-shape",
                "an empty list stands here" if written == [] else f"{kind_of(written)} stands here",
                "a size, or a list of repeated ones",
            )
        return cls(tuple(_read_size(each) for each in written), None, tuple(written))

    def written(self) -> str | list[str]:
        """As it was typed."""
        return self.text[0] if len(self.text) == 1 else list(self.text)


def _read_size(text: str) -> Quantity:
    """The size that was typed; where words were, the refusal lists those that may stand there."""
    try:
        return read_quantity(text)
    except UnitFault as fault:
        if fault.code != "no-number" or not text[:1].isalpha():
            raise
        meant = nearest(text.casefold(), NOT_THERE)
        mend = f'did you mean "{meant}"?' if meant else "begin a size with its number, in figures"
        if text.casefold() == NONE:
            mend = "where nobody measured it, write not looked at, or leave it out"
        words = ", ".join(NOT_THERE)
        raise UnitFault(fault.code, fault.what, f"a size with its unit, or one of {words}", mend) from None


ValueText = Annotated[
    Value,
    PlainValidator(Value.read),
    PlainSerializer(Value.written),
    WithJsonSchema(
        {
            "anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1}],
            "description": "a size with its unit, a list of repeated ones, or " + ", ".join(NOT_THERE),
            "examples": ["63.461 mm", ["2.4985 in", "2.4986 in"], "could not be measured"],
        }
    ),
]

Word = Annotated[
    str, Field(max_length=80, description="a word of the rule set, lower-case and joined by underscores")
]
"""Checked against the rule set's own words, which know the labels that people type in their place too."""

ItemOrigin = Literal["fitted", "new", "second-hand", "delivered"]


class ReadingEntry(Located):
    """The readings of one kind on one item: a single value, or one for each position.

    A value is a typed quantity, a list of repeated ones, or one of `NOT_THERE`.
    """

    with_: Word | None = Field(default=None, alias="with", description="the instrument")
    value: ValueText | None = None
    values: dict[str, ValueText] = {}
    limit_of_error: AnyQuantity | None = Field(
        default=None, description="greatest error by the instrument's own certificate; goes before the table"
    )
    note: str = Field(default="", max_length=400)


class BenchEntry(Located):
    """What was seen and measured on one item, or on several alike."""

    part: Word
    place: str = Field(
        default="",
        max_length=200,
        description="`3 lower`, `1 to 4`, `1, 3`, `3` (every item there), `all`, or `unknown`; left out, "
        "as `all`, but an entry with readings has to say it",
    )
    tag: str = Field(default="", max_length=60, description="what is written on the tag or bag")
    from_among: str = Field(
        default="",
        max_length=200,
        description="with place unknown: the places that this item and its like were mixed up from",
    )
    origin: ItemOrigin = "fitted"
    moment: Moment = "clean"
    opened: Literal["yes", "no"] = "yes"
    findings: dict[Word, str] = {}
    otherwise: Literal["none"] | None = Field(
        default=None, description="every other finding of this kind was looked for and is not there"
    )
    readings: dict[Word, ReadingEntry] = {}
    note: str = Field(default="", max_length=400)


class OfItems(Located):
    """An entry about fitted items, told apart by place, or by tag where they were mixed up."""

    part: Word
    place: str = Field(
        default="all", max_length=200, description="as on the bench; `all` are the mixed-up too"
    )
    tag: str = Field(
        default="",
        max_length=60,
        description="with place unknown: the tag of the mixed-up item that is meant",
    )


class FoundSize(OfItems):
    """The repair size a set already has when the engine arrives, and where that was read."""

    size: Length = Field(description="difference from new; 0 mm for standard")
    read_on: Words


class CleanUp(OfItems):
    """The size at which a part cleans up, from whoever set it up in the machine and indicated it.

    It closes the band that a worn side nobody knows leaves open.
    """

    operation: Word
    size: Length
    by: Words


class Done(OfItems):
    """An operation that has been carried out; it voids the readings it touches."""

    operation: Word
    to_size: Length | None = Field(
        default=None, description="repair size it was brought to, as a difference from new; 0 mm for standard"
    )


class CauseState(OfItems):
    """What became of a suspected cause, and who says so."""

    concern: Word
    state: Literal["found", "ruled out", "accepted"]
    by: Words
    because: Words


class Risk(OfItems):
    """Somebody takes the risk, by name, where what is missing can no longer be had."""

    answer: Answer
    by: Words
    because: Words


class CaseSheet(Sheet):
    """The whole case."""

    format: Literal["1"]
    case: Words
    vocabulary_version: Count = Field(default=1, description="version of the words it was written with")
    engine_sheet: str = Field(
        max_length=200, description="file name of the engine sheet, beside the case or below it"
    )
    hours: Time | None = Field(default=None, description="hours run")
    hours_wanted: Time | None = Field(default=None, description="hours the owner wants from it")
    history: str = Field(default="", max_length=4000)
    shop: str = Field(default="", max_length=200)
    found_sizes: list[FoundSize] = []
    cleans_up: list[CleanUp] = []
    bench: Annotated[list[BenchEntry], OneOrMany] = []
    done: list[Done] = []
    causes: list[CauseState] = []
    risks: list[Risk] = []

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the sheet in hex; the order of its lines does not show."""
        return digest_of(self)
