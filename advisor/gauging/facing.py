"""A face of head or deck that is skimmed: what comes off, and what that does to the cylinder above it.

Everything is worked out twice: as the readings stand best for the part, and as they stand worst, by their
limits of error. Only what both say is known. The sums are those of `head_and_deck`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Final

from advisor.gauging.figures import Figure, Lack, WorkFacts, worst
from advisor.gauging.gauge import GaugedDimension
from advisor.gauging.head_and_deck import (
    Cylinder,
    GasketChoice,
    GasketGrade,
    choose_gasket,
    circle_area,
    cut_to_clean,
    skim,
)
from advisor.gauging.head_and_deck import Limits as Kept
from advisor.gauging.measure import WORKING, Measure
from advisor.gauging.repair import complete
from advisor.sheets.bench import Bench
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.work import Geometry, Skim

ORDER_AFTER: Final = "head gasket: order after measuring the protrusion of"
_WHICH_GASKET: Final = (
    "whether the pistons still stand within the listed head gaskets: {}; "
    "measure their protrusion more exactly"
)
_CUBIC: Final = 1000
"""mm³ to the cm³ of the calculators."""


@dataclass(frozen=True, slots=True)
class Span:
    """A size from the one to the other, in mm."""

    low: Decimal
    high: Decimal

    @classmethod
    def of(cls, measure: Measure) -> Span:
        """A measure with its limit of error either way."""
        return cls(measure.value - measure.limit_of_error, measure.value + measure.limit_of_error)

    def less(self, other: Span) -> Span:
        """What is left of it when the other is taken off."""
        return Span(self.low - other.high, self.high - other.low)

    def plus(self, other: Span) -> Span:
        """It and the other."""
        return Span(self.low + other.low, self.high + other.high)


@dataclass(frozen=True, slots=True)
class Protrusions:
    """How far the pistons stand above the deck at top dead centre."""

    greatest: tuple[Decimal, ...]
    """Of each piston that was measured everywhere, in mm."""
    error: Decimal
    """The greatest limit of error of these readings."""
    missing: tuple[int, ...]
    """The items that were not."""

    @property
    def span(self) -> Span | None:
        """Of the piston that stands highest; None where one was not measured."""
        if self.missing or not self.greatest:
            return None
        return Span(max(self.greatest) - self.error, max(self.greatest) + self.error)


def protrusions(bench: Bench, geometry: Geometry, ruleset: RuleSet) -> Protrusions:
    """The protrusion of every piston on the bench."""
    found: list[Decimal] = []
    error = Decimal(0)
    missing = []
    for index, item in enumerate(bench.items):
        if item.key.kind != geometry.protrusion.part:
            continue
        taken = complete(item, geometry.protrusion.reading, ruleset)
        if taken is None:
            missing.append(index)
        else:
            found.append(max(taken.values.values()))
            error = max(error, taken.limit_of_error)
    return Protrusions(tuple(found), error, tuple(missing))


def gasket_for(geometry: Geometry, pistons: Protrusions, off: Span) -> GasketChoice | None:
    """The grade by protrusion, once `off` has come off the deck; None where one piston is not measured, or
    the maker has no grades.
    """
    if not geometry.gaskets or pistons.span is None:
        return None
    grades = [
        GasketGrade(each.mark, each.thickness.value, each.over.value, each.up_to.value)
        for each in geometry.gaskets
    ]
    middle, half = (off.low + off.high) / 2, (off.high - off.low) / 2
    return choose_gasket(grades, [each + middle for each in pistons.greatest], pistons.error + half)


def skim_facts(
    index: int,
    wanted: Skim,
    bench: Bench,
    geometry: Geometry,
    ruleset: RuleSet,
    dimension: Callable[[int, str], GaugedDimension | None],
) -> WorkFacts:
    """What a skim of one item's face comes to; `dimension` gives a dimension of an item."""
    with localcontext(WORKING):
        flat, thick = dimension(index, wanted.flatness), dimension(index, wanted.thickness)
        if flat is None or flat.measure is None or flat.lacks:
            return WorkFacts(None, lacks=(Lack(index, wanted.flatness),))
        stock = wanted.stock.value
        out = Span.of(flat.measure)
        off = Span(cut_to_clean(max(out.low, Decimal(0)), stock), cut_to_clean(out.high, stock))
        comes_off = WorkFacts(True, (Figure("comes_off", "comes off", off.low, off.high),))
        facts = comes_off.and_(_thickness(index, wanted, thick, off))
        pistons = protrusions(bench, geometry, ruleset)
        facts = facts.and_(_cylinder(wanted, geometry, pistons, off, bench))
        for name in wanted.sinks:
            facts = facts.and_(_sinks(name, bench, ruleset, dimension, off))
        return facts


