"""The kinds of finding about a rule set: what each is called, how grave it is, and why it matters.

How to mend one is said with each finding, since that hangs on what is there. docs/rule-findings.md has a
section for each, with an example and its mended twin.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

Level: TypeAlias = Literal["error", "remark"]
"""An error makes the check fail; a remark is to be looked at and may stay."""

PAGE: Final = "docs/rule-findings.md"


@dataclass(frozen=True, slots=True)
class Sort:
    """One kind of finding."""

    level: Level
    title: str
    why: str


SORTS: Final[Mapping[str, Sort]] = {
    "rule-never-fires": Sort(
        "error",
        "Rules that can never fire",
        "What such a rule is there to catch passes unseen, and its author believes it is caught.",
    ),
    "condition-never-true": Sort(
        "error",
        "Conditions that can never be true",
        "A way into the rule that was thought of is shut, so what should lead there does not.",
    ),
    "standing-never": Sort(
        "error",
        "Standings that can never be",
        "A difference is never less than nothing, so no limit can be undercut by it: the condition waits "
        "for what cannot come.",
    ),
    "rule-duplicate": Sort(
        "error",
        "Rules that stand there twice",
        "Sooner or later one of the two is changed and the other is not, and then they say two things.",
    ),
    "rule-without-effect": Sort(
        "error",
        "Rules that add nothing",
        "All that the rule concludes is there already whenever it fires. Either a word in it has slipped, "
        "or it is dead weight that somebody will try to understand.",
    ),
    "bar-without-effect": Sort(
        "remark",
        "Bars that cannot matter",
        "A bar as strong is always there already, so this one changes no verdict. It only gives one more "
        "reason, which may be what is meant.",
    ),
    "condition-without-effect": Sort(
        "remark",
        "Conditions that never matter",
        "What comes out is the same without the condition. Whoever reads the rule thinks that it hangs on "
        "it, and is wrong.",
    ),
    "milder-when-worse": Sort(
        "error",
        "Verdicts that get milder as things get worse",
        "A worse part would be put back where a better one is thrown away. Mostly an `is` stands where "
        "`at_least` was meant.",
    ),
    "kind-without-rule": Sort(
        "remark",
        "Kinds of part that no rule judges",
        "Such a part stays undecided on every engine, whatever is found on it, and the answer says so.",
    ),
    "finding-without-rule": Sort(
        "error",
        "Findings that no rule speaks of",
        "Somebody looks, finds the worst there is, and the verdict is the same as if nothing were there.",
    ),
    "dimension-without-rule": Sort(
        "error",
        "Dimensions that no rule speaks of",
        "Somebody measures, the part is far beyond its discard limit, and no rule bars anything.",
    ),
    "limit-without-rule": Sort(
        "error",
        "Limits that no rule speaks of",
        "The rule set gives a limit for throwing away and throws nothing away beyond it.",
    ),
    "extents-alike": Sort(
        "remark",
        "Extents that no rule tells apart",
        "The mechanic has to decide between two words that lead to the same thing.",
    ),
    "verdict-never-reached": Sort(
        "remark",
        "Verdicts that a kind can never reach",
        "The kind lists an answer that no case ends with: a rule or its `mend` is missing, or the list is "
        "too long.",
    ),
    "requirement-never-met": Sort(
        "error",
        "Requirements that nothing can meet",
        "Evidence is asked for that cannot be had on any engine, so the part stays undecided for ever.",
    ),
    "requirement-idle": Sort(
        "error",
        "Requirements that hold nothing up",
        "The evidence is wanted before answers that this kind of part never gets, so it is never asked for.",
    ),
    "operation-mends-nothing": Sort(
        "remark",
        "Operations that remedy nothing",
        "No bar that can come up names the work, so it is never ordered for that kind of part.",
    ),
    "operation-voids-nothing": Sort(
        "error",
        "Operations that leave old measurements standing",
        "The work brings the part to another size, and readings from before it would still count.",
    ),
    "operation-keeps-its-reason": Sort(
        "error",
        "Operations that leave their reason standing",
        "What the work is done for still counts when it is done, so the bar stays and the part never passes.",
    ),
    "unused-finding": Sort(
        "remark",
        "Findings that nothing uses",
        "Somebody looks for it on every engine, and nothing in the rule set asks for the answer.",
    ),
    "unused-reading": Sort(
        "remark",
        "Readings that nothing uses",
        "Somebody measures it, and no dimension is worked out from it.",
    ),
    "unused-dimension": Sort(
        "remark",
        "Dimensions that nothing uses",
        "It is worked out on every engine, and nothing in the rule set asks how it stands.",
    ),
    "unused-concern": Sort(
        "remark",
        "Concerns that nothing uses",
        "Nothing follows from it: no rule concludes it, or none asks for it and it is no cause to be found.",
    ),
    "unused-task": Sort("remark", "Tasks that nothing uses", "No rule gives this work, so it is never told."),
    "unused-caution": Sort(
        "remark",
        "Cautions that nothing uses",
        "A caution that hangs on nothing is never shown, and somebody counts on it.",
    ),
    "unused-instrument": Sort(
        "remark", "Instruments that nothing uses", "No reading names it, so it is never offered."
    ),
    "unused-source": Sort(
        "remark",
        "Sources that nothing cites",
        "The bibliography lists what nothing rests on, or a citation was forgotten.",
    ),
    "unused-consequence": Sort(
        "remark", "Consequences that no kind has", "Its probabilities are never used."
    ),
    "unused-axis": Sort("remark", "Axes that no kind has", "Every engine sheet is asked to count on it."),
    "unused-relation": Sort(
        "remark", "Relations that nothing uses", "Items are linked by it, and nothing asks for the link."
    ),
    "unused-layout": Sort(
        "remark", "Layout keys that no rule asks for", "Every engine sheet has to answer it, for nothing."
    ),
    "unused-property": Sort(
        "remark", "Properties that no rule asks for", "Engine sheets give it, and nothing hangs on it."
    ),
    "acceptance-idle": Sort(
        "error",
        "Acceptances that no longer apply",
        "It would hide a finding that comes back some day for another reason.",
    ),
}
"""By code, in the order in which they are told."""
