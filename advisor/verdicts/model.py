"""A decision as frozen values: what `decide` returns, what `--json` prints, and what goes on record.

Plain dataclasses, so that a decision costs little to make; `advisor.schema` gives their JSON Schema.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from advisor.sheets.house_record import HouseLayer
from advisor.sheets.vocabulary import Answer

FORMAT = 1
"""Version of the decision's own shape."""

VerdictWord = Literal["reuse", "recondition", "replace", "undecided"]

Ground = Literal["sound", "condemned", "routine", "safe side", "open"]
"""Why the verdict stands: nothing bars reuse; something does; it is renewed as a matter of course; evidence
that cannot be had ends there; or it does not stand yet."""

CourseGround = Literal[
    "as judged",
    "goes with its set, itself sound",
    "goes with its set",
    "follows from another decision",
    "risk taken by name",
    "open",
]


@dataclass(frozen=True, slots=True)
class RuleSetUsed:
    """Which rule set judged. `digest` is that of the whole, with the house rules that are in it."""

    name: str
    version: str
    digest: str
    house: tuple[HouseLayer, ...] = ()
    """The layers of house rules, the lowest first, each with what it changed and who decided it."""


@dataclass(frozen=True, slots=True)
class Citation:
    """Where a statement was read, and how strong that source is."""

    source: str
    at: str
    title: str
    tier: str
    row: str = ""


EvidenceKind = Literal["finding", "dimension", "concern", "absence", "property", "place", "origin", "missing"]


@dataclass(frozen=True, slots=True)
class EvidenceLine:
    """One fact that a rule used, told in words.

    `name` is the finding, dimension, concern or property; `kind` says which. `value`, `limit` and `margin`
    are given for a measured dimension; `at` is where in the case it was written.
    """

    kind: EvidenceKind
    name: str
    part: str
    place: str
    says: str
    certain: bool
    value: str = ""
    limit: str = ""
    margin: str = ""
    limit_from: str = ""
    moment: str = ""
    at: str = ""
    item: int = -1
    tag: str = ""
    label: str = ""
    """The kind of part as it is said."""


@dataclass(frozen=True, slots=True)
class Step:
    """A rule that fired on an item, with what it used and what it concluded."""

    rule: str
    item: int
    part: str
    place: str
    certain: bool
    because: str
    cites: tuple[Citation, ...]
    uses: tuple[EvidenceLine, ...]
    concludes: tuple[str, ...]
    at: str
    differs: str = ""
    tag: str = ""
    house: str = ""
    """Where a house added the rule or follows another source in it: what was decided, by whom and why."""


