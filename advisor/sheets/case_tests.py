"""Tests of a rule set as people write them: a case, and what is expected of it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from advisor.sheets.base import FaultError, Located, Name, RuleId, Sheet, Time, Words
from advisor.sheets.case import (
    BenchEntry,
    CauseState,
    CleanUp,
    Done,
    FoundSize,
    ItemOrigin,
    OfItems,
    Risk,
    Word,
)
from advisor.sheets.vocabulary import Answer, OneOrMany

UNANSWERED = "unanswered"
"""Written for a verdict that the author has still to give; such a test is neither passed nor failed."""

ExpectedVerdict = Literal["reuse", "recondition", "replace", "undecided", "unanswered"]

Rules = Annotated[list[RuleId], OneOrMany]
Names = Annotated[list[Name], OneOrMany]


class Given(Sheet):
    """The case of a test, as in a case file, without its head."""

    hours: Time | None = None
    hours_wanted: Time | None = None
    found_sizes: list[FoundSize] = []
    cleans_up: list[CleanUp] = []
    bench: Annotated[list[BenchEntry], OneOrMany] = []
    done: list[Done] = []
    causes: list[CauseState] = []
    risks: list[Risk] = []


class ExpectedItem(OfItems):
    """What is expected of one item, or of several alike. What is left out is not looked at."""

    part: Word
    origin: ItemOrigin | None = Field(
        default=None, description="only items of this origin: at one place there may be several"
    )
    verdict: ExpectedVerdict | None = Field(
        default=None, description="`unanswered` where the author has still to say"
    )
    possible: Annotated[list[Answer], OneOrMany] = Field(
        default=[], description="all the answers that are still possible"
    )
    ground: Literal["sound", "condemned", "routine", "safe side", "open"] | None = None
    course: Literal["reuse", "recondition", "replace", "undecided"] | None = Field(
        default=None, description="what is done with it, given everything else"
    )
    by: Rules = Field(default=[], description="rules that must carry the verdict, on this item or behind it")
    fires: Rules = Field(default=[], description="rules that must fire on it for certain")
    holds: Rules = Field(default=[], description="rules of which it must not even be possible that they fire")
    asks: Names = Field(default=[], description="findings, dimensions or sizes that must be asked for")
    concerns: Names = Field(default=[], description="concerns that must be concluded of it for certain")
    tasks: Names = Field(default=[], description="tasks that must go with it")
    operations: Names = Field(default=[], description="all the work that reconditions it")
    because: str = Field(default="", max_length=1000, description="the argument for this item")

    @model_validator(mode="after")
    def _something(self) -> ExpectedItem:
        if self.verdict is None and not any(
            (
                self.possible,
                self.ground,
                self.course,
                self.by,
                self.fires,
                self.holds,
                self.asks,
                self.concerns,
                self.tasks,
                self.operations,
            )
        ):
            raise FaultError(
                "expects-nothing",
                f"nothing is expected of {self.part}, so this can never fail",
                "a verdict at least",
                "write verdict: replace, and by: the rules that must carry it",
            )
        if self.verdict == UNANSWERED and (self.possible or self.ground or self.by):
            raise FaultError(
                "unanswered-and-expected",
                f"the verdict is {UNANSWERED}, and yet something is said of it",
                "a verdict, or nothing beside it under possible, ground and by",
                "give the verdict",
            )
        return self


class ExpectedCause(OfItems):
    """A suspected cause that the decision must list."""

    concern: Name
    state: Literal["open", "found", "ruled out", "accepted"] = "open"
    by: Rules = Field(default=[], description="rules that must suspect it")


class CaseTest(Located):
    """One test: a case, the argument, and what is expected."""

    name: Annotated[Words, Field(max_length=200)]
    because: Words = Field(description="the argument, as one who knows the trade would give it")
    case: Given | None = Field(default=None, description="the case itself; else case_file names one")
    case_file: str = Field(
        default="", max_length=200, description="file name of a case, beside this file or below it"
    )
    engine_sheet: str = Field(
        default="", max_length=200, description="for this test; left out, the one at the head of the file"
    )
    expect: Annotated[list[ExpectedItem], OneOrMany] = []
    causes: Annotated[list[ExpectedCause], OneOrMany] = Field(
        default=[], description="causes that must be listed"
    )
    no_causes: Names = Field(default=[], description="causes that must not be listed, on any item")

    @model_validator(mode="after")
    def _one_case(self) -> CaseTest:
        if (self.case is None) == (not self.case_file):
            raise FaultError(
                "test-case",
                "a test has both a case and the name of a case file"
                if self.case is not None
                else "a test has no case",
                "case: with a bench, or case_file: with a file name",
                "write one of the two",
            )
        if self.case_file and self.engine_sheet:
            raise FaultError(
                "test-case",
                "an engine sheet stands beside the name of a case file",
                "case_file alone: the case names its own engine sheet",
                "leave engine_sheet out here",
                ("engine_sheet",),
            )
        if not (self.expect or self.causes or self.no_causes):
            raise FaultError(
                "expects-nothing",
                "nothing is expected of this case, so the test can never fail",
                "an entry under expect:, causes: or no_causes:",
                "write what must come out, before you look at what does",
            )
        return self


class CaseTestFile(Sheet):
    """A file of tests."""

    format: Literal["1"]
    about: str = Field(default="", max_length=4000, description="what these tests are about")
    engine_sheet: str = Field(
        default="",
        max_length=200,
        description="file name of the engine sheet for all of them, beside this file or below it",
    )
    given: Given | None = Field(
        default=None,
        description="what is known in every test with a case of its own, where that says nothing else",
    )
    tests: list[CaseTest] = Field(min_length=1)
