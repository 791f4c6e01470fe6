"""Sizes that cannot be: figures on an engine sheet or a case that only a slip of the pen explains."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from advisor.sheets.checker import Checker
from advisor.sheets.engine import EnginePart, Limit, RepairSizes
from advisor.sheets.places import Path as Steps
from advisor.units import Quantity

_FURTHEST_STEP: Final = Decimal("0.1")
"""Share of the new size beyond which no repair size or limit for wear lies (common practice, no source)."""

_FURTHEST_CLEAN_UP: Final = Decimal("0.05")
"""Share of the new size within which every part cleans up, if it does: no engine wears so far."""

_MAY_BE_NEGATIVE: Final = ("temperature", "temperature_difference")

_WEARS: Final = ("below_size", "above_size", "short_of_new")


def far_from_new(step: Decimal, new: Decimal) -> bool:
    """Whether a repair size lies further from new than any does."""
    return abs(step) > new * _FURTHEST_STEP


def check_positive(checker: Checker, path: Steps, size: Quantity, what: str) -> bool:
    """Note a size of a part that is nothing, or less; returns whether it is a size."""
    if size.value > 0 or size.dimension in _MAY_BE_NEGATIVE:
        return True
    checker.fault(
        path,
        "size-not-positive",
        f"{what} is {size.text}, and no size of a part is nothing or less",
        "a size above 0",
        "write the size itself, not a difference",
    )
    return False


def check_wear_limit(checker: Checker, path: Steps, part: EnginePart, limit: Limit) -> None:
    """Note a limit for wear that would leave no part over."""
    for formula in checker.whole.vocabulary.dimensions[limit.dimension].formulas:
        new = part.new.get(formula.reading or "")
        if formula.operator not in _WEARS or new is None or new.value <= 0:
            continue
        most = new.value if formula.operator == "short_of_new" else new.value * _FURTHEST_STEP
        for side in ("at_most", "at_least"):
            size: Quantity | None = getattr(limit, side)
            if size is not None and size.dimension == new.dimension and size.value >= most:
                checker.fault(
                    (*path, side),
                    "limit-beyond-part",
                    f"{limit.dimension} of {size.text} is more than a part of {new.text} can lose",
                    "a limit that leaves the part over",
                    "correct the figure or the unit; the limit is for the wear, not the size that is left",
                )


def check_repair_size(checker: Checker, path: Steps, kind: str, part: EnginePart, size: Quantity) -> None:
    """Note a difference from new that cannot be a repair size of this kind of part."""
    for listed in part.repair_sizes:
        new = part.new.get(listed.size)
        if size.value * listed.steps[0].value < 0:
            _wrong_side(
                checker,
                path,
                kind,
                listed,
                size,
                f"a difference from new, such as {listed.steps[0].text}",
                "correct the size, or its sign",
            )
            return
        if new is not None and far_from_new(size.value, new.value):
            checker.fault(
                path,
                "repair-size-far",
                f"{size.text} is too far from new to be a repair size of {kind}",
                f"a difference from new, such as {listed.steps[0].text}",
                "write the difference, not the size itself",
            )
            return


def check_clean_up(
    checker: Checker, path: Steps, kind: str, part: EnginePart, name: str, size: Quantity
) -> None:
    """Note a size at which a part cannot clean up: on the wrong side of new, too far from it, or nothing."""
    listed = [each for each in part.repair_sizes if each.operation == name]
    if checker.whole.vocabulary.operations[name].repair_size and not listed:
        checker.fault(
            (*path, "operation"),
            "no-repair-sizes",
            f"the engine sheet lists no sizes for {name} of {kind}",
            "an operation with repair_sizes on the engine sheet",
            "list them there, or name another operation",
        )
        return
    path = (*path, "size")
    if not listed:
        check_positive(checker, path, size, "the size at which it cleans up")
        return
    for each in listed:
        new = part.new[each.size]
        mend = f"write the size itself, such as {new.value + each.steps[0].value:f} mm"
        if size.value <= 0:
            checker.fault(
                path,
                "clean-up-size",
                f"{size.text} is no size that a part can clean up at",
                f"the size that is left, near {new.text}",
                mend,
            )
            return
        off = size.value - new.value
        if off * each.steps[0].value < 0:
            way = "under" if each.steps[0].value < 0 else "over"
            _wrong_side(checker, path, kind, each, size, f"a size {way} new ({new.text})", mend)
            return
        furthest_listed = max(abs(step.value) for step in each.steps)
        if abs(off) > max(new.value * _FURTHEST_CLEAN_UP, furthest_listed):
            checker.fault(
                path,
                "clean-up-size",
                f"{size.text} is too far from new ({new.text}) for a part to clean up at",
                f"the size that is left, near {new.text}",
                mend,
            )
            return
        furthest = each.furthest
        if furthest is not None and abs(off) > abs(furthest.value - new.value):
            checker.fault(
                path,
                "clean-up-size",
                f"{size.text} lies beyond {furthest.text}, the furthest size that {name} may go to",
                f"a size between {new.text} and {furthest.text}",
                f"{mend}; where it truly cleans up no sooner, say under risks that it is replaced",
            )
            return


def _wrong_side(
    checker: Checker, path: Steps, kind: str, listed: RepairSizes, size: Quantity, wanted: str, mend: str
) -> None:
    way = "under" if listed.steps[0].value < 0 else "over"
    checker.fault(
        path,
        "wrong-side-of-new",
        f"{size.text} lies on the wrong side of new: the sizes of {kind} go {way} it",
        wanted,
        mend,
    )
