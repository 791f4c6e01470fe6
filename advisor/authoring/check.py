"""Finds out what a file or folder is, and everything that is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from advisor.authoring.cases import Trier, read_tests
from advisor.authoring.examples import run_examples
from advisor.authoring.remarks import engine_remarks
from advisor.chain.ready import check_cycles
from advisor.faults import Fault, Faults, Remark
from advisor.files import BASE, load_case, load_rules
from advisor.sheets.crosscheck import check_names
from advisor.sheets.engine_check import check_engine
from advisor.sheets.filekind import CASE, ENGINE, RULE_SET, TESTS, kind_of
from advisor.sheets.laying import lay_out
from advisor.sheets.mixed_up import counted
from advisor.sheets.places import Document
from advisor.sheets.ruleset import (
    HOUSE,
    MANIFEST,
    RuleSet,
    RuleSetFiles,
    is_ruleset,
    merge,
    read_files,
)
from advisor.sheets.text import load


@dataclass(frozen=True, slots=True)
class Checked:
    """What came of checking one file or folder."""

    path: str
    kind: str
    """case, engine sheet, rule set or tests; empty where it is none of them."""
    says: str
    """What was gone through, in words."""
    faults: tuple[Fault, ...]
    remarks: tuple[Remark, ...] = ()
    """What is worth knowing and is no fault."""


class Examiner:
    """Checks files and folders; a rule set that several of them share is read once.

    `folder` is the rule set for cases and engine sheets; None means the one that comes with the program.
    """

    def __init__(self, folder: str | None = None) -> None:
        self._folder = folder
        self._rules: RuleSet | None = None
        self._at_fault = False

    def check(self, paths: Sequence[str]) -> list[Checked]:
        """Every path checked, in the order given; several files of one rule set count as that rule set."""
        found: list[Checked] = []
        folders: set[Path] = set()
        for path in paths:
            try:
                folder, document = self._what(path)
                if document is not None and kind_of(document) == TESTS:
                    found.append(self._tests(path, folder))
                elif folder is None and document is not None:
                    found += self._sheet(path, document)
                elif folder is not None and folder.resolve() not in folders:
                    folders.add(folder.resolve())
                    found.append(_rule_set(folder))
            except Faults as faults:
                found.append(Checked(path, "", "", faults.faults))
        return found

    @staticmethod
    def _what(path: str) -> tuple[Path | None, Document | None]:
        """The rule set's folder that `path` means, or the document in it."""
        if Path(path).is_dir():
            if not is_ruleset(Path(path)):
                what = f"the folder {path} holds no {MANIFEST} and no {HOUSE}"
                fault = Fault(
                    "no-rule-set", what, "the folder of a rule set, or a file", "name the file itself"
                )
                raise Faults([fault])
            return Path(path), None
        document = load(path)
        kind = kind_of(document)
        if kind in (CASE, ENGINE):
            return None, document
        if not kind:
            raise Faults(
                [
                    Fault(
                        "unknown-file",
                        "nothing in this file tells what it is",
                        "a case, an engine sheet, or a file of a rule set",
                        "see docs/case-and-engine-sheet.md, or begin a case with `advisor start`",
                        document.positions[()],
                    )
                ]
            )
        above = next((each for each in Path(path).absolute().parents if is_ruleset(each)), None)
        if kind == TESTS:
            return above, document
        if above is not None:
            return _as_typed(above, path), None
        raise Faults(
            [
                Fault(
                    "no-rule-set",
                    f"this is a file of a rule set ({kind}), and no {MANIFEST} lies beside or above it",
                    f"a {MANIFEST} that names it",
                    "put the file into the folder of its rule set",
                    document.positions[()],
                )
            ]
        )

    def _tests(self, path: str, folder: Path | None) -> Checked:
        """A file of tests: whether each can be tried. Whether it passes is for `advisor rules test` to say.

        They are of the rule set in `folder`, or else of the one for cases.
        """
        read = read_tests(Path(path))
        trier = Trier(load_rules(folder or self._folder))
        tried = [trier.try_one(read, index) for index in range(len(read.tests))]
        faults = tuple(fault for each in tried for fault in each.faults)
        says = f"{counted(len(tried), 'test')} that can be tried (`advisor rules test` tries them)"
        return Checked(path, TESTS, "" if faults else says, faults)

    def _sheet(self, path: str, document: Document) -> list[Checked]:
        """A case or an engine sheet; before the first of them, what is wrong with the rule set they need."""
        kind = kind_of(document)
        found: list[Checked] = []
        if self._rules is None and not self._at_fault:
            try:
                self._rules = load_rules(self._folder)
            except Faults as faults:
                self._at_fault = True
                found.append(Checked(self._folder or BASE, RULE_SET, "", faults.faults))
        if self._rules is None:
            fault = Fault(
                "rules-at-fault",
                f"this {kind} was not checked, since its rule set has faults of its own",
                mend="mend the rule set first",
                at=document.positions[()],
            )
            return [*found, Checked(path, kind, "", (fault,))]
        remarks: tuple[Remark, ...] = ()
        try:
            if kind == CASE:
                says = _case(path, self._rules)
            else:
                says, remarks = _engine(document, self._rules)
        except Faults as faults:
            return [*found, Checked(path, kind, "", faults.faults)]
        return [*found, Checked(path, kind, says, (), remarks)]


