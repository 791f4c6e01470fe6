"""Tests of a rule set: their files found and read, each case decided and held against what is expected.

A rule set's tests are the `.yaml` files directly in its folder `tests`; the engine sheets and cases that they
name lie in folders below. Every test is decided on the one way that every case goes.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from advisor.authoring.cases_given import laid_over
from advisor.authoring.cases_judge import Failure, judge
from advisor.faults import Fault, Faults, Position
from advisor.files import load_case
from advisor.pipeline import Workings, work_out
from advisor.sheets.case import CaseSheet
from advisor.sheets.case_tests import UNANSWERED, CaseTest, CaseTestFile, Given
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import load_engine
from advisor.sheets.filekind import TESTS, refuse_other
from advisor.sheets.places import Block, Document
from advisor.sheets.ruleset import RuleSet, inside
from advisor.sheets.text import load
from advisor.sheets.validate import validate

FOLDER: Final = "tests"
"""The folder of a rule set in which its tests lie."""

MOST_FILES: Final = 500
MOST_TESTS: Final = 5_000
"""Test files, and tests in all of them, that are run in one go."""


@dataclass(frozen=True)
class Read:
    """A test file as read."""

    file: str
    tests: tuple[CaseTest, ...]
    document: Document
    folder: Path
    engine_sheet: str
    given: Given | None


@dataclass(frozen=True)
class Prepared:
    """One test with everything that is needed to decide it."""

    test: CaseTest
    case: CaseSheet
    sheet: EngineSheet
    document: Document
    """The case as it was written, for the places in messages."""
    tests: Document
    """The test file."""
    index: int


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of one test, or of a file that could not be read (then `name` is empty)."""

    file: str
    name: str
    at: Position | None
    seconds: float = 0.0
    failures: tuple[Failure, ...] = ()
    faults: tuple[Fault, ...] = ()
    unanswered: tuple[str, ...] = ()
    """Items of which the author has still to say what is right."""

    @property
    def passed(self) -> bool:
        """Nothing is wrong with it, and nothing in it is left to be answered."""
        return not (self.failures or self.faults or self.unanswered)


@dataclass(frozen=True, slots=True)
class Trial:
    """What came of all tests of one run."""

    tried: tuple[Tried, ...]
    seconds: float = 0.0
    left_out: int = 0
    """Tests that were not asked for by name."""

    @property
    def failed(self) -> tuple[Tried, ...]:
        """Those that failed, or could not be tried."""
        return tuple(each for each in self.tried if each.failures or each.faults)


def files_of(folder: Path) -> list[Path]:
    """The test files of the rule set in `folder`, by name. Raises `Faults` where there are none."""
    found = sorted(folder.joinpath(FOLDER).glob("*.yaml"))
    if not found:
        raise Faults(
            [
                Fault(
                    "no-tests",
                    f"the rule set in {folder} has no tests",
                    f"test files in its folder {FOLDER}, with names that end in .yaml",
                    "write a first one with `advisor rules new test`, or name test files",
                )
            ]
        )
    if len(found) > MOST_FILES:
        raise Faults(
            [
                Fault(
                    "too-many-tests",
                    f"{len(found):,} test files lie in {folder / FOLDER}",
                    f"at most {MOST_FILES:,} in one run",
                    "name some of them",
                )
            ]
        )
    return found


def read_tests(path: Path) -> Read:
    """One test file. Raises `Faults`."""
    document = load(path)
    try:
        model = validate(CaseTestFile, document)
    except Faults:
        typed = set(document.data) if isinstance(document.data, dict) else set()
        # One key in common with another kind of file, and the others misspelt, makes it no other file.
        if len(typed - {"format"} - CaseTestFile.model_fields.keys()) > 1:
            refuse_other(document, TESTS)
        raise
    faults, seen = [], set()
    for index, test in enumerate(model.tests):
        if test.name in seen:
            faults.append(
                Fault(
                    "test-twice",
                    "there is a test of this name in this file already",
                    "each name once",
                    "rename one; --only and the report go by the name",
                    document.positions["tests", index, "name"],
                )
            )
        seen.add(test.name)
    if faults:
        raise Faults(faults)
    return Read(str(path), tuple(model.tests), document, path.parent, model.engine_sheet, model.given)


