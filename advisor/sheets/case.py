"""The case: one engine on the bench, with what was found, seen, measured and done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext
from functools import cached_property
from typing import Annotated, Final, Literal

from pydantic import Field, PlainSerializer, PlainValidator, WithJsonSchema, model_validator

from advisor.faults import nearest
from advisor.sheets.base import (
    AnyQuantity,
    Count,
    FaultError,
    Length,
    Located,
    Sheet,
    Temperature,
    Time,
    Words,
    kind_of,
)
from advisor.sheets.conditions import State
from advisor.sheets.digest import digest_of
from advisor.sheets.vocabulary import NONE, Answer, Moment, OneOrMany
from advisor.units import Quantity, UnitFault, read_quantity
from advisor.units.quantity import EXACT

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
    """Of two blades: the middle between them, or the blade that goes where every one did."""
    state: State | None = None
    text: tuple[str, ...] = ()
    goes: Quantity | None = None
    """The thickest blade that goes in."""
    stops: Quantity | None = None
    """The thinnest that does not."""

    @property
    def bracketed(self) -> bool:
        """Whether blades were tried."""
        return self.goes is not None or self.stops is not None

    @classmethod
    def read(cls, written: object) -> Value:
        """From a typed quantity, a list of repeated ones, two blades, or one of `NOT_THERE`.

        Raises `UnitFault`, or `FaultError` for another shape.
        """
        if isinstance(written, Value):
            return written
        if isinstance(written, str):
            if written in NOT_THERE:
                return cls((), NOT_THERE[written], (written,))
            return cls((_read_size(written),), None, (written,))
        if isinstance(written, dict) and written and written.keys() <= {"goes", "stops"}:
            return cls._blades(written)
        if not isinstance(written, list) or not written or not all(isinstance(each, str) for each in written):
            raise FaultError(
                "wrong-shape",
                "an empty list stands here" if written == [] else f"{kind_of(written)} stands here",
                "a size, or a list of repeated ones",
            )
        return cls(tuple(_read_size(each) for each in written), None, tuple(written))

    @classmethod
    def _blades(cls, written: Mapping[str, object]) -> Value:
        goes, stops = _blade(written.get("goes")), _blade(written.get("stops"))
        blades = [each for each in (goes, stops) if each is not None]
        if (
            any(each.dimension != blades[0].dimension or each.value <= 0 for each in blades)
            or (goes is not None and stops is not None and stops.value <= goes.value)
        ):  # fmt: skip
            raise FaultError(
                "blade-order",
                f"a blade of {blades[-1].text} cannot stop where one of {blades[0].text} goes in"
                if len(blades) == 2
                else f"there is no blade of {blades[0].text}",
                "goes: the thickest blade that goes in, stops: the thinnest that does not",
                "try again, one blade at a time",
            )
        if stops is None:
            assert goes is not None
            return cls((goes,), goes=goes)
        with localcontext(EXACT):
            middle = (stops.value + (Decimal(0) if goes is None else goes.value)) / 2
        between = f"{'nothing' if goes is None else goes.text} to {stops.text}"
        return cls((Quantity(middle, stops.dimension, between),), goes=goes, stops=stops)

    def written(self) -> str | list[str] | dict[str, str]:
        """As it was typed."""
        if self.bracketed:
            blades = {"goes": self.goes, "stops": self.stops}
            return {key: each.text for key, each in blades.items() if each is not None}
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


def _blade(text: object) -> Quantity | None:
    if text is None or isinstance(text, Quantity):
        return text
    if not isinstance(text, str):
        raise FaultError("wrong-shape", f"{kind_of(text)} stands here", "the thickness of a blade")
    return read_quantity(text)


_BLADES = {
    "type": "object",
    "properties": {"goes": {"type": "string"}, "stops": {"type": "string"}},
    "minProperties": 1,
    "additionalProperties": False,
}

ValueText = Annotated[
    Value,
    PlainValidator(Value.read),
    PlainSerializer(Value.written),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string"},
                {"type": "array", "items": {"type": "string"}, "minItems": 1},
                _BLADES,
            ],
            "description": "a size with its unit, a list of repeated ones, two blades, or "
            + ", ".join(NOT_THERE),
            "examples": ["63.461 mm", ["2.4985 in", "2.4986 in"], "could not be measured"],
        }
    ),
]

Word = Annotated[
    str, Field(max_length=80, description="a word of the rule set, lower-case and joined by underscores")
]
"""Checked against the rule set's own words, which know the labels that people type in their place too."""

