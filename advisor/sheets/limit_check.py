"""Limits checked: rules of thumb of a rule set, and limits and repair sizes of an engine sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from advisor.faults import Fault
from advisor.sheets.checker import Checker
from advisor.sheets.engine import EnginePart, Limit, RepairSizes
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.rule_of_thumb import LimitSize, RuleOfThumb
from advisor.sheets.ruleset import RuleSet, RuleSetFiles
from advisor.sheets.size_check import far_from_new
from advisor.sheets.vocabulary import SIDES, Purpose

_LOOSER: Final[tuple[tuple[Purpose, Purpose], ...]] = (
    ("new", "reassembly"),
    ("new", "discard"),
    ("reassembly", "discard"),
)
"""Purposes of which the first must keep inside the second."""


def check_thumbs(whole: RuleSet, files: RuleSetFiles) -> list[Fault]:
    """What is wrong with the rules of thumb of a rule set."""
    faults: list[Fault] = []
    seen: dict[tuple[str, str, Purpose], list[tuple[RuleOfThumb, str]]] = defaultdict(list)
    for rules, document in files.rules:
        for index, thumb in enumerate(rules.limits):
            checker = _Thumb(whole, document, ("limits", index), thumb)
            checker.check(seen[thumb.part, thumb.dimension, thumb.purpose])
            faults += checker.found
            for name, other in thumb.alternatives.items() if not checker.found else ():
                sides = {"at_most": other.at_most, "at_least": other.at_least, "cite": other.cite}
                path = ("limits", index, "alternatives", name)
                checker = _Thumb(whole, document, path, thumb.model_copy(update=sides))
                checker.check(())
                faults += checker.found
            here = (thumb, str(document.positions["limits", index]))
            seen[thumb.part, thumb.dimension, thumb.purpose].append(here)
    return faults


class _Thumb(Checker):
    """One rule of thumb."""

    def __init__(self, whole: RuleSet, document: Document, path: Steps, thumb: RuleOfThumb) -> None:
        super().__init__(whole, document)
        self._path = path
        self._thumb = thumb

    def check(self, earlier: Sequence[tuple[RuleOfThumb, str]]) -> None:
        thumb, path, vocabulary = self._thumb, self._path, self.whole.vocabulary
        self.cites(path, thumb.cite)
        if not self.word((*path, "part"), thumb.part, vocabulary.kinds, "kind of part"):
            return
        sizes = vocabulary.kinds[thumb.part].sizes
        if self.dimension((*path, "dimension"), thumb.dimension, thumb.part):
            check_sides(self, path, thumb)
            for side in SIDES:
                size: LimitSize | None = getattr(thumb, side)
                if size is not None:
                    self._size((*path, side), size, sizes)
        if thumb.band is not None and self.word((*path, "band"), thumb.band, sizes, f"size of {thumb.part}"):
            for edge in ("over", "up_to"):
                bound = getattr(thumb, edge)
                if bound is not None:
                    self.of_dimension((*path, edge), bound, self.size_quantity(thumb.part, thumb.band))
        for other, where in earlier:
            if _overlap(thumb, other):
                self.fault(
                    path,
                    "limit-overlap",
                    f"two rules of thumb give {thumb.dimension} of {thumb.part} a limit for {thumb.purpose}, "
                    "and a part may fall under both",
                    "one for each part, dimension and purpose, or bands (over, up_to) of one size that "
                    "do not overlap",
                    f"see {where}; drop one, or give each its own band",
                )

    def _size(self, path: Steps, size: LimitSize, sizes: Sequence[str]) -> None:
        thumb = self._thumb
        wanted = self.whole.vocabulary.dimensions[thumb.dimension].quantity
        if size.from_ == thumb.purpose:
            self.fault(
                (*path, "from"),
                "limit-from-itself",
                f"this limit for {thumb.purpose} follows from the maker's limit for {thumb.purpose}",
                "the limit of another purpose",
                "where the maker gives this limit, no rule of thumb is asked",
            )
        if size.plus is not None:
            self.of_dimension((*path, "plus"), size.plus, wanted)
        if size.size is None or not self.word((*path, "size"), size.size, sizes, f"size of {thumb.part}"):
            return
        given = self.size_quantity(thumb.part, size.size)
        if given != wanted:
            self.fault(
                (*path, "size"),
                "limit-ratio",
                f"a share of {size.size} is a {given.replace('_', ' ')}, and {thumb.dimension} is a "
                f"{wanted.replace('_', ' ')}",
                f"a size of {thumb.part} that is a {wanted.replace('_', ' ')}",
                "name another size, or give the limit with `plus`",
            )


def _overlap(one: RuleOfThumb, other: RuleOfThumb) -> bool:
    """Whether some part may fall under both; bands reach from over (left out) to up_to (included)."""
    if one.band is None or one.band != other.band:
        return True
    lows = [each.over.value for each in (one, other) if each.over is not None]
    highs = [each.up_to.value for each in (one, other) if each.up_to is not None]
    return not lows or not highs or max(lows) < min(highs)


def check_sides(checker: Checker, path: Steps, limit: Limit | RuleOfThumb) -> None:
    """Note a side on which the dimension has no limit: a least run-out, a most play for the least play."""
    dimension = checker.whole.vocabulary.dimensions[limit.dimension]
    for side in SIDES:
        if getattr(limit, side) is None or side in dimension.limited:
            continue
        other = f"least_{limit.dimension}" if side == "at_least" else limit.dimension.removeprefix("least_")
        mend = f"write {dimension.limited[0]}, or correct the dimension"
        if other != limit.dimension and other in checker.whole.vocabulary.dimensions:
            mend = f"write {dimension.limited[0]}; a limit with {side} belongs to {other}"
        checker.fault(
            (*path, side),
            "limit-side",
            f"{limit.dimension} goes wrong on one side only, and {side} lies on the other",
            f"a limit with {dimension.limited[0]}",
            mend,
        )


def check_nesting(checker: Checker, path: Steps, limits: Sequence[Limit]) -> None:
    """Note limits of one dimension that do not lie inside one another: new, reassembly, discard."""
    found = {(each.dimension, each.purpose): (index, each) for index, each in enumerate(limits)}
    for (dimension, purpose), (index, limit) in found.items():
        for inner, outer in _LOOSER:
            if purpose != inner or (dimension, outer) not in found:
                continue
            wider = found[dimension, outer][1]
            # What only wears one way may have two sides when new and one later; with none in common, one of
            # the two is a slip.
            declared = checker.whole.vocabulary.dimensions.get(dimension)
            allowed = set(() if declared is None else declared.limited)
            given = [{side for side in SIDES if getattr(each, side) is not None} for each in (limit, wider)]
            if given[0].isdisjoint(given[1]) and given[0] | given[1] <= allowed:
                # Neither is empty, and they share nothing, so each has one side.
                (here,), (there,) = given
                checker.fault(
                    (*path, found[dimension, outer][0]),
                    "limit-side",
                    f"{dimension} is limited by {there} for {outer}, and for {inner} only by {here}",
                    f"{here} for {outer} too",
                    "correct the side that slipped, or add the one that is missing",
                )
                continue
            between = found.get((dimension, "reassembly")) if (inner, outer) == ("new", "discard") else None
            for side in SIDES:
                if between is not None and getattr(between[1], side) is not None:
                    continue
                here, there = getattr(limit, side), getattr(wider, side)
                if here is None or there is None or here.dimension != there.dimension:
                    continue
                if (here.value > there.value) if side == "at_most" else (here.value < there.value):
                    sign = "no more" if side == "at_most" else "no less"
                    checker.fault(
                        (*path, index, side),
                        "limit-nesting",
                        f"{dimension} may be {side} {here.text} for {inner}, which is looser than "
                        f"{there.text} for {outer}",
                        f"{sign} than {there.text}: new lies inside reassembly, reassembly inside discard",
                        "correct the figure that slipped, or the purpose",
                    )


def check_repair_sizes(checker: Checker, path: Steps, part: EnginePart, sizes: RepairSizes) -> None:
    """Note steps, stock and furthest size that cannot be meant."""
    steps = [step.value for step in sizes.steps]
    if any(step == 0 for step in steps) or len({step > 0 for step in steps}) > 1:
        checker.fault(
            (*path, "steps"),
            "repair-steps",
            "the repair sizes go both ways, or one of them is no step",
            "all oversizes, or all undersizes written with a minus sign",
            "leave out the standard size, and correct the signs",
        )
        return
    for index, step in enumerate(steps):
        if step in steps[:index]:
            checker.fault(
                (*path, "steps", index),
                "repair-step-twice",
                f"the repair size {sizes.steps[index].text} stands here a second time",
                "each size once",
                "drop one, or correct the one that slipped",
            )
    if sizes.stock.value < 0:
        checker.fault(
            (*path, "stock"),
            "repair-stock",
            f"{sizes.stock.text} is less than nothing",
            "what the machine must take off, as a length of 0 or more",
            "drop the minus sign",
        )
    new = part.new.get(sizes.size)
    if new is None or not checker.of_dimension((*path, "size"), new, "length"):
        return
    sign = 1 if steps[0] > 0 else -1
    if any(new.value + step <= 0 for step in steps):
        checker.fault(
            (*path, "steps"),
            "repair-steps",
            f"a repair size leaves nothing of the new size {new.text}",
            "differences from new, such as -0.25 mm",
            "write the difference, not the size itself",
        )
    elif far := [step for step in sizes.steps if far_from_new(step.value, new.value)]:
        checker.fault(
            (*path, "steps", sizes.steps.index(far[0])),
            "repair-size-far",
            f"a repair size {far[0].text} from new ({new.text}) is further than any goes",
            "differences from new, such as -0.25 mm",
            "correct the figure or the unit that slipped",
        )
    if sizes.furthest is not None:
        _furthest(checker, (*path, "furthest"), sizes, new.value, sign)


def _furthest(checker: Checker, path: Steps, sizes: RepairSizes, new: Decimal, sign: int) -> None:
    furthest = sizes.furthest
    assert furthest is not None
    first = min((step.value for step in sizes.steps), key=abs)
    if (furthest.value - new) * sign < 0 or furthest.value <= 0:
        checker.fault(
            path,
            "repair-furthest",
            f"the furthest size {furthest.text} does not lie on the side of new to which the repair sizes go",
            f"a size {'over' if sign > 0 else 'under'} the new one: the size itself, not the difference",
            "correct it, or the signs of the steps",
        )
    elif far_from_new(furthest.value - new, new):
        checker.fault(
            path,
            "repair-furthest",
            f"the furthest size {furthest.text} is further from new ({new:f} mm) than any part goes",
            "the size itself beyond which nothing is left",
            "correct the figure or the unit that slipped, here or of the new size",
        )
    elif (furthest.value - new - first) * sign < 0:
        checker.fault(
            path,
            "repair-furthest",
            f"the furthest size {furthest.text} is passed by the very first repair size",
            f"{new + first:f} mm, or further",
            "correct the furthest size, or drop these repair sizes",
        )