@dataclass
class Trier:
    """Prepares and decides tests; an engine sheet or case file that several of them share is read once."""

    rules: RuleSet
    _sheets: dict[Path, EngineSheet] = field(default_factory=dict)

    def prepare(self, read: Read, index: int) -> Prepared:
        """A test made ready. Raises `Faults`."""
        test = read.tests[index]
        if test.case_file:
            path = self._inside(read, test.case_file, ("tests", index, "case_file"), "case")
            try:
                loaded = load_case(path, self.rules)
            except Faults as faults:
                raise _placed(faults, read, ("tests", index, "case_file")) from None
            return Prepared(test, loaded.case, loaded.sheet, loaded.document, read.document, index)
        own = ("tests", index, "engine_sheet")
        where = own if test.engine_sheet else ("engine_sheet",)
        name = test.engine_sheet or read.engine_sheet
        if not name:
            raise Faults(
                [
                    Fault(
                        "test-case",
                        "this test has a case of its own, and nothing says on which engine",
                        "engine_sheet: a file name, at the head of the file or in the test",
                        "name an engine sheet",
                        read.document.positions["tests", index],
                    )
                ]
            )
        sheet = self._sheet(read, name, where)
        block, head = _blocks(read, index)
        assert test.case is not None  # the model has a case or the name of a file
        given = (read.given, head) if read.given is not None and head is not None else None
        case, document = laid_over(test.name, (test.case, block), given, sheet, self.rules)
        return Prepared(test, case, sheet, document, read.document, index)

    def decide(self, prepared: Prepared) -> Workings:
        """The case of a test decided. Raises what `advisor.pipeline.decide` raises."""
        return work_out(prepared.case, prepared.sheet, self.rules, document=prepared.document)

    def try_one(self, read: Read, index: int) -> Tried:
        """One test, decided and held against what is expected of it."""
        test = read.tests[index]
        at = read.document.positions["tests", index]
        begun = time.perf_counter()

        def tried() -> Tried:
            return Tried(read.file, test.name, at, time.perf_counter() - begun)

        try:
            prepared = self.prepare(read, index)
            workings = self.decide(prepared)
            failures = judge(prepared.test, index, prepared.tests, prepared.sheet, self.rules, workings)
        except Faults as faults:
            return replace(tried(), faults=faults.faults)
        open_ones = tuple(
            f"{each.part} {each.place}".strip() for each in test.expect if each.verdict == UNANSWERED
        )
        return replace(tried(), failures=failures, unanswered=open_ones)

    def _sheet(self, read: Read, name: str, where: tuple[str | int, ...]) -> EngineSheet:
        path = self._inside(read, name, where, "engine sheet")
        if path not in self._sheets:
            try:
                self._sheets[path] = load_engine(path, self.rules)
            except Faults as faults:
                raise _placed(faults, read, where) from None
        return self._sheets[path]

    @staticmethod
    def _inside(read: Read, name: str, where: tuple[str | int, ...], what: str) -> Path:
        if not inside(read.folder, name):
            raise Faults(
                [
                    Fault(
                        "file-outside",
                        f"the {what} {name} lies outside the folder of this test file",
                        "a file name in that folder or below it",
                        f"copy the {what} there, or put the tests beside it",
                        read.document.positions[where],
                    )
                ]
            )
        return read.folder / name


def _placed(faults: Faults, read: Read, where: tuple[str | int, ...]) -> Faults:
    """What has no place of its own is told where the file is named."""
    here = read.document.positions[where]
    return Faults(each if each.at is not None else replace(each, at=here) for each in faults.faults)


def _blocks(read: Read, index: int) -> tuple[Block, Block | None]:
    """What was typed as the case of a test, and as what is given at the head of its file."""
    data = read.document.data
    assert isinstance(data, Block)  # the file was read as a test file
    tests = data["tests"]
    assert isinstance(tests, list)
    test = tests[index]
    assert isinstance(test, Block)
    case, given = test["case"], data.get("given")
    assert isinstance(case, Block)
    return case, given if isinstance(given, Block) else None


def run_tests(rules: RuleSet, files: Sequence[Path], only: Sequence[str] = ()) -> Trial:
    """Every test of `files`, or those whose name holds one of the words of `only`, in the order of the files.

    Raises `Faults` where there are more tests than one run may have.
    """
    begun = time.perf_counter()
    tried: list[Tried] = []
    left_out = 0
    trier = Trier(rules)
    for read in _read_all(files):
        if isinstance(read, Tried):
            tried.append(read)
            continue
        for index, test in enumerate(read.tests):
            if only and not any(word.casefold() in test.name.casefold() for word in only):
                left_out += 1
            else:
                tried.append(trier.try_one(read, index))
    return Trial(tuple(tried), time.perf_counter() - begun, left_out)


def _read_all(files: Sequence[Path]) -> Iterator[Read | Tried]:
    number = 0
    for path in files:
        try:
            read = read_tests(path)
        except Faults as faults:
            yield Tried(str(path), "", None, faults=faults.faults)
            continue
        number += len(read.tests)
        if number > MOST_TESTS:
            raise Faults(
                [
                    Fault(
                        "too-many-tests",
                        f"with this file there are more than {MOST_TESTS:,} tests",
                        f"at most {MOST_TESTS:,} in one run",
                        "name some of the files",
                        Position(str(path), 1, 1),
                    )
                ]
            )
        yield read