def _thickness(index: int, wanted: Skim, thick: GaugedDimension | None, off: Span) -> WorkFacts:
    if thick is None or thick.measure is None or thick.lacks:
        return WorkFacts(None, lacks=(Lack(index, wanted.thickness),))
    left = Span.of(thick.measure).less(off)
    limit = thick.standings["discard"].limit
    least = None if limit is None else limit.at_least
    figure = Figure("height_left", "height afterwards", left.low, left.high, at_least=least)
    against = ("it would be thinner than the engine maker allows",) if figure.kept is False else ()
    return WorkFacts(figure.kept, (figure,), against=against)


def _cylinder(wanted: Skim, geometry: Geometry, pistons: Protrusions, off: Span, bench: Bench) -> WorkFacts:
    """Compression ratio and piston-to-head clearance before and after, and the gasket that goes with them."""
    now = pistons.span
    kept = (geometry.least_piston_to_head, geometry.most_compression_ratio)
    if now is None:
        lacks = tuple(Lack(each, geometry.protrusion.reading) for each in pistons.missing)
        places = _places(bench, pistons.missing)
        return WorkFacts(
            True if kept == (None, None) and not geometry.gaskets else None,
            lacks=lacks,
            says=(f"{ORDER_AFTER} {places}",) if geometry.gaskets else (),
        )
    raised = off if wanted.face == "deck" else Span(Decimal(0), Decimal(0))
    before = gasket_for(geometry, pistons, Span(Decimal(0), Decimal(0)))
    choice = gasket_for(geometry, pistons, raised)
    gasket = _gasket(geometry, choice, now.plus(raised), wanted.face)
    thickness = geometry.gasket_thickness.value if geometry.gasket_thickness is not None else None
    if choice is not None and choice.grade is not None:
        thickness = choice.grade.thickness
    if thickness is None:
        return gasket
    old = before.grade.thickness if before is not None and before.grade is not None else thickness
    try:
        first = Span(*(_plain(geometry, each, old).compression_ratio for each in (now.low, now.high)))
        least = skim(wanted.face, _plain(geometry, now.low, thickness), off.low, Kept()).cylinder
        most = skim(wanted.face, _plain(geometry, now.high, thickness), off.high, Kept()).cylinder
    except ValueError as error:
        return gasket.and_(WorkFacts(False, against=(str(error),)))
    bound = geometry.least_piston_to_head
    figures = (
        Figure("ratio_before", "compression ratio now", first.low, first.high, ""),
        Figure(
            "ratio_after",
            "compression ratio afterwards",
            least.compression_ratio,
            most.compression_ratio,
            "",
            at_most=geometry.most_compression_ratio,
        ),
        Figure(
            "piston_to_head",
            "piston to head afterwards",
            most.piston_to_head,
            least.piston_to_head,
            at_least=None if bound is None else bound.value,
        ),
    )
    against = [
        says
        for figure, says in zip(
            figures[1:],
            ("the compression would be too high", "the piston would stand too near the head"),
            strict=True,
        )
        if figure.kept is False
    ]
    return gasket.and_(WorkFacts(worst(each.kept for each in figures), figures, against=tuple(against)))