def rule_set_folder(path: str) -> Path:
    """The folder of the rule set that `path` is, or a file of. Raises `Faults` where it is neither."""
    folder, document = Examiner._what(path)
    if folder is not None:
        return folder
    at = document.positions[()] if document is not None else None
    raise Faults(
        [
            Fault(
                "no-rule-set",
                f"{path} is no rule set",
                "the folder of a rule set, or a file of one",
                "name that folder; cases and engine sheets are checked by `advisor check`",
                at,
            )
        ]
    )


def _as_typed(folder: Path, path: str) -> Path:
    """`folder`, written from where `path` starts, where it lies on the way to it."""
    typed = Path(path)
    return next((each for each in typed.parents if each.absolute() == folder), folder)


def _case(path: str, rules: RuleSet) -> str:
    loaded = load_case(path, rules)
    bench = lay_out(loaded.sheet, loaded.case, rules, loaded.document)
    findings = sum(seen.extent is not None for item in bench.items for seen in item.findings.values())
    readings = sum(
        len(each) for item in bench.items for read in item.readings.values() for each in read.values.values()
    )
    return (
        f"a case of the {loaded.sheet.engine}: {counted(len(bench.items), 'item')}, "
        f"{counted(findings, 'finding')}, {counted(readings, 'reading')}"
    )


def _engine(document: Document, rules: RuleSet) -> tuple[str, tuple[Remark, ...]]:
    sheet = check_engine(document, rules)
    limits = sum(len(part.limits) for part in sheet.parts.values())
    kinds = "1 kind" if len(sheet.parts) == 1 else f"{len(sheet.parts)} kinds"
    says = f"the engine sheet of the {sheet.engine}: {kinds} of part, {counted(limits, 'limit')}"
    return says, engine_remarks(sheet, rules, document)


def _rule_set(folder: Path) -> Checked:
    return check_rule_set(folder)[0]


def check_rule_set(folder: Path) -> tuple[Checked, RuleSet | None, RuleSetFiles | None]:
    """A rule set: its files, its names, circles through an absence, and every example of every rule.

    With it come the rule set and its files, where those could be read.
    """
    try:
        files = read_files(folder)
    except Faults as faults:
        return Checked(str(folder), RULE_SET, "", faults.faults), None, None
    whole, found = merge(files)
    found += check_names(whole, files)
    if not found:
        found += check_cycles(whole.rules, whole.on_suspicion)
        # Examples speak in the words of the rule set; while those are wrong they prove nothing.
        ran = run_examples(whole, files)
        found += ran.faults
        says = (
            f"the rule set {whole.name} {whole.version}: {counted(ran.rules, 'rule')}, "
            f"{counted(len(whole.limits), 'limit')}, {ran.fires} examples that fire, "
            f"{ran.holds} that hold off"
        )
        for layer in whole.house:
            says += f"; with the house rules {layer.name} {layer.version}: {layer.counted}"
            says += f" ({layer.drift})" if layer.drift else ""
    else:
        says = ""
    checked = Checked(
        str(folder), RULE_SET, says, tuple(sorted(found, key=lambda each: (each.at is None, each.at)))
    )
    return checked, whole, files
