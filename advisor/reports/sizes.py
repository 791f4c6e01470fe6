"""Sizes laid out for people: a measuring sheet in words, item by item."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from advisor.explain.sizes import DimensionSize, ItemSizes, LimitSize, RepairSize
from advisor.faults import joined
from advisor.reports.paper import Paper
from advisor.schema import sentence
from advisor.sheets.place_words import places as where
from advisor.verdicts.doubts import instruments

AT = " at 95 %"

_LIMIT_WIDE = 22
"""Room for a limit in the table: two sizes with their units."""


@dataclass(slots=True)
class _Told:
    """What was said last of one item, and is not said again while it holds."""

    readings: str = ""
    limits: str = ""


def measuring_sheet(items: Sequence[ItemSizes], paper: Paper, *, budget: bool = False) -> Iterator[str]:
    """The items one below the other, line by line, without line ends.

    `budget` adds what each source of uncertainty has in a size.
    """
    bands: set[RepairSize] = set()
    for number, item in enumerate(items):
        if number:
            yield ""
        yield from _item(item, paper, budget, bands)


def heading(item: ItemSizes) -> str:
    """An item as its heading names it."""
    words = f"{item.label[:1].upper()}{item.label[1:]} {item.place}".rstrip()
    if item.tag:
        words += f", tag {item.tag}"
    return words if item.origin == "fitted" else f"{words}, {item.origin}"


def _item(item: ItemSizes, paper: Paper, budget: bool, bands: set[RepairSize]) -> Iterator[str]:
    yield from paper.heading(heading(item))
    if not item.opened:
        yield from paper.wrap("Not opened, not measured.", 2)
        return
    if item.found_size:
        size = "standard size" if item.standard else f"{item.found_size} from new"
        yield from paper.wrap(f"Arrived at {size}.", 2)
    for question in item.questions:
        yield from paper.wrap(sentence(f"{question.says}; {question.do}"), 2, mark="Questioned: ", hang=2)
    told = _Told()
    for each in item.measured:
        yield from _dimension(each, told, paper, budget) if each.size else _contradictory(each, paper)
    waiting = [each for each in item.dimensions if not each.size and not each.contradictions]
    if waiting:
        yield from paper.wrap(f"{'; '.join(map(_waits, waiting))}.", 2, mark="Not worked out: ", hang=2)
    if not item.dimensions:
        yield from paper.wrap("Nothing of it is measured.", 2)
    for band in item.repair_sizes:
        # A set has one band, which is told with the first of its items.
        if band not in bands:
            bands.add(band)
            yield from _band(band, paper)


def _waits(each: DimensionSize) -> str:
    state = "" if each.state in ("", "not looked at") else f", {each.state}"
    return f"{each.label}{state}" + (f" (wants {each.lacks})" if each.lacks else "")


def _dimension(each: DimensionSize, told: _Told, paper: Paper, budget: bool) -> Iterator[str]:
    least = {"up": "at least ", "down": "at most "}.get(each.may_grow, "")
    spread = f", ± {each.uncertainty}{AT}" if each.uncertainty else ", exact"
    yield from paper.wrap(f"{each.label}: {least}{each.size}{spread}", 2, hang=4)
    if each.readings and (source := _from(each)) != told.readings:
        told.readings = source
        yield from paper.wrap(f"From {source}.", 4, hang=2)
    if each.lacks:
        yield from paper.wrap(f"So far; wants {each.lacks}.", 4, hang=2)
    if any(limit.limit_from != told.limits for limit in each.limits):
        sources = dict.fromkeys(limit.limit_from for limit in each.limits)
        told.limits = next(iter(sources)) if len(sources) == 1 else ""
        yield from paper.wrap(f"Limits from {joined(sources)}.", 4, hang=2)
    for limit in each.limits:
        yield from _limit(limit, paper)
    if not each.limits:
        yield from paper.wrap("No limit is given.", 4)
    if each.note:
        yield from paper.wrap(sentence(each.note), 4, mark="Note: ", hang=2)
    if each.forecast is not None:
        says = each.forecast.says.removeprefix(f"{each.label}: ")
        yield from paper.wrap(sentence(f"{says[:1].upper()}{says[1:]}"), 4, mark="Forecast: ", hang=2)
    if budget:
        yield from _budget(each, paper)


def _contradictory(each: DimensionSize, paper: Paper) -> Iterator[str]:
    yield from paper.wrap(f"{each.label}: CONTRADICTORY, and so without a standing", 2, hang=4)
    for one in each.contradictions:
        yield from paper.wrap(f"{one.one} by {one.one_from};", 4, hang=2)
        yield from paper.wrap(f"{one.other} by {one.other_from}: {one.apart} apart.", 4, hang=2)
        yield from paper.wrap(f"Because: {sentence(one.because)} Measure both again.", 4, hang=2)


def _from(each: DimensionSize) -> str:
    told = []
    for reading in each.readings:
        where = f" of {joined(reading.places)}" if reading.places else ""
        told.append(f"{reading.label}{where} ({reading.instrument})")
    return joined(told)


def _limit(limit: LimitSize, paper: Paper) -> Iterator[str]:
    """One line of a table where the paper is wide enough, or the same words one after the other."""
    stands = limit.standing if limit.standing == "inside" else limit.standing.upper()
    row = f"      {limit.purpose:<12}{limit.limit:<{_LIMIT_WIDE}} {stands:<10}{limit.margin}".rstrip()
    if len(row) <= paper.measure and len(limit.limit) <= _LIMIT_WIDE:
        yield paper.plain(row)
    else:
        margin = f", {limit.margin}" if limit.margin else ""
        yield from paper.wrap(f"{limit.limit}: {stands}{margin}", 6, mark=f"{limit.purpose}: ", hang=4)
    if limit.doubt is None:
        return
    doubt = limit.doubt
    takes = f"It takes ± {doubt.needed}{AT} to tell" if doubt.needed else "It lies on the limit itself"
    if doubt.ways:
        yield from paper.wrap(f"{takes}: {joined(instruments(doubt), 'or')}.", 8)
    elif doubt.settled_by_measuring:
        yield from paper.wrap(
            f"{takes}. A new reading with {joined(instruments(doubt), 'or')} falls clear of the limit in "
            f"about {doubt.chance} of 100 cases.",
            8,
        )
    else:
        yield from paper.wrap(f"{takes}; no listed instrument can.", 8)


def _band(band: RepairSize, paper: Paper) -> Iterator[str]:
    if band.sizes:
        size = band.sizes[0] if len(band.sizes) == 1 else f"{band.sizes[0]} to {band.sizes[-1]}"
        text = f"{band.says}: {size} from new"
        if len(band.sizes) > 1:
            text += ", by the side on which it is worn, which only the machine can show"
    elif band.feasible is False:
        text = f"{band.says}: no listed size cleans it up"
    else:
        text = f"{band.says}: not worked out"
    if band.needs:
        low, high = band.needs
        text += f"; to clean up it goes {low if low == high else f'{low} to {high}'} from new"
    if band.walls:
        text += f"; whether the wall stands it is not known of {band.label} {where(band.walls)}"
    elif band.feasible is None and band.sizes:
        text += "; whether a listed size serves hangs on what is not known"
    if band.decided_by and len(band.places) > 1:
        text += f"; decided by {band.label} {band.decided_by}"
    if band.missing:
        text += f"; not known of {band.label} {where(band.missing)}"
    if len(band.places) > 1:
        text += f". One size for {band.label} {where(band.places)}"
    yield from paper.wrap(sentence(text), 2, mark="Repair size: ", hang=2)


def _budget(each: DimensionSize, paper: Paper) -> Iterator[str]:
    """The budget as a table: share of the variance, standard uncertainty, and whose."""
    if not each.budget:
        return
    yield from paper.wrap("Uncertainty, by its sources (share, standard uncertainty; spreads in mm):", 4)
    for line in each.budget:
        amount = line.uncertainty or "nothing, since both sides have it alike"
        how = f" ({line.how})" if line.how else ""
        yield from paper.wrap(f"{line.name}: {amount}{how}", 6, mark=f"{line.share:>9}  ")