def _plain(geometry: Geometry, protrusion: Decimal, gasket: Decimal) -> Cylinder:
    opening = geometry.chamber_opening.value
    crown, back = geometry.crown_volume, geometry.flat_above_face
    return Cylinder(
        bore=geometry.bore.value,
        stroke=geometry.stroke.value,
        chamber_volume=geometry.chamber_volume.value / _CUBIC,
        chamber_area=circle_area(opening) if opening else Decimal(0),
        gasket_bore=geometry.gasket_bore.value,
        gasket_thickness=gasket,
        piston_below_deck=-protrusion,
        crown_volume=Decimal(0) if crown is None else crown.value / _CUBIC,
        flat_above_face=Decimal(0) if back is None else back.value,
    )


def _gasket(geometry: Geometry, choice: GasketChoice | None, stands: Span, face: str) -> WorkFacts:
    """The grade as a figure and what to do about it; one beyond the list is no reason against a head."""
    if choice is None:
        return WorkFacts(True)
    figure = Figure("protrusion", "greatest protrusion of the pistons with it", stands.low, stands.high)
    if choice.grade is None:
        least = min(each.over.value for each in geometry.gaskets)
        most = max(each.up_to.value for each in geometry.gaskets)
        beyond = stands.low > most or stands.high < least
        says = "the engine maker lists no head gasket for that protrusion"
        if face == "deck":
            if beyond:
                return WorkFacts(False, (figure,), against=(says,))
            grades = ", ".join(
                f"{each.mark} ({each.over.text} to {each.up_to.text})" for each in geometry.gaskets
            )
            return WorkFacts(None, (figure,), unsure=(_WHICH_GASKET.format(grades),))
        return WorkFacts(True, (figure,), says=(says,))
    marks = " or ".join(each.mark for each in choice.grades)
    if face == "deck":
        says = f"head gasket {marks} is to be expected: order after measuring the protrusion again"
    elif choice.settled:
        says = f"head gasket {marks}, by the protrusion as measured"
    else:
        says = f"head gasket {marks}: order after measuring the protrusion more exactly"
    return WorkFacts(True, (figure,), says=(says,))


def _sinks(
    name: str,
    bench: Bench,
    ruleset: RuleSet,
    dimension: Callable[[int, str], GaugedDimension | None],
    off: Span,
) -> WorkFacts:
    """What becomes of a depth below the face: smaller by the cut, and mended by cutting deeper.

    So it forbids nothing; the order says where the seats come up for it.
    """
    each = ruleset.vocabulary.dimensions[name]
    spans: list[Span] = []
    least: list[Decimal] = []
    shallow, missing = [], []
    for index, item in enumerate(bench.items):
        if item.key.kind not in each.kinds:
            continue
        gauged = dimension(index, name)
        if gauged is None or gauged.measure is None or gauged.lacks:
            missing.append(index)
            continue
        after = Span.of(gauged.measure).less(off)
        limit = gauged.standings["reassembly"].limit
        bound = None if limit is None else limit.at_least
        spans.append(after)
        if bound is not None:
            least.append(bound)
            if after.low < bound:
                shallow.append(index)
    says = []
    if shallow:
        says.append(f"cut deeper at {_places(bench, shallow)}: {each.label} may come below its least")
    if missing:
        says.append(f"measure {each.label} of {_places(bench, missing)} afterwards: not known now")
    figures: tuple[Figure, ...] = ()
    if spans:
        low, high = min(span.low for span in spans), max(span.high for span in spans)
        figures = (Figure(name, f"{each.label} afterwards", low, high, at_least=max(least, default=None)),)
    return WorkFacts(True, figures, says=tuple(says))


def _places(bench: Bench, items: Sequence[int]) -> str:
    """Items as they are said, by kind and place."""
    named = (
        f"{bench.items[each].key.kind.replace('_', ' ')} {bench.items[each].key.where}" for each in items
    )
    return ", ".join(each.strip() for each in named)
