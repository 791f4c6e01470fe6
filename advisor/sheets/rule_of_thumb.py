"""Limits from handbooks as a rule set writes them, for engines whose maker gives none."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Literal

from pydantic import Field, model_validator

from advisor.sheets.base import AnyQuantity, DecimalText, FaultError, Located, Name, Words
from advisor.sheets.vocabulary import Cite, Purpose

Change = Literal["tighten", "loosen", "exchange"]
"""What a house does to a limit: tighter, looser, or one of which nobody can tell beforehand."""


class LimitSize(Located):
    """How a limit follows from the size of the part: (from × times) + plus + ratio × size.

    `from` takes the limit of another purpose for the same dimension from the engine sheet; `ratio`
    multiplies a size that the engine sheet gives for a new part.
    """

    from_: Purpose | None = Field(default=None, alias="from")
    times: DecimalText = Decimal(1)
    plus: AnyQuantity | None = None
    ratio: DecimalText | None = None
    size: Name | None = None

    @model_validator(mode="after")
    def _complete(self) -> LimitSize:
        if self.from_ is None and self.plus is None and self.ratio is None:
            raise FaultError(
                "limit-size-empty",
                "a limit follows from nothing",
                "at least one of from, plus, and ratio with size",
                "for example {plus: 0.001 in}",
            )
        if (self.ratio is None) != (self.size is None):
            alone, other = ("ratio", "size") if self.size is None else ("size", "ratio")
            raise FaultError(
                "limit-size-partner",
                f"`{alone}` stands here without `{other}`",
                "ratio and size together",
                "for example {ratio: '0.0004', size: diameter}",
            )
        if self.from_ is None and "times" in self.model_fields_set:
            raise FaultError(
                "limit-size-partner",
                "`times` stands here without `from`",
                "from and times together",
                "for example {from: new, times: '2'}",
            )
        if self.times <= 0:
            raise FaultError(
                "limit-size-times",
                f"a limit is taken {self.times:f} times",
                "a number above 0",
                "",
                ("times",),
            )
        return self


class LimitAlternative(Located):
    """What another source gives in place of a rule of thumb; a side that is left out is not limited by it."""

    at_most: LimitSize | None = None
    at_least: LimitSize | None = None
    cite: list[Cite] = Field(min_length=1)
    because: Words

    @model_validator(mode="after")
    def _a_side(self) -> LimitAlternative:
        if self.at_most is None and self.at_least is None:
            raise FaultError(
                "limit-empty",
                "the alternative to a rule of thumb limits nothing",
                "at_most, at_least or both",
                "for example at_most: {plus: 0.001 in}",
            )
        return self


class RuleOfThumb(Located):
    """A handbook limit that serves only where the engine sheet gives none, and says so."""

    part: Name
    dimension: Name
    purpose: Purpose
    at_most: LimitSize | None = None
    at_least: LimitSize | None = None
    over: AnyQuantity | None = Field(
        default=None, description="only where the size named by `band` is over this"
    )
    up_to: AnyQuantity | None = Field(
        default=None, description="only where the size named by `band` is no more than this"
    )
    band: Name | None = None
    cite: list[Cite] = Field(min_length=1)
    because: Words
    alternatives: dict[Name, LimitAlternative] = Field(
        default={}, description="what other sources give; a house rule may follow one of them"
    )

    @model_validator(mode="after")
    def _complete(self) -> RuleOfThumb:
        if self.at_most is None and self.at_least is None:
            raise FaultError(
                "limit-empty",
                f"the rule of thumb for {self.dimension} limits nothing",
                "at_most, at_least or both",
                "for example at_most: {plus: 0.001 in}",
            )
        bounds = [bound for bound in (self.over, self.up_to) if bound is not None]
        if (self.band is None) != (not bounds):
            raise FaultError(
                "limit-band",
                "over and up_to stand here without `band`" if bounds else "`band` has neither over nor up_to",
                "band: the size that is meant, with over, up_to or both",
                "for example band: diameter, over: 50 mm",
            )
        if len(bounds) == 2 and (bounds[0].dimension != bounds[1].dimension or bounds[0] >= bounds[1]):
            raise FaultError(
                "limit-band",
                f"nothing lies over {bounds[0].text} and up to {bounds[1].text}",
                "over less than up_to",
                "swap the two, or correct the one that slipped",
            )
        return self


class HouseLimit(RuleOfThumb):
    """A rule of thumb as a house changed it, with the one that it stands in place of.

    A tightened limit is whichever of the two is the tighter on an engine, a loosened one the looser, and
    neither serves where the base's own does not; so its direction holds on every engine sheet.
    """

    change: Change
    instead_of: HouseLimit | RuleOfThumb
    by: Words
    on: str
    why: Words


def read_limit(record: dict[str, Any]) -> RuleOfThumb:
    """A limit out of the record of a rule set. Raises `pydantic.ValidationError`."""
    return (HouseLimit if "instead_of" in record else RuleOfThumb).model_validate(record)
