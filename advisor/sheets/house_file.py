"""House rules as a shop writes them: `house.yaml`, what is changed of a base rule set and who decided it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, Field, WithJsonSchema, model_validator

from advisor.sheets.base import AnyQuantity, DecimalText, FaultError, Located, Name, RuleId, Sheet, Words
from advisor.sheets.rule_of_thumb import Change, LimitSize
from advisor.sheets.ruleset_files import Acceptance
from advisor.sheets.text import quoted
from advisor.sheets.vocabulary import Cite, Purpose

CHANGES: Final[tuple[Change, ...]] = ("tighten", "loosen", "exchange")

DONE: Final[Mapping[Change, str]] = {"tighten": "tightened", "loosen": "loosened", "exchange": "exchanged"}
"""Each change once it is made."""

_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}")


def _day(text: str) -> str:
    try:
        if not _DAY.fullmatch(text):
            raise ValueError
        date.fromisoformat(text)
    except ValueError:
        raise FaultError(
            "bad-date", f"{quoted(text)} is no day", "year, month and day in digits, such as 2026-03-14"
        ) from None
    return text


Day = Annotated[
    str,
    AfterValidator(_day),
    WithJsonSchema({"type": "string", "pattern": f"^{_DAY.pattern}$", "examples": ["2026-03-14"]}),
]
"""A day of the calendar (ISO 8601), kept as it is written."""


class Decided(Located):
    """Who decided something, when, and why."""

    by: Words
    on: Day
    because: Words


class Base(Located):
    """The rule set underneath, and what it was when the house rules were written against it."""

    folder: str | None = Field(default=None, description="its folder, as seen from this file")
    shipped: Name | None = Field(default=None, description="one that comes with the program, by its name")
    version: str | None = Field(default=None, pattern=r"^\d+\.\d+\.\d+$", description="such as 1.0.0")
    digest: str | None = Field(
        default=None,
        pattern=r"^[0-9a-f]{12,64}$",
        description="at least 12 digits of what `advisor rules show` prints for it",
    )

    @model_validator(mode="after")
    def _one_base(self) -> Base:
        if (self.folder is None) == (self.shipped is None):
            raise FaultError(
                "house-base",
                "the base is not named" if self.folder is None else "the base is named twice",
                "exactly one of folder and shipped",
                "for example folder: ../engine, or shipped: engine for the set that comes with the program",
            )
        if self.version is None and self.digest is None:
            raise FaultError(
                "house-base",
                "nothing tells which state of the base these house rules were written against",
                "version, digest or both",
                "`advisor rules show` prints both for the base",
            )
        return self


class Addition(Decided):
    """Files that a house adds; they are merged with those of the base."""

    rules: list[str] = []
    vocabulary: list[str] = []
    sources: list[str] = []
    cautions: list[str] = []
    instruments: list[str] = []

    @model_validator(mode="after")
    def _something(self) -> Addition:
        if not (self.rules or self.vocabulary or self.sources or self.cautions or self.instruments):
            raise FaultError(
                "house-adds-nothing",
                "an addition names no file",
                "at least one of rules, vocabulary, sources, cautions, instruments",
                "name the files, or drop the addition",
            )
        return self


class Retirement(Decided):
    """A rule of the base that is no longer used here."""

    rule: RuleId


class LimitName(Located):
    """Which rule of thumb of the base is meant; the bounds of its band only where there are several."""

    part: Name
    dimension: Name
    purpose: Purpose
    over: AnyQuantity | None = None
    up_to: AnyQuantity | None = None


class LimitSides(Located):
    """The sides of a limit that change; a side that is left out stays as it is in the base."""

    at_most: LimitSize | None = None
    at_least: LimitSize | None = None

    @model_validator(mode="after")
    def _a_side(self) -> LimitSides:
        if self.at_most is None and self.at_least is None:
            raise FaultError(
                "limit-empty",
                "the house's limit limits nothing",
                "at_most, at_least or both",
                "for example at_most: {plus: 0.001 in}",
            )
        return self


class LimitChange(Decided, LimitName):
    """A rule of thumb of the base that is tightened, loosened or exchanged."""

    tighten: LimitSides | None = None
    loosen: LimitSides | None = None
    exchange: LimitSides | None = None
    cite: list[Cite] = Field(default=[], description="where the house read it; left out, nowhere")

    @model_validator(mode="after")
    def _one_way(self) -> LimitChange:
        given = [each for each in CHANGES if getattr(self, each) is not None]
        if len(given) != 1:
            raise FaultError(
                "house-limit-way",
                f"a limit is to be both {DONE[given[0]]} and {DONE[given[1]]}"
                if given
                else "nothing says what becomes of this limit",
                "exactly one of tighten, loosen, exchange",
                "for example tighten: {at_most: {plus: 0.02 mm}}",
            )
        return self

    @property
    def change(self) -> Change:
        """What is done to the limit."""
        return next(each for each in CHANGES if getattr(self, each) is not None)

    @property
    def sides(self) -> LimitSides:
        """The sides as the house wants them."""
        sides: LimitSides = getattr(self, self.change)
        return sides


class Choice(Decided):
    """An alternative that the base carries for one of its rules or limits, and that this house follows."""

    rule: RuleId | None = None
    limit: LimitName | None = None
    follow: Name

    @model_validator(mode="after")
    def _one_subject(self) -> Choice:
        if (self.rule is None) == (self.limit is None):
            raise FaultError(
                "house-choice",
                "a choice is about a rule and a limit at once" if self.rule else "a choice is about nothing",
                "exactly one of rule and limit",
                "for example rule: name-of-the-rule",
            )
        return self


class Probabilities(Decided):
    """How sure one must be, for one class of consequence."""

    consequence: Name
    inside: DecimalText | None = None
    outside: DecimalText | None = None

    @model_validator(mode="after")
    def _something(self) -> Probabilities:
        if self.inside is None and self.outside is None:
            raise FaultError(
                "house-no-change",
                f"nothing of {self.consequence} is changed",
                "inside, outside or both",
                "give the new figure, or drop the entry",
            )
        return self


class InstrumentChange(Located):
    """An instrument of the base with the limit of error that the shop's own certificate gives."""

    instrument: Name
    limit: AnyQuantity
    certificate: Words = Field(description="number and day of the certificate, and who issued it")
    by: Words
    on: Day


class HouseFile(Sheet):
    """`house.yaml`: the whole of a house's layer over its base."""

    format: Literal["1"]
    house: Name = Field(description="the name of these house rules")
    version: str = Field(
        pattern=r"^\d+\.\d+\.\d+$", description="three numbers joined by points, such as 1.0.0"
    )
    title: Words
    base: Base
    add: list[Addition] = []
    retire: list[Retirement] = []
    choose: list[Choice] = []
    limits: list[LimitChange] = []
    probabilities: list[Probabilities] = []
    instruments: list[InstrumentChange] = []
    accept: list[Acceptance] = Field(
        default=[], description="findings of `advisor rules check` that are let stand, each with its reason"
    )
