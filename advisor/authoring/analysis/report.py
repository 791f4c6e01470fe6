"""What came of an analysis, in lines and as values."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any, Final, Protocol

from advisor.authoring.analysis.bench import Files, NoCase, entries, files_of, in_line, typed
from advisor.authoring.analysis.codes import PAGE, SORTS
from advisor.authoring.analysis.model import Accepted, Analysis, RuleFinding, Witness
from advisor.sheets.mixed_up import counted
from advisor.sheets.ruleset import RuleSet


class Paper(Protocol):
    """What lines are written on, as `advisor.reports.paper` has it."""

    def plain(self, text: str) -> str:
        """`text` in signs that it takes."""
        ...

    def wrap(self, text: str, indent: int = 0, *, hang: int | None = None) -> list[str]:
        """`text` on lines after `indent` spaces, all but the first set in by `hang` more."""
        ...

    def heading(self, text: str) -> list[str]:
        """A heading."""
        ...


CASES_SHOWN: Final = 3
"""Witness cases shown under one heading; all are in the JSON, and can be written to files."""


def lines(analysis: Analysis, rules: RuleSet, paper: Paper) -> Iterator[str]:
    """The findings by kind, what is accepted, what was not gone through, and what was."""
    for code in SORTS:
        found = [each for each in analysis.findings if each.code == code]
        if found:
            yield from _group(code, found, rules, paper)
            yield ""
    if analysis.accepted:
        yield from paper.heading("Accepted")
        alike: dict[tuple[str, str], list[str]] = {}
        for accepted in analysis.accepted:
            key = accepted.finding.code, accepted.because
            alike.setdefault(key, []).append(accepted.finding.subject)
        for (code, because), subjects in alike.items():
            yield from paper.wrap(f"{'; '.join(subjects)} [{code}]: {because}", 2, hang=4)
        yield ""
    if analysis.not_gone_through:
        yield from paper.heading("Not gone through")
        for each in analysis.not_gone_through:
            yield from paper.wrap(f"{each.subject}: {each.question} ({each.why})", 2, hang=4)
        yield ""
    yield from paper.wrap(summary(analysis))


def summary(analysis: Analysis) -> str:
    """What was gone through, and how much was found."""
    through = f"Analysed: {counted(analysis.rules, 'rule')}, {counted(analysis.conditions, 'condition')}"
    remarks = len(analysis.findings) - analysis.errors
    found = [
        counted(number, noun) for number, noun in ((analysis.errors, "error"), (remarks, "remark")) if number
    ]
    told = f": {', '.join(found)}" if found else ", nothing found"
    more = [f"{counted(len(analysis.accepted), 'finding')} accepted"] if analysis.accepted else []
    if analysis.not_gone_through:
        more.append(f"{counted(len(analysis.not_gone_through), 'question')} not gone through")
    return f"{', '.join([f'{through}{told}', *more])}."


def _group(name: str, found: Sequence[RuleFinding], rules: RuleSet, paper: Paper) -> Iterator[str]:
    sort = SORTS[name]
    yield from paper.heading(f"{sort.title} ({counted(len(found), sort.level)}) [{name}]")
    yield from paper.wrap(sort.why, 2)
    mends = {each.mend for each in found}
    if len(mends) == 1:
        yield from paper.wrap(f"To mend it: {mends.pop()}.", 2)
        mends.clear()
    yield from paper.wrap(f"See {PAGE}#{name}.", 2)
    shown, apart = 0, True
    for each in found:
        if apart:
            yield ""
        at = f"{each.at}: " if each.at is not None else ""
        yield from paper.wrap(f"{at}{each.what}.", 2, hang=4)
        if mends:
            yield from paper.wrap(f"To mend it: {each.mend}.", 6)
        apart = bool(mends)
        if each.witnesses and shown < CASES_SHOWN:
            shown, apart = shown + 1, True
            for witness in each.witnesses:
                yield from _witness(witness, rules, paper)
    if any(each.witnesses for each in found[CASES_SHOWN:]):
        yield ""
        yield from paper.wrap("The cases of the others: --witness DIR, or --json.", 2)


def _witness(witness: Witness, rules: RuleSet, paper: Paper) -> Iterator[str]:
    """A case to be pasted: no line of it is broken, whatever the width."""
    yield from paper.wrap(f"Case: {witness.says}.", 6)
    parts, bench = _pasted(witness, rules)
    if parts:
        yield f"      parts: {paper.plain(in_line(parts))}"
    for entry in bench:
        yield f"      - {paper.plain(in_line(entry))}"


def _pasted(witness: Witness, rules: RuleSet) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """What goes on the engine sheet, where the case is about a size, and what goes on the bench."""
    if all(word == "inside" for item in witness.items for word in item.standings.values()):
        return {}, entries(witness, rules)
    try:
        files = files_of(witness, rules, "")
    except NoCase:
        return {}, entries(witness, rules)
    kind = witness.items[0].kind
    # An item's findings and its readings; what is said of all others is in the files.
    bench = [dict(entry) for entry in files.case["bench"] if entry["part"] == kind]
    return {kind: files.engine["parts"][kind]}, bench[:2]


# ---- as values ----


def as_values(analysis: Analysis, rules: RuleSet) -> dict[str, Any]:
    """The analysis as plain JSON values."""
    return {
        "rules": analysis.rules,
        "conditions": analysis.conditions,
        "findings": [_finding(each, rules) for each in analysis.findings],
        "accepted": [_accepted(each, rules) for each in analysis.accepted],
        "not_gone_through": [asdict(each) for each in analysis.not_gone_through],
        "errors": analysis.errors,
        "remarks": len(analysis.findings) - analysis.errors,
    }


def _accepted(accepted: Accepted, rules: RuleSet) -> dict[str, Any]:
    return {**_finding(accepted.finding, rules), "accepted_because": accepted.because}


def _finding(finding: RuleFinding, rules: RuleSet) -> dict[str, Any]:
    return {
        "code": finding.code,
        "level": finding.level,
        "subject": finding.subject,
        "what": finding.what,
        "why": finding.why,
        "mend": finding.mend,
        "page": finding.page,
        "at": asdict(finding.at) if finding.at is not None else None,
        "witnesses": [_witness_value(each, rules) for each in finding.witnesses],
    }


def _witness_value(witness: Witness, rules: RuleSet) -> dict[str, Any]:
    parts, bench = _pasted(witness, rules)
    return {"says": witness.says, "parts": typed(parts) if parts else "", "bench": typed(bench)}


def witness_files(analysis: Analysis, rules: RuleSet) -> Iterator[tuple[str, Files | None]]:
    """By name of a folder: engine sheet and case of every witness; None where no case can be made."""
    for finding in analysis.findings:
        for number, witness in enumerate(finding.witnesses):
            more = f"-{'ab'[number]}" if len(finding.witnesses) > 1 else ""
            words = re.sub(r"[^a-z0-9]+", "-", finding.subject.casefold()).strip("-")[:80]
            name = f"{finding.code}-{words}{more}"
            told = f"{finding.what}: {witness.says}"
            try:
                yield name, files_of(witness, rules, told[:1].upper() + told[1:])
            except NoCase:
                yield name, None
