"""What an engine sheet says of the work on a part: joints that are pressed, faces that are skimmed, walls.

Pydantic models only. The words in them are checked against a vocabulary in `work_check`; what follows from
them for one item is worked out in `advisor.gauging.work`.
"""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from typing import Annotated, Final, Literal, TypeAlias

from pydantic import Field, model_validator

from advisor.sheets.base import DecimalText, FaultError, Length, Located, Name, quantity
from advisor.sheets.vocabulary import Metal, Purpose
from advisor.units import Quantity

PressFit: TypeAlias = Literal["H6/p6", "H6/r6", "H6/s6", "H7/p6", "H7/r6", "H7/s6"]
"""Fits of the ISO 286 table in `advisor.gauging.fits` that have an interference at any nominal size."""

LARGEST_FIT: Final = (Decimal(3), Decimal(315))
"""Nominal sizes of that table: over the first, up to the second, in mm."""

Temperature = Annotated[Quantity, quantity("temperature")]
Pressure = Annotated[Quantity, quantity("pressure")]
Volume = Annotated[Quantity, quantity("volume")]


class Wall(Located):
    """Metal that must be left around a hole, by a reading of what is there now."""

    reading: Name = Field(description="the reading of the wall, on the part itself")
    least: Length = Field(description="what must be left once the hole is opened out")
    read_at: str = Field(default="", max_length=200)


class Span(Located):
    """A size from the one to the other, both allowed."""

    at_least: Length
    at_most: Length

    @model_validator(mode="after")
    def _in_order(self) -> Span:
        if self.at_least > self.at_most:
            raise FaultError(
                "joint-size",
                f"{self.at_least.text} to {self.at_most.text} runs backward",
                "at_least no more than at_most",
                "swap the two, or correct the one that slipped",
            )
        return self


class Joint(Located):
    """An inset that is pressed into a part: sleeve in block, seat or guide in head, bush in rod."""

    diameter: Length = Field(description="outside of the inset; with `fit`, the nominal size of both")
    bore: Length | None = Field(default=None, description="of the inset before it is pressed in")
    inner: Metal = Field(description="metal of the inset")
    outer: Metal = Field(description="metal of the part around it")
    thinnest_wall: Length = Field(description="least metal around the joint on the engine maker's drawing")
    interference: Span | None = Field(default=None, description="wanted, on the diameter")
    fit: PressFit | None = Field(
        default=None, description="in its place, by ISO 286: the housing's class and the inset's"
    )
    play: Length | None = Field(
        default=None,
        description="wanted on the diameter while the inset is put in; left out, it is pressed in cold",
    )
    heat_to: Temperature | None = Field(default=None, description="the most the outer part may be warmed to")
    chill_to: Temperature | None = Field(
        default=None, description="the cold that the inset is brought to; left out, it is not chilled"
    )
    strength: Pressure | None = Field(
        default=None, description="tensile strength of the outer part, for the tension around the hole"
    )
    opens_out: Name | None = Field(
        default=None, description="the part's own new size whose hole is bored out for the inset"
    )
    wall: Wall | None = Field(default=None, description="with opens_out: what must be left by measurement")
    finish: Length | None = Field(default=None, description="bore of the inset when it is done")
    read_at: str = Field(default="", max_length=200)

    @model_validator(mode="after")
    def _fits(self) -> Joint:
        if (self.interference is None) == (self.fit is None):
            raise FaultError(
                "joint-size",
                "the joint has " + ("two interferences" if self.fit else "no interference"),
                "exactly one of interference and fit",
                "write one of the two",
            )
        if self.interference is not None and self.interference.at_least.value < 0:
            raise FaultError(
                "joint-size",
                f"{self.interference.at_least.text} is a clearance",
                "an interference of 0 mm or more",
                "drop the minus sign",
            )
        over, up_to = LARGEST_FIT
        if self.fit is not None and not over < self.diameter.value <= up_to:
            raise FaultError(
                "joint-size",
                f"there is no {self.fit} for {self.diameter.text} here",
                f"a diameter over {over} and up to {up_to} mm",
                "give the interference in its place",
            )
        for size in (self.diameter, self.thinnest_wall):
            if size.value <= 0:
                raise FaultError("joint-size", f"{size.text} is no size", "a size above 0 mm")
        if self.bore is not None and not 0 < self.bore.value < self.diameter.value:
            raise FaultError(
                "joint-size",
                f"an inset of {self.diameter.text} outside cannot have a bore of {self.bore.text}",
                "a bore above 0 mm and below the diameter; left out for a solid inset",
                "correct the one that slipped",
            )
        if self.play is not None and self.play.value < 0:
            raise FaultError("joint-size", f"{self.play.text} is no play", "a length of 0 mm or more")
        if self.strength is not None and self.strength.value <= 0:
            raise FaultError("joint-size", f"{self.strength.text} is no strength", "a stress above 0 MPa")
        if self.finish is not None and self.bore is None:
            raise FaultError(
                "joint-size", "a solid inset has no bore to finish", "bore and finish together, or neither"
            )
        if self.wall is not None and self.opens_out is None:
            raise FaultError(
                "joint-size",
                "the wall is measured, but it is not said from which size the hole is opened out",
                "opens_out: one of the part's new sizes",
            )
        return self


