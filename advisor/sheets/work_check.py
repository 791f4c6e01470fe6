"""The words under `work`, `geometry` and `repair_sizes` of an engine sheet checked against a vocabulary."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from advisor.sheets.checker import Checker
from advisor.sheets.engine import EnginePart, EngineSheet, RepairSizes
from advisor.sheets.places import Path as Steps
from advisor.sheets.vocabulary import Dimension
from advisor.sheets.work import Geometry, Joint, Skim, Wall


def check_work(checker: Checker, kind: str, part: EnginePart, sheet: EngineSheet) -> None:
    """Note words that nothing declares, or that belong to other kinds, in what is said of work on a part."""
    vocabulary = checker.whole.vocabulary
    for index, sizes in enumerate(part.repair_sizes):
        _repair_sizes(checker, ("parts", kind, "repair_sizes", index), kind, sizes)
    for name, work in part.work.items():
        path: Steps = ("parts", kind, "work", name)
        if checker.word(path, name, vocabulary.operations, "operation"):
            checker.belongs(path, name, vocabulary.operations[name].kinds, kind, "operation")
        for dimension, purpose in work.needs.items():
            at = (*path, "needs", dimension)
            limits = (
                *((kind, each.dimension, each.purpose) for each in part.limits),
                *((each.part, each.dimension, each.purpose) for each in checker.whole.limits),
            )
            if checker.dimension(at, dimension, kind) and (kind, dimension, purpose) not in limits:
                _needs_limit(checker, at, f"{dimension} has no limit for {purpose} on this sheet", purpose)
        if work.joint is not None:
            _joint(checker, (*path, "joint"), kind, part, work.joint)
        if work.skim is not None:
            _skim(checker, (*path, "skim"), kind, part, work.skim)
            if sheet.geometry is None:
                checker.fault(
                    (*path, "skim"),
                    "size-missing",
                    "what a skim does to the cylinder cannot be told without the cylinder",
                    "geometry: beside axes and parts",
                    "add the geometry, or drop the skim",
                )


def check_geometry(checker: Checker, sheet: EngineSheet) -> None:
    """Note words of the geometry that nothing declares."""
    if sheet.geometry is None:
        return
    read, path = sheet.geometry.protrusion, ("geometry", "protrusion")
    if checker.word((*path, "part"), read.part, sheet.parts, "part of this engine"):
        _reading(checker, (*path, "reading"), read.reading, read.part)
        _near_the_piston(checker, sheet.geometry, read.part, sheet.parts[read.part])
    _volumes(checker, sheet.geometry)


_NEAR: Final = Decimal("0.02")
"""By what share of it a piston may be off its bore: even a large two-piece one has under half of that."""

_RATIOS: Final = (Decimal(3), Decimal(30))
"""Compression ratios between which every piston engine lies (common practice, no source)."""

_SLIGHT: Final = Decimal("0.0005")
"""Share of the swept volume below which a chamber that is not flat is a unit that slipped, mm³ for cm³."""

_QUARTER_TURN: Final = Decimal("0.785398163397448309615660845819875721")
"""A quarter of pi."""


def _near_the_piston(checker: Checker, geometry: Geometry, kind: str, part: EnginePart) -> None:
    """Note a bore that no size of the piston is near."""
    sizes = [each for each in part.new.values() if each.dimension == "length"]
    bore = geometry.bore
    if not sizes or any(abs(each.value - bore.value) <= bore.value * _NEAR for each in sizes):
        return
    nearest = min(sizes, key=lambda each: abs(each.value - bore.value))
    checker.fault(
        ("geometry", "bore"),
        "geometry-unlikely",
        f"no size of {kind} is near a bore of {bore.text}; the nearest is {nearest.text}",
        f"a bore in which {kind} fits",
        "correct the bore, or the size of the part",
    )


def _volumes(checker: Checker, geometry: Geometry) -> None:
    """Note volumes that cannot be those of this cylinder: lost beside it, larger, or of no compression."""
    swept = _QUARTER_TURN * geometry.bore.value**2 * geometry.stroke.value
    given = [("chamber_volume", geometry.chamber_volume)]
    if geometry.crown_volume is not None:
        given.append(("crown_volume", geometry.crown_volume))
    for key, volume in given:
        if volume.value and not swept * _SLIGHT <= abs(volume.value) <= swept:
            checker.fault(
                ("geometry", key),
                "geometry-unlikely",
                f"{volume.text} cannot belong to a cylinder that sweeps {swept / 1000:.0f} cm³",
                "a volume between a two-thousandth of that and all of it, or 0 for none",
                "correct the figure or the unit",
            )
            return
    thick = [each.thickness.value for each in geometry.gaskets]
    if geometry.gasket_thickness is not None:
        thick.append(geometry.gasket_thickness.value)
    if not thick:
        return
    gasket = _QUARTER_TURN * geometry.gasket_bore.value**2 * min(thick)
    left = sum((each.value for _, each in given), gasket)
    if left <= 0 or not _RATIOS[0] <= 1 + swept / left <= _RATIOS[1]:
        checker.fault(
            ("geometry", given[-1][0]),
            "geometry-unlikely",
            f"chamber, crown and gasket leave {left / 1000:.1f} cm³ above the piston",
            f"volumes that give a compression ratio from {_RATIOS[0]} to {_RATIOS[1]}",
            "correct the figure, its sign or its unit",
        )


def _repair_sizes(checker: Checker, path: Steps, kind: str, sizes: RepairSizes) -> None:
    vocabulary = checker.whole.vocabulary
    if sizes.wall is not None:
        _wall(checker, (*path, "wall"), kind, sizes.wall)
    if sizes.run_out is not None:
        at = (*path, "run_out")
        source = sizes.run_out
        if not source.on:
            _reading(checker, (*at, "reading"), source.reading, kind)
        for relation, other in source.on.items():
            known = checker.word((*at, "on", relation), relation, vocabulary.relations, "relation")
            known &= checker.word((*at, "on", relation), other, vocabulary.kinds, "kind of part")
            if known and checker.links((*at, "on", relation), relation, [kind], other):
                _reading(checker, (*at, "reading"), source.reading, other)
    span = min(
        (abs(b.value - a.value) for a in sizes.steps for b in sizes.steps if a.value != b.value),
        default=None,
    )
    for index, grade in enumerate(sizes.grades):
        if span is not None and abs(grade.value) >= span:
            checker.fault(
                (*path, "grades", index),
                "repair-steps",
                f"a grade of {grade.text} reaches the next repair size",
                "a grade inside one repair size, as a difference from it",
                "list it as a step, or correct it",
            )


def _joint(checker: Checker, path: Steps, kind: str, part: EnginePart, joint: Joint) -> None:
    if joint.opens_out is not None:
        sizes = checker.whole.vocabulary.kinds[kind].sizes
        at = (*path, "opens_out")
        if checker.word(at, joint.opens_out, sizes, f"size of {kind}") and joint.opens_out not in part.new:
            checker.fault(
                at,
                "size-missing",
                f"the new {joint.opens_out} of {kind} is not given, so what is bored out cannot be told",
                f"{joint.opens_out} under new",
                "give the new size",
            )
    if joint.wall is not None:
        _wall(checker, (*path, "wall"), kind, joint.wall)


def _skim(checker: Checker, path: Steps, kind: str, part: EnginePart, skim: Skim) -> None:
    for key, name in (("flatness", skim.flatness), ("thickness", skim.thickness)):
        if checker.dimension((*path, key), name, kind):
            _length(checker, (*path, key), name, checker.whole.vocabulary.dimensions[name])
    if not any(
        (each.dimension, each.purpose) == (skim.thickness, "discard") and each.at_least is not None
        for each in part.limits
    ):
        _needs_limit(
            checker, (*path, "thickness"), f"{skim.thickness} has no least size for discard here", "discard"
        )
    for index, name in enumerate(skim.sinks):
        at = (*path, "sinks", index)
        if checker.word(at, name, checker.whole.vocabulary.dimensions, "dimension"):
            _length(checker, at, name, checker.whole.vocabulary.dimensions[name])


def _length(checker: Checker, path: Steps, name: str, dimension: Dimension) -> None:
    if dimension.quantity != "length":
        checker.fault(
            path,
            "unit-dimension",
            f"{name} is a {dimension.quantity.replace('_', ' ')}",
            "a dimension that is a length",
            "name another dimension",
        )


def _needs_limit(checker: Checker, path: Steps, what: str, purpose: str) -> None:
    checker.fault(
        path,
        "size-missing",
        what,
        f"a limit of this part for {purpose}",
        "give the limit under limits, or drop what hangs on it",
    )


def _wall(checker: Checker, path: Steps, kind: str, wall: Wall) -> None:
    _reading(checker, (*path, "reading"), wall.reading, kind)
    if wall.least.value <= 0:
        checker.fault(
            (*path, "least"),
            "repair-stock",
            f"a wall of {wall.least.text} is none",
            "a length above 0 mm",
            "give what the maker says must be left",
        )


def _reading(checker: Checker, path: Steps, name: str, kind: str) -> None:
    """Note a reading that is not declared, not of this kind, or no length."""
    readings = checker.whole.vocabulary.readings
    if (
        checker.word(path, name, readings, "reading")
        and checker.belongs(path, name, readings[name].kinds, kind, "reading")
        and readings[name].quantity != "length"
    ):
        checker.fault(
            path,
            "unit-dimension",
            f"{name} is a {readings[name].quantity.replace('_', ' ')}",
            "a reading that is a length",
            "name another reading",
        )
