"""The engine sheet: what the engine is, with its sizes, limits, repair sizes and prices."""

from __future__ import annotations

from functools import cached_property
from typing import Annotated, Literal

from pydantic import Field, model_validator

from advisor.sheets.base import AnyQuantity, Count, FaultError, Length, Located, MoneyText, Name, Sheet, Words
from advisor.sheets.digest import digest_of
from advisor.sheets.vocabulary import OneOrMany, Purpose, Source
from advisor.sheets.work import Geometry, Wall, Work


class Limit(Located):
    """A limit from the engine maker (or a house), for one dimension and purpose."""

    dimension: Name
    purpose: Purpose
    at_most: AnyQuantity | None = None
    at_least: AnyQuantity | None = None
    read_at: str = Field(default="", max_length=200, description="page or table of the engine maker's manual")

    @model_validator(mode="after")
    def _a_limit(self) -> Limit:
        if self.at_most is None and self.at_least is None:
            raise FaultError(
                "limit-empty",
                f"the limit for {self.dimension} limits nothing",
                "at_most, at_least or both",
                "",
            )
        low, high = self.at_least, self.at_most
        if low is not None and high is not None:
            if low.dimension == high.dimension and low.value <= high.value:
                return self
            same = low.dimension == high.dimension
            raise FaultError(
                "limit-order",
                f"the limits for {self.dimension} "
                + ("leave nothing between them" if same else "are sizes of two sorts"),
                f"at_least no more than at_most, got {low.text} and {high.text}",
                "swap the two, or correct the one that slipped" if same else "correct the unit that slipped",
            )
        return self


class RepairSizes(Located):
    """The sizes that an operation may go to, as differences from new (−0.25 mm is an undersize)."""

    operation: Name
    size: Name = Field(description="which of the part's new sizes changes")
    steps: list[Length] = Field(min_length=1)
    stock: Length = Field(description="what grinding or honing must take off all round, on diameter")
    furthest: Length | None = Field(
        default=None, description="the size beyond which nothing is left (hardness, wall)"
    )
    run_out: Source | None = Field(
        default=None, description="the reading of the run-out that this work has to take out as well"
    )
    grades: list[Length] = Field(
        default=[], description="select-fit sizes inside one repair size, as differences from it"
    )
    wall: Wall | None = Field(default=None, description="what must be left around the hole, by measurement")
    read_at: str = Field(default="", max_length=200)

    @model_validator(mode="after")
    def _of_a_hole(self) -> RepairSizes:
        if self.wall is not None and self.steps[0].value < 0:
            raise FaultError(
                "repair-steps",
                "a wall is asked for beside undersizes, which take nothing off a wall",
                "a wall only beside oversizes of a hole",
                "drop the wall, or correct the signs of the steps",
            )
        return self


class Price(Located):
    """What one costs, or a range."""

    new: MoneyText | None = None
    exchange: MoneyText | None = None
    operation: dict[Name, MoneyText] = {}
    quoted: str = Field(default="", max_length=40, description="date of the quote")


class EnginePart(Located):
    """One kind of part as this engine has it."""

    quantity: Count | None = Field(default=None, description="left out, one for each place on its axes")
    places: list[str] = Field(default=[], description="those there are of it; left out, all on its axes")
    number: str = Field(default="", max_length=80, description="the maker's part number")
    made: dict[Name, str] = Field(
        default={}, description="material and treatment, by the properties of the kind"
    )
    new: dict[Name, AnyQuantity] = Field(default={}, description="sizes of a new one")
    limits: list[Limit] = []
    repair_sizes: list[RepairSizes] = []
    work: dict[Name, Work] = Field(
        default={}, description="by operation: what it needs, and what is pressed or skimmed"
    )
    price: Price | None = None
    note: str = Field(default="", max_length=400)


class Pair(Located):
    """Two items that belong together, where matching axes cannot say it."""

    of: str = Field(description="place of the first")
    to: str = Field(description="place of the second")


class ListedLink(Located):
    """The pairs of one relation between two kinds, listed."""

    relation: Name
    of: Name
    to: Name
    pairs: list[Pair]


class EngineSheet(Sheet):
    """The whole sheet."""

    format: Literal["1"]
    ruleset: Name = Field(description="the rule set whose vocabulary this sheet uses")
    vocabulary_version: Count = Field(default=1, description="version of the words it was written with")
    engine: Words
    edition: str = Field(
        default="", max_length=120, description="edition of the maker's manual the limits come from"
    )
    serials: str = Field(default="", max_length=120, description="serial range the sheet is for")
    units: Literal["mm", "inch"] = "mm"
    layout: dict[Name, Name]
    axes: dict[Name, Count] = Field(description="how many on each numbered axis")
    geometry: Geometry | None = Field(default=None, description="the cylinder, for what a skim does to it")
    parts: dict[Name, EnginePart]
    links: Annotated[list[ListedLink], OneOrMany] = []

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the sheet in hex; the order of its lines does not show."""
        return digest_of(self)