class Skim(Located):
    """A face that is machined flat, and what moves with it."""

    face: Literal["head", "deck"]
    flatness: Name = Field(description="the dimension that says how far the face is out of flat")
    thickness: Name = Field(description="the dimension that says how much is there; its discard limit holds")
    stock: Length = Field(description="what comes off for the finish, beyond what is out of flat")
    sinks: list[Name] = Field(
        default=[], description="dimensions of other kinds that a skim of the head makes smaller: recession"
    )

    @model_validator(mode="after")
    def _stock(self) -> Skim:
        if self.stock.value < 0:
            raise FaultError("repair-stock", f"{self.stock.text} is less than nothing", "0 mm or more")
        return self


class Work(Located):
    """What the sheet says of one operation on one kind of part."""

    needs: dict[Name, Purpose] = Field(
        default={},
        description="dimensions that must stand inside the limit for this purpose before it can be done",
    )
    joint: Joint | None = None
    skim: Skim | None = None


class Protrusion(Located):
    """Where the height of the pistons at top dead centre is read: above the deck is above 0."""

    reading: Name
    part: Name


class Gasket(Located):
    """A head gasket from the engine maker's list: the protrusions that it is for."""

    mark: str = Field(max_length=80)
    thickness: Length = Field(description="compressed")
    over: Length = Field(description="least protrusion of the pistons")
    up_to: Length = Field(description="greatest protrusion of the pistons")

    @model_validator(mode="after")
    def _span(self) -> Gasket:
        if self.thickness.value <= 0 or self.over >= self.up_to:
            raise FaultError(
                "geometry-size",
                f"gasket {self.mark} has no thickness, or no span of protrusion",
                "a thickness above 0 mm, and over below up_to",
            )
        return self


class Geometry(Located):
    """One cylinder with head and gasket on, as new, and what must be kept."""

    bore: Length
    stroke: Length
    chamber_volume: Volume = Field(description="in the head, up to its face")
    chamber_opening: Length = Field(
        description="diameter of the circle with the area of the chamber's opening at the face"
    )
    crown_volume: Volume | None = Field(default=None, description="of the piston's dish; below 0 for a dome")
    flat_above_face: Length | None = Field(
        default=None, description="how far the head's flat above the piston lies back from its face"
    )
    gasket_bore: Length
    gasket_thickness: Length | None = Field(default=None, description="compressed, where there are no grades")
    gaskets: list[Gasket] = Field(default=[], description="grades, by protrusion")
    protrusion: Protrusion
    least_piston_to_head: Length | None = None
    most_compression_ratio: DecimalText | None = None
    read_at: str = Field(default="", max_length=200)

    @model_validator(mode="after")
    def _sizes(self) -> Geometry:
        if (self.gasket_thickness is None) == (not self.gaskets):
            raise FaultError(
                "geometry-size",
                "the geometry has " + ("both a gasket and grades" if self.gaskets else "no gasket"),
                "exactly one of gasket_thickness and gaskets",
                "write one of the two",
            )
        listed = sorted(self.gaskets, key=lambda each: each.over)
        for thin, thick in pairwise(listed):
            if thick.over < thin.up_to or thick.thickness <= thin.thickness:
                raise FaultError(
                    "geometry-size",
                    f"gaskets {thin.mark} and {thick.mark} overlap, or more protrusion has no thicker gasket",
                    "spans that do not overlap, the thicker gasket for more protrusion",
                    "correct the one that slipped",
                )
        above = (self.bore, self.stroke, self.gasket_bore, self.gasket_thickness)
        not_below = (self.chamber_volume, self.chamber_opening, self.flat_above_face)
        if any(each is not None and each.value <= 0 for each in above) or any(
            each is not None and each.value < 0 for each in not_below
        ):
            raise FaultError(
                "geometry-size",
                "a size of the cylinder is nothing, or less",
                "bore, stroke and gasket above 0; chamber and step of 0 or more",
            )
        return self
