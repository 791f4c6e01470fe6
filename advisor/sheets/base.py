"""What the models of people's files are built from: the two base models and the types of their fields.

Every value in a file is text, so a number, a size or a sum of money is a type that reads its text and
gives the same text back when it is written out. Readers refuse with `FaultError` or `UnitFault`, and
`advisor.sheets.validate` adds the place.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, Final, Generic, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    InstanceOf,
    WithJsonSchema,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue, SkipJsonSchema
from pydantic_core import CoreSchema, core_schema

from advisor.faults import Fault, Position
from advisor.sheets.places import Block, Path
from advisor.sheets.text import quoted
from advisor.units import DIMENSIONS, Money, Quantity, read_money, read_quantity

T = TypeVar("T")

AT: Final = "\0at"
"""The key under which a place is handed to a model. No file can hold it: NUL is refused on reading."""


class FaultError(ValueError):
    """What a validator raises: a `Fault` without its place.

    `where` leads from the value that the validator was given to the value at fault, as
    ``("readings", 2)``; left empty, the fault is shown at the value itself.
    """

    def __init__(self, code: str, what: str, expected: str = "", mend: str = "", where: Path = ()) -> None:
        super().__init__(what)
        self.code = code
        self.what = what
        self.expected = expected
        self.mend = mend
        self.where = where

    def at(self, position: Position | None) -> Fault:
        """The fault, at its place."""
        return Fault(self.code, self.what, self.expected, self.mend, position)


class Sheet(BaseModel):
    """A frozen model that refuses unknown keys.

    Fields hold text, the types below, or further sheets; a bare `int` or `float` field would read more
    spellings than one.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")


class Located(Sheet):
    """A sheet that knows where it stands in its file.

    `at` is filled from a `Document` and is None for a model made in code. It is no part of the value: it
    is left out of equality, hash, `repr`, dumps and the JSON Schema, and no key of a file can set it. A
    model whose file has a key "at" declares a field of another name with ``alias="at"``.
    """

    at: SkipJsonSchema[InstanceOf[Position] | None] = Field(
        default=None, validation_alias=AT, exclude=True, repr=False
    )

    @model_validator(mode="before")
    @classmethod
    def _take_place(cls, data: Any) -> Any:
        if isinstance(data, Block) and cls.__pydantic_fields__["at"].validation_alias == AT:
            return {**data, AT: data.at}
        return data

    def _value(self) -> tuple[Any, ...]:
        held = self.__dict__
        fields = type(self).__pydantic_fields__
        return tuple(held[name] for name, field in fields.items() if field.validation_alias != AT)

    def __eq__(self, other: object) -> bool:
        if type(self) is not type(other) or not isinstance(other, Located):
            return NotImplemented
        return self._value() == other._value()

    def __hash__(self) -> int:
        return hash((type(self), self._value()))


def kind_of(value: object) -> str:
    """What stands there, in words: "a mapping", "a list" or "text"."""
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list | tuple):
        return "a list"
    return "text" if isinstance(value, str) else f"a Python {type(value).__name__}"


@dataclass(frozen=True)
class TextOf(Generic[T]):
    """Marks a field whose value of type `kind` is read from text by `read` and written back by `write`."""

    kind: type[T]
    read: Callable[[str], T]
    write: Callable[[T], str]
    noun: str
    examples: tuple[str, ...]

    def take(self, value: object) -> T:
        """The value, read if it is text. Raises `ValueError` (`FaultError` or `UnitFault`)."""
        if isinstance(value, str):
            return self.read(value)
        if isinstance(value, self.kind) and not isinstance(value, bool):
            return self.read(self.write(value))
        wanted = f"{self.noun}, such as {self.examples[0]}"
        raise FaultError("wrong-shape", f"{kind_of(value)} stands here", wanted)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        written = core_schema.plain_serializer_function_ser_schema(
            self.write, return_schema=core_schema.str_schema()
        )
        return core_schema.no_info_plain_validator_function(self.take, serialization=written)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"type": "string", "description": self.noun, "examples": list(self.examples)}


_EXAMPLES: Final[dict[str, tuple[str, ...]]] = {
    "length": ("0.038 mm", "0.0015 in", "1.5 thou"),
    "time": ("1200 h", "30 min"),
    "temperature": ("85 °C", "185 °F"),
    "torque": ("90 N·m", "65 lbf·ft"),
}


