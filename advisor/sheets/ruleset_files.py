"""The smaller files of a rule set: its manifest, bibliography, cautions and instruments."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from advisor.sheets.base import AnyQuantity, Count, FaultError, Located, Name, Sheet, Words
from advisor.sheets.vocabulary import Cite, Metal, OneOrMany
from advisor.units import Quantity

Tier = Literal["official", "official reprint", "trade guide", "rule of thumb", "special engine", "memory"]
"""How strong a source is, in words that may be printed beside the citation."""


class BibliographyEntry(Located):
    """A source that somebody opened, or the plain statement that nobody did."""

    tier: Tier
    title: Words
    publisher: str = Field(default="", max_length=200)
    number: str = Field(default="", max_length=200)
    read_at: str = Field(default="", max_length=400, description="where it was read")
    note: str = Field(default="", max_length=800)


class Bibliography(Sheet):
    """The register against which every citation is checked."""

    format: Literal["1"]
    sources: dict[Name, BibliographyEntry]


class Caution(Located):
    """What could hurt somebody, and whose rule governs."""

    says: Words
    governs: Words
    cite: list[Cite] = Field(min_length=1)


class CautionFile(Sheet):
    """The cautions of a rule set."""

    format: Literal["1"]
    cautions: dict[Name, Caution]


class Instrument(Located):
    """A measuring instrument and what it adds to the uncertainty of a reading."""

    label: Words
    measures: Name = "length"
    limit: AnyQuantity = Field(description="greatest error of one reading, either way")
    resolution: AnyQuantity | None = Field(default=None, description="the least step that can be read off it")
    repeatability: AnyQuantity | None = Field(
        default=None, description="by how much repeated readings of one spot may differ"
    )
    set_with: Annotated[list[Name], OneOrMany] = Field(
        default=[],
        description="it compares: the instruments that it is set with; the error of the first that spans "
        "the size comes on top of its own",
    )
    blade: AnyQuantity | None = Field(
        default=None, description="it brackets a gap between two blades: the error of one blade, either way"
    )
    turns: list[AnyQuantity] = Field(
        default=[], description="by how much a reading slips when a turn of its screw is miscounted"
    )
    metal: Metal | None = Field(
        default=None, description="what its scale is made of; left out, it is right at any temperature"
    )
    from_: AnyQuantity | None = Field(
        default=None, alias="from", description="for sizes no smaller than this; left out, from nothing up"
    )
    up_to: AnyQuantity | None = Field(default=None, description="for sizes no larger than this")
    cite: list[Cite] = Field(min_length=1)

    @model_validator(mode="after")
    def _a_range(self) -> Instrument:
        low, high = self.from_, self.up_to
        if low is not None and high is not None and low.dimension == high.dimension and low >= high:
            raise FaultError(
                "instrument-range-order",
                f"the range of {self.label} leaves nothing between {low.text} and {high.text}",
                "from less than up_to",
                "swap the two, or correct the one that slipped",
                ("from",),
            )
        return self

    def spans(self, size: Quantity) -> bool:
        """Whether its range holds a size; one of another quantity is not compared."""
        low, high = self.from_, self.up_to
        return not (
            (low is not None and low.dimension == size.dimension and size < low)
            or (high is not None and high.dimension == size.dimension and size > high)
        )

    @property
    def sets(self) -> bool:
        """Whether another instrument may be set with it: it is not itself set with one, and has a scale."""
        return not self.set_with and self.blade is None

    @property
    def range_text(self) -> str:
        """Its range in words."""
        low = f"from {self.from_.text}" if self.from_ is not None else ""
        high = f"up to {self.up_to.text}" if self.up_to is not None else ""
        return " ".join(filter(None, (low, high)))


class InstrumentFile(Sheet):
    """The default instruments; a certificate's value on the case goes before these."""

    format: Literal["1"]
    instruments: dict[Name, Instrument]


class Acceptance(Located):
    """A finding of `advisor rules check` that the author has looked at and lets stand."""

    finding: str = Field(max_length=60, description="the code of the finding")
    subject: Annotated[list[Annotated[str, Field(max_length=300)]], OneOrMany] = Field(
        description="what it is about, as the finding names it; one, or a list of those with one reason"
    )
    because: Words


class Manifest(Sheet):
    """`ruleset.yaml`: what a rule set is called and which files make it up."""

    format: Literal["1"]
    name: Name
    version: str = Field(
        pattern=r"^\d+\.\d+\.\d+$", description="three numbers joined by points, such as 1.0.0"
    )
    vocabulary_version: Count = Field(
        default=1, description="goes up by one whenever a word of the vocabulary is renamed"
    )
    title: Words
    vocabulary: list[str]
    rules: list[str]
    sources: str
    cautions: str
    instruments: str
    accept: list[Acceptance] = Field(
        default=[], description="findings of `advisor rules check` that are let stand, each with its reason"
    )