ItemOrigin = Literal["fitted", "new", "second-hand", "delivered"]


SHOP_RANGE: Final = ("-20 °C", "50 °C")
"""How warm a shop may be in which somebody measures (common practice, no source)."""

PART_RANGE: Final = ("-50 °C", "200 °C")
"""How warm a part may be on which somebody can measure (common practice, no source)."""


def _warm(where: str, given: Quantity | None, ends: tuple[str, str]) -> None:
    low, high = (read_quantity(each, "temperature") for each in ends)
    if given is not None and not low <= given <= high:
        raise FaultError(
            "temperature-range",
            f"nobody measures in a shop at {given.text}"
            if ends is SHOP_RANGE
            else f"nobody measures a part at {given.text}",
            f"a temperature from {low.text} to {high.text}",
            "correct the figure or the unit, or leave it out",
            (where,),
        )


class ReadingEntry(Located):
    """The readings of one kind on one item: a single value, or one for each position.

    A value is a typed quantity, a list of repeated ones, two blades, or one of `NOT_THERE`.
    """

    with_: Word | None = Field(default=None, alias="with", description="the instrument")
    tool: str = Field(
        default="", max_length=40, description="the mark on the instrument: which one of several it was"
    )
    set_with: str | None = Field(
        default=None,
        max_length=80,
        description="for an instrument that compares: what it was set with, by its mark, or by its name",
    )
    temperature: Temperature | None = Field(
        default=None, description="of the part, where it was not that of the shop"
    )
    value: ValueText | None = None
    values: dict[str, ValueText] = {}
    limit_of_error: AnyQuantity | None = Field(
        default=None, description="greatest error by the instrument's own certificate; goes before the table"
    )
    note: str = Field(default="", max_length=400)

    @model_validator(mode="after")
    def _warm_enough(self) -> ReadingEntry:
        _warm("temperature", self.temperature, PART_RANGE)
        return self


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
    temperature: Temperature | None = Field(
        default=None, description="of the shop, where the parts and the instruments lay when measured"
    )
    hours_wanted: Time | None = Field(default=None, description="hours the owner wants from it")
    history: str = Field(default="", max_length=4000)
    shop: str = Field(default="", max_length=200)
    found_sizes: list[FoundSize] = []
    cleans_up: list[CleanUp] = []
    bench: Annotated[list[BenchEntry], OneOrMany] = []
    done: list[Done] = []
    causes: list[CauseState] = []
    risks: list[Risk] = []

    @model_validator(mode="after")
    def _conditions(self) -> CaseSheet:
        _warm("temperature", self.temperature, SHOP_RANGE)
        if self.hours is not None and self.hours.value < 0:
            raise FaultError(
                "hours-range",
                f"it cannot have run {self.hours.text}",
                "the hours run since new, 0 or more",
                "correct the figure, or leave it out where nobody knows",
                ("hours",),
            )
        if self.hours_wanted is not None and self.hours_wanted.value <= 0:
            raise FaultError(
                "hours-range",
                f"{self.hours_wanted.text} wanted of it is nothing to foretell",
                "the hours that the owner wants from it, above 0",
                "correct the figure, or leave it out where nobody asks how long it will last",
                ("hours_wanted",),
            )
        return self

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the sheet in hex; the order of its lines does not show."""
        return digest_of(self)