def quantity(dimension: str | None = None) -> TextOf[Quantity]:
    """Marks a field as a typed quantity: ``Annotated[Quantity, quantity("length")]``.

    `dimension` is a key of `advisor.units.DIMENSIONS`, or None for any of them.
    """
    if dimension is None:
        noun = "a quantity with its unit"
        examples: tuple[str, ...] = ("0.038 mm", "27 bar", "90 N·m")
    else:
        known = DIMENSIONS[dimension]
        noun = f"{known.noun} with its unit"
        examples = _EXAMPLES.get(dimension) or tuple(f"12 {unit}" for unit in known.offer)

    def read(text: str) -> Quantity:
        return read_quantity(text, dimension)

    return TextOf(Quantity, read, lambda value: value.text, noun, examples)


_COUNT: Final = re.compile(r"[1-9][0-9]{0,8}")
_DECIMAL: Final = re.compile(r"[+-]?[0-9]{1,15}(\.[0-9]{1,15})?")


def _read_count(text: str) -> int:
    if not _COUNT.fullmatch(text):
        wanted = "a whole number from 1 up, in digits, such as 4"
        raise FaultError("bad-count", f"{quoted(text)} is not a count", wanted)
    return int(text)


def _read_decimal(text: str) -> Decimal:
    if not _DECIMAL.fullmatch(text):
        mend = "write a point in place of the comma" if _DECIMAL.fullmatch(text.replace(",", ".")) else ""
        wanted = "digits with a point, such as 0.95"
        raise FaultError("bad-decimal", f"{quoted(text)} is not a plain number", wanted, mend)
    return Decimal(text)


_NAME: Final = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*")
_RULE_ID: Final = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_LONGEST_NAME: Final = 80
_LONGEST_WORDS: Final = 4_000


def _named(pattern: re.Pattern[str], joint: str, noun: str, code: str) -> Callable[[str], str]:
    def check(text: str) -> str:
        if len(text) > _LONGEST_NAME:
            raise FaultError(
                code, f"{quoted(text)} is too long for {noun}", f"at most {_LONGEST_NAME} characters"
            )
        if not pattern.fullmatch(text):
            proposed = re.sub(r"[\s_-]+", joint, text.strip().lower())
            mend = f"write {proposed}" if pattern.fullmatch(proposed) else ""
            means = "underscores" if joint == "_" else "hyphens"
            wanted = f"lower-case words of a to z and digits, joined by {means}"
            raise FaultError(code, f"{quoted(text)} is not {noun}", wanted, mend)
        return text

    return check


def _words(text: str) -> str:
    tidy = text.strip()
    if not tidy:
        raise FaultError("no-words", "there are no words here", "a few words")
    if len(tidy) > _LONGEST_WORDS:
        raise FaultError(
            "too-many-words", f"this text has {len(tidy):,} characters", f"at most {_LONGEST_WORDS:,}"
        )
    return tidy


def _text(description: str, **more: Any) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "description": description, **more})


Length = Annotated[Quantity, quantity("length")]
Time = Annotated[Quantity, quantity("time")]
Temperature = Annotated[Quantity, quantity("temperature")]
AnyQuantity = Annotated[Quantity, quantity()]
MoneyText = Annotated[Money, TextOf(Money, read_money, str, "a sum with its currency", ("18.50 EUR",))]
Count = Annotated[int, TextOf(int, _read_count, str, "a whole number from 1 up", ("4",))]
DecimalText = Annotated[
    Decimal, TextOf(Decimal, _read_decimal, lambda value: f"{value:f}", "a plain decimal number", ("0.95",))
]
Name = Annotated[
    str,
    AfterValidator(_named(_NAME, "_", "a name", "bad-name")),
    _text(
        "lower-case words joined by underscores",
        pattern=f"^{_NAME.pattern}$",
        maxLength=_LONGEST_NAME,
        examples=["some_part"],
    ),
]
RuleId = Annotated[
    str,
    AfterValidator(_named(_RULE_ID, "-", "a rule's id", "bad-rule-id")),
    _text(
        "lower-case words joined by hyphens",
        pattern=f"^{_RULE_ID.pattern}$",
        maxLength=_LONGEST_NAME,
        examples=["worn-beyond-discard"],
    ),
]
Words = Annotated[str, AfterValidator(_words), _text("a few words", minLength=1, maxLength=_LONGEST_WORDS)]
