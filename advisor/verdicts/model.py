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
class TaskToDo:
    """Work that goes with reuse: dress, clean, mark, hold."""

    task: str
    says: str
    because: str
    rule: str


@dataclass(frozen=True, slots=True)
class OperationToDo:
    """Machine work that reconditions the item.

    `sizes` are the repair sizes it may come to; more than one where the worn side is not known.
    """

    operation: str
    says: str
    done_by: str
    sizes: tuple[str, ...]
    steps: tuple[str, ...]
    checks: tuple[str, ...]
    because: str
    cites: tuple[Citation, ...]


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