ReasonKind = Literal["rule", "evidence", "part", "work"]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a verdict is what it is.

    `kind` says what speaks: a rule that fired; evidence that had to be there; a part that is replaced and
    cannot be renewed by itself; or work that would mend it and cannot be done. `rule` is empty where none
    fired on this item.
    """

    rule: str
    because: str
    cites: tuple[Citation, ...]
    evidence: tuple[EvidenceLine, ...]
    at: str
    kind: ReasonKind = "rule"


@dataclass(frozen=True, slots=True)
class Ask:
    """What to look at or measure before a verdict can stand."""

    reading: str
    """The finding, dimension, limit or size that is wanted, by its name."""
    kind: Literal["finding", "dimension", "limit", "found size", "worn side"]
    part: str
    place: str
    says: str
    because: str
    rule: str = ""
    instruments: tuple[str, ...] = ()
    tag: str = ""


@dataclass(frozen=True, slots=True)
class WithInstrument:
    """A reading on an item, taken with an instrument of the rule set."""

    reading: str
    part: str
    place: str
    instrument: str
    says: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """A size that is too close to its limit to tell, and what it would take to tell.

    `uncertainty` and `needed` are what stands after ± at 95 %: what the size has, and what it may have at
    most for this very size to be told. `ways` are the instruments of the rule set that come so far; in one
    way several readings may be wanted. Where there is none, `again` names the most exact there are, if they
    are better than those used, and `chance` in how many of a hundred cases a new reading falls clear of the
    limit.
    """

    dimension: str
    purpose: str
    part: str
    place: str
    tag: str
    label: str
    value: str
    limit: str
    uncertainty: str
    needed: str
    ways: tuple[tuple[WithInstrument, ...], ...]
    again: tuple[WithInstrument, ...]
    chance: int
    safe_side: Answer | Literal[""]
    """The answer that stands where the size is taken to lie beyond the limit."""
    settled_by_measuring: bool
    """Whether measuring again is likely to tell; otherwise nothing is asked, and the safe side is named."""
    says: str


@dataclass(frozen=True, slots=True)
class WearForecast:
    """How long a measured size will stay within its discard limit, if wear goes on as it went since new.

    Hours count from now. None for `hours_left` where no growth shows, and for `at_most` where no end can be
    told. `when_new` is the size taken for a new part.
    """

    dimension: str
    label: str
    outcome: Literal["lasts", "does not last", "cannot be told"]
    probability: str
    hours_run: int
    hours_wanted: int
    hours_left: int | None
    at_least: int
    at_most: int | None
    look_again: int
    """When to measure again."""
    beyond_observed: bool
    """Whether it looks further ahead than the engine has run."""
    value: str
    limit: str
    when_new: str
    says: str


@dataclass(frozen=True, slots=True)
class QuestionedReading:
    """A reading that cannot be right, or hardly, and what to do about it."""

    reading: str
    positions: tuple[str, ...]
    says: str
    do: str
    stamp: bool
    """It may be a repair size that nobody has read: the stamp tells."""


@dataclass(frozen=True, slots=True)
class TaskToDo:
    """Work that goes with reuse: dress, clean, mark, hold."""

    task: str
    says: str
    because: str
    rule: str


@dataclass(frozen=True, slots=True)
class OperationToDo:
    """Machine work that reconditions the item.

    `sizes` are the repair sizes it may come to; more than one where the worn side is not known. `figures`
    are the other numbers that go with the order, each as a line of it.
    """

    operation: str
    says: str
    done_by: str
    sizes: tuple[str, ...]
    steps: tuple[str, ...]
    checks: tuple[str, ...]
    because: str
    cites: tuple[Citation, ...]
    figures: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Course:
    """What will be done with the item, given everything else; beside the verdict, never in its place."""

    answer: VerdictWord
    ground: CourseGround
    because: str = ""
    size: str = ""
    held: bool = False
    """Not to be begun before something else is decided; `because` says what."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict on one item."""

    part: str
    place: str
    tag: str
    origin: str
    label: str
    assembly: str
    verdict: VerdictWord
    ground: Ground
    possible: tuple[Answer, ...]
    reasons: tuple[Reason, ...]
    operations: tuple[OperationToDo, ...]
    tasks: tuple[TaskToDo, ...]
    cautions: tuple[str, ...]
    asks: tuple[Ask, ...]
    held: tuple[str, ...]
    notes: tuple[str, ...]
    cleared: tuple[str, ...]
    """Rules that could have barred an answer and, on what is known, do not."""
    not_looked_at: tuple[str, ...]
    course: Course
    opened: bool = True
    doubts: tuple[Doubt, ...] = ()
    """Sizes too close to a limit on which the answer hangs."""
    questions: tuple[QuestionedReading, ...] = ()
    forecasts: tuple[WearForecast, ...] = ()
    """Where reuse is possible, and hours run and hours wanted are known: how long what wears will last."""


@dataclass(frozen=True, slots=True)
class Cause:
    """A suspected cause, and what became of it."""

    concern: str
    says: str
    part: str
    place: str
    state: Literal["open", "found", "ruled out", "accepted"]
    certain: bool
    by: str = ""
    because: str = ""
    rules: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Decision:
    """Everything decided about one case. The same inputs give the same decision, whatever their order."""

    format: int
    advisor: str
    case: str
    engine: str
    case_digest: str
    sheet_digest: str
    rulesets: tuple[RuleSetUsed, ...]
    verdicts: tuple[Verdict, ...]
    causes: tuple[Cause, ...]
    steps: tuple[Step, ...]
