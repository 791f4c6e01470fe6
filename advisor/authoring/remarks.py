"""What is worth knowing of an engine sheet that has no faults."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.faults import Remark
from advisor.gauging.provable import Unprovable, unprovable
from advisor.gauging.slips import far_limits
from advisor.sheets.engine import EngineSheet
from advisor.sheets.places import Document
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.words import spread_words


def engine_remarks(sheet: EngineSheet, rules: RuleSet, document: Document) -> tuple[Remark, ...]:
    """Remarks on a sheet in the order of its lines: limits that look like slips, or cannot be proved."""
    found = [*_far(sheet, rules, document), *_unprovable(sheet, rules, document)]
    return tuple(sorted(found, key=lambda remark: (remark.at is None, remark.at)))


def _far(sheet: EngineSheet, rules: RuleSet, document: Document) -> Iterator[Remark]:
    for each in far_limits(sheet, rules):
        limit = each.limit
        assert limit.at_most is not None  # only such limits are far
        says = (
            f"{limit.dimension} of {each.part} may be {limit.at_most.text} for {limit.purpose}, "
            f"which is {each.why}"
        )
        path = ("parts", each.part, "limits", each.index, "at_most")
        yield Remark(says, _FAR, document.positions[path])


def _unprovable(sheet: EngineSheet, rules: RuleSet, document: Document) -> Iterator[Remark]:
    for each in unprovable(sheet, rules):
        path = ("parts", each.part, "limits", each.index)
        yield Remark(_says(each, sheet, rules), _MEND, document.positions[path])


def _says(each: Unprovable, sheet: EngineSheet, rules: RuleSet) -> str:
    limit = each.limit
    quantity = rules.vocabulary.dimensions[limit.dimension].quantity
    low, high = limit.at_least, limit.at_most
    size = (
        f"{low.text} to {high.text}"
        if low is not None and high is not None
        else f"at most {high.text}"
        if high is not None
        else ""
    )
    best = spread_words(each.best, quantity, sheet.units, share=each.share)
    takes = spread_words(each.needed, quantity, sheet.units, at_most=True, share=each.share)
    labels = " and ".join(rules.instruments[name].label for name in each.instruments)
    needs = f"it takes ± {takes}" if takes else "it leaves no room at all"
    return (
        f"no listed instrument can prove {limit.dimension} of {each.part} for {limit.purpose} ({size}): "
        f"the best there is ({labels}) gives ± {best} at 95 %, and {needs}"
    )


_FAR = "a limit that loose bars nothing: look whether the unit slipped (in for mm), or the point"

_MEND = (
    "every part will be in doubt against it: list a more exact instrument, or give the limit of error of its "
    "certificate with each reading"
)
