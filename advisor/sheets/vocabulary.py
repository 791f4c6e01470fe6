"""The vocabulary: what may be spoken of. Kinds of part, places, relations, findings, readings, dimensions.

Pydantic models of the vocabulary files of a rule set. Names are checked against one another in
`crosscheck`, not here; here only the shape of each entry is held.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cached_property
from typing import Annotated, Literal, get_args

from pydantic import BeforeValidator, Field, model_validator

from advisor.sheets.base import Count, DecimalText, FaultError, Located, Name, Sheet, Words

Answer = Literal["reuse", "recondition", "replace"]
"""What may be done with a part as it is, mildest first."""

ANSWERS: tuple[Answer, ...] = ("reuse", "recondition", "replace")

Moment = Literal["running", "strip", "clean", "after machining"]
"""When a finding or reading was taken."""

MOMENTS: tuple[Moment, ...] = ("running", "strip", "clean", "after machining")

Purpose = Literal["new", "reassembly", "discard"]
"""What a limit is for: a new or freshly machined part, going back together, or throwing away."""

PURPOSES: tuple[Purpose, ...] = ("new", "reassembly", "discard")

NONE = "none"
"""The first extent of every finding: looked for, and not there."""

Metal = Literal["grey iron", "ductile iron", "steel", "aluminium 356", "bronze"]
"""A metal whose expansion the program knows; the figures are in `advisor.gauging.press`."""

NOT_KNOWN = "unknown"
"""Written under `made` on an engine sheet where nobody knows how the part is treated."""


def _as_list(value: object) -> object:
    """Let a single mapping or word stand where a list of them may."""
    return value if isinstance(value, list) else [value]


OneOrMany = BeforeValidator(_as_list)


class Cite(Located):
    """Where a statement was read: a key of the bibliography, and the place in that source."""

    source: Name
    where: str = Field(
        default="", alias="at", max_length=200, description="page, paragraph or table in the source"
    )
    row: str = Field(default="", max_length=20, description="row of the project's table of handbook facts")


class Axis(Located):
    """One direction in which places are counted: numbered by the engine sheet, or a list of words."""

    label: Words
    values: list[str] = Field(default=[], description="the words on this axis; left out where it is numbered")


class Evidence(Located):
    """Evidence wanted before an answer may stand. Exactly one of finding and dimension is given."""

    finding: Name | None = None
    dimension: Name | None = None
    before: Annotated[list[Answer], OneOrMany]
    safe_side: Answer | None = Field(
        default=None,
        description="the answer to fall back on where the evidence cannot be had; left out, the part "
        "stays undecided",
    )
    because: Words
    cite: list[Cite] = []

    @model_validator(mode="after")
    def _one_subject(self) -> Evidence:
        if (self.finding is None) == (self.dimension is None):
            raise FaultError(
                "evidence-subject",
                "evidence names "
                + ("both a finding and a dimension" if self.finding else "nothing to look at"),
                "exactly one of finding and dimension",
                "write one of the two",
            )
        for answer in self.before:
            if answer == "replace":
                raise FaultError(
                    "replace-always-open",
                    "evidence is asked for before replace",
                    "reuse or recondition",
                    "replace is always open and waits for nothing",
                )
        if self.safe_side in self.before:
            raise FaultError(
                "safe-side-milder",
                f"the safe side {self.safe_side} is itself waiting for this evidence",
                "an answer harsher than those under `before`",
                "name recondition or replace",
            )
        return self

    @property
    def subject(self) -> str:
        """The finding or dimension asked for."""
        return self.finding or self.dimension or ""


class Kind(Located):
    """A kind of part."""

    label: Words
    assembly: Words
    axes: list[Name] = []
    answers: list[Answer] = Field(description="the answers that make sense for this kind")
    consequence: Name = Field(description="what a wrong reuse does; a key of `consequences`")
    own_place: bool = Field(
        default=False,
        description="a running-in partner: put back only where it came from, never at an unknown place",
    )
    properties: dict[Name, list[str]] = Field(
        default={}, description="what it may be made of or treated with; given on the engine sheet"
    )
    sizes: list[Name] = Field(default=[], description="sizes the engine sheet gives for a new one")
    material: Name | None = Field(
        default=None,
        description="a key of `materials`: what it is made of where the engine sheet does not say",
    )
    material_of: Name | None = Field(
        default=None,
        description="the kind that it is cut from, whose material on the engine sheet is its own",
    )
    evidence: list[Evidence] = []
    cautions: list[Name] = []

    @model_validator(mode="after")
    def _replace_is_open(self) -> Kind:
        if "replace" not in self.answers:
            raise FaultError(
                "replace-always-open",
                "the answers of this kind leave out replace",
                "a list that ends with replace",
                "replace is open for every kind of part: add it",
            )
        return self


class Link(Located):
    """Items of two kinds belong together where they agree on the axes under `by`.

    `next_to` names an axis on which they stand side by side instead. With neither, every item of
    the one kind is linked to every item of the other.
    """

    of: Name = Field(description="the kind that is asking")
    to: Name = Field(description="the kind it is linked to")
    by: list[Name] = []
    next_to: Name | None = None
    listed: bool = Field(default=False, description="the engine sheet lists the pairs under `links`")
    integral: bool = Field(
        default=False,
        description="the part cannot be renewed by itself: condemned, it condemns the whole",
    )


class Relation(Located):
    """A named way in which items belong together."""

    label: Words
    whole: bool = Field(
        default=False, description="the linked item is the whole: what is done with it is done with its parts"
    )
    links: list[Link]


class PartSet(Located):
    """Parts that are renewed, or brought to one size, together."""

    label: Words
    kinds: list[Name]
    whole: bool = Field(default=False, description="one condemned takes the others with it")
    by: list[Name] = Field(
        default=[], description="one set for each value of these axes; left out, one in all"
    )
    because: Words
    cite: list[Cite] = []


class Finding(Located):
    """Something to be seen, with its extents in order, `none` first, each told as an action."""

    label: Words
    kinds: list[Name]
    look: Words = Field(description="how to look for it")
    moment: Moment = "clean"
    destroyed_by_cleaning: bool = False
    wanted: Literal["always", "on suspicion"] = Field(
        default="always",
        description="on suspicion: where it was not seen it says nothing, unless the kind or a rule asks "
        "for it",
    )
    extents: dict[Name, Words]
    minutes: Count | None = None

    @model_validator(mode="after")
    def _none_first(self) -> Finding:
        names = list(self.extents)
        if len(names) < 2 or names[0] != NONE:
            raise FaultError(
                "extent-none-first",
                "the extents do not begin with none" if len(names) > 1 else "there is no extent beside none",
                "none, then at least one extent, mildest first",
                "put `none:` first and say what it looks like when nothing is there",
            )
        return self


class ReadingKind(Located):
    """Something to be measured, and how."""

    label: Words
    kinds: list[Name]
    quantity: Name = Field(description="length, pressure, torque, ...: a dimension of advisor.units")
    sections: list[Name] = Field(default=[], description="where along the part")
    directions: list[Name] = Field(default=[], description="across which direction")
    condition: Words = Field(description="the state the part must be in")
    how: Words
    sketch: str = Field(
        default="", max_length=800, description="where to measure and in which direction, in words"
    )
    spots: dict[str, list[DecimalText]] = Field(
        default={},
        description="where each position of a face lies, along and across it; only the proportions count",
    )
    moment: Moment = "clean"
    instruments: list[Name] = []
    minutes: Count | None = None

    def positions(self) -> list[str]:
        """The words that name each place of a full set of readings; one empty word for a single value."""
        return [position for _, _, position in self.cells]

    @cached_property
    def cells(self) -> tuple[tuple[str, str, str], ...]:
        """Section, direction and position of each place of a full set."""
        return tuple(
            (section, direction, " ".join(filter(None, (section, direction))))
            for section in self.sections or [""]
            for direction in self.directions or [""]
        )


class Source(Located):
    """Where one side of a dimension is read: a reading on this item, or on a related one."""

    reading: Name
    on: dict[Name, Name] = Field(default={}, description="{relation: kind}; left out, this item")


Operator = Literal[
    "value",
    "largest",
    "smallest",
    "mean",
    "spread",
    "out_of_round",
    "taper",
    "mean_taper",
    "flatness",
    "flatness_least_squares",
    "below_size",
    "above_size",
    "short_of_new",
    "off_new",
    "per_length",
    "clearance",
    "least_clearance",
    "set_spread",
    "set_spread_share",
    "short_of_best",
]
"""The closed catalogue of dimension formulas; each is defined in `advisor.gauging.operators`."""

OPERATORS: tuple[Operator, ...] = get_args(Operator)
"""The closed catalogue of dimension formulas; each is defined in `advisor.gauging.operators`."""

_PAIRS: tuple[Operator, ...] = ("clearance", "least_clearance")

OVER_A_SET: tuple[Operator, ...] = ("set_spread", "set_spread_share", "short_of_best")
"""Operators that look at the like items of an engine together."""


class Formula(Located):
    """One way to work a dimension out."""

    operator: Operator
    reading: Name | None = None
    outer: Source | None = Field(default=None, description="clearance only: the hole")
    inner: Source | None = Field(default=None, description="clearance only: what sits in it")
    over: Name | None = Field(
        default=None, description="per_length only: the reading of the length that it is taken over"
    )
    among: Name | None = Field(
        default=None,
        description="over a set only: the set of the vocabulary; left out, all of the kind on this engine",
    )
    sections: list[Name] = Field(
        default=[], description="of one reading only: the sections that count; left out, all of them"
    )

    @model_validator(mode="after")
    def _parameters(self) -> Formula:
        wanted = {"outer", "inner"} if self.operator in _PAIRS else {"reading"}
        if self.operator == "per_length":
            wanted.add("over")
        given = {name for name in ("reading", "outer", "inner", "over", "among") if getattr(self, name)}
        if self.operator in OVER_A_SET:
            given.discard("among")
        if given != wanted:
            raise FaultError(
                "operator-parameters",
                f"operator {self.operator} does not have the parameters it needs",
                {
                    2: "outer and inner" if self.operator in _PAIRS else "reading and over",
                    1: "reading, and neither outer nor inner",
                }[len(wanted)],
                "see the operators in docs/rule-set-files.md",
            )
        return self


class Agreement(Located):
    """Two ways to know one thing. Where they cannot both be right, neither counts."""

    other: Formula = Field(description="the other way")
    times: DecimalText = Field(default=Decimal(1), description="what the other way is multiplied by")
    one: Formula | None = Field(
        default=None, description="what it must agree with; left out, the dimension as it was worked out"
    )
    least: Formula | None = Field(
        default=None,
        description="the other may lie anywhere between this and `one`; left out, it must equal it",
    )
    because: Words


Side = Literal["at_most", "at_least"]
"""A side of a limit."""

SIDES: tuple[Side, ...] = get_args(Side)

_AT_LEAST: tuple[Operator, ...] = ("least_clearance",)
_EITHER: tuple[Operator, ...] = ("value", "largest", "smallest", "mean")
"""Operators that do not tell on which side a size goes wrong."""


class Dimension(Located):
    """Worked out from readings; the first of `formulas` whose readings are all there is used.

    Where several have all of theirs, what they come to is combined.
    """

    label: Words
    kinds: list[Name]
    quantity: Name
    formulas: list[Formula]
    agree: Annotated[list[Agreement], OneOrMany] = Field(
        default=[], description="other ways to know the same thing, held against it"
    )
    optional: bool = Field(
        default=False, description="judged only where somebody gives a limit; without one it stands as inside"
    )
    must_be: Literal["above 0"] | None = Field(
        default=None,
        description="for the play of parts that run in each other: what it has to be, or it is wrong",
    )
    sides: Annotated[list[Side], OneOrMany] = Field(
        default=[],
        description="on which sides a limit may lie; left out, as the operator says: wear, form and the "
        "largest play have at_most, the least play at_least, a size both",
    )
    note: str = ""

    @property
    def limited(self) -> tuple[Side, ...]:
        """The sides on which a limit may lie."""
        if self.sides:
            return tuple(self.sides)
        found: set[Side] = set()
        for formula in self.formulas:
            if formula.operator in _EITHER:
                # Beside a formula that tells the side, it is another way to the same thing.
                found |= set() if len(self.formulas) > 1 else set(SIDES)
            else:
                found.add("at_least" if formula.operator in _AT_LEAST else "at_most")
        return tuple(side for side in SIDES if side in found) or SIDES

    def equal_way(self, formula: Formula) -> bool:
        """Whether a formula is a way of its own to this size, and not one it is only held against."""
        return all(each.other != formula for each in self.agree)


class VoidsLinked(Located):
    """Readings and findings on linked items that an operation makes worthless."""

    relation: Name
    kind: Name
    voids: list[Name]


class Operation(Located):
    """Work that makes a part fit for use again: size, form or hardness changes, or an inset is renewed."""

    label: Words
    kinds: list[Name]
    done_by: Words
    repair_size: bool = Field(default=False, description="goes to a size listed on the engine sheet")
    voids: list[Name] = Field(default=[], description="readings and findings taken before it no longer count")
    leaves: list[Name] = Field(
        default=[],
        description="readings among these of what it leaves and does not make; the limit for wear holds",
    )
    voids_linked: list[VoidsLinked] = Field(default=[], description="the same on items linked to it")
    renews: dict[Name, Name] = Field(
        default={}, description="{relation: kind} of parts that must be renewed to match this work"
    )
    steps: list[Words] = Field(default=[], description="what the work order must say, in order")
    checks: list[Words] = Field(default=[], description="what to check when it comes back")
    cautions: list[Name] = []
    because: Words
    cite: list[Cite] = []


class Task(Located):
    """Dress, clean, mark, hold: work that changes neither size nor form nor hardness."""

    label: Words
    also_when_replaced: bool = Field(
        default=False,
        description="it is done with a part that is replaced too: keep it, ask why, fit the new one so",
    )
    cautions: list[Name] = []


class Concern(Located):
    """A fact that a rule concludes and other rules use."""

    label: Words
    cause: bool = Field(
        default=False,
        description="a cause that must be found, ruled out or accepted by name before assembly",
    )


class Consequence(Located):
    """What a wrong reuse does, and how sure one must be because of it."""

    label: Words
    inside: DecimalText = Field(description="probability at or above which a size counts as inside")
    outside: DecimalText = Field(description="probability at or below which it counts as outside")
    guard_discard: bool = Field(
        default=False,
        description="hold the uncertainty against the part at a discard limit too, though that limit "
        "has a margin of its own",
    )

    @model_validator(mode="after")
    def _probabilities(self) -> Consequence:
        if not Decimal("0.5") < self.inside < 1 or not 0 < self.outside < Decimal("0.5"):
            raise FaultError(
                "probability-range",
                f"inside {self.inside} and outside {self.outside} leave no room for doubt",
                "inside between 0.5 and 1, outside between 0 and 0.5",
                "the usual pair is 0.95 and 0.05",
            )
        return self


class MaterialWord(Located):
    """A word for a material, and the metal whose expansion it has."""

    label: Words
    metal: Metal


class Layout(Located):
    """A property of the whole engine that rules may ask for."""

    label: Words
    values: list[Name]


class VocabularyFile(Sheet):
    """One vocabulary file; the files of a rule set are merged, and no name may stand in two."""

    format: Literal["1"]
    layout: dict[Name, Layout] = {}
    axes: dict[Name, Axis] = {}
    consequences: dict[Name, Consequence] = {}
    materials: dict[Name, MaterialWord] = {}
    kinds: dict[Name, Kind] = {}
    relations: dict[Name, Relation] = {}
    sets: dict[Name, PartSet] = {}
    findings: dict[Name, Finding] = {}
    readings: dict[Name, ReadingKind] = {}
    dimensions: dict[Name, Dimension] = {}
    operations: dict[Name, Operation] = {}
    tasks: dict[Name, Task] = {}
    concerns: dict[Name, Concern] = {}
    renamed: dict[str, str] = Field(
        default={}, description="old word: new word, for `advisor migrate`; never reused for anything else"
    )
