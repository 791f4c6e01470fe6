"""The ready cases of a coverage as test files, each with what it must show and its verdict left open."""

from __future__ import annotations

from typing import Any

from advisor.authoring.coverage import Coverage, ready_name
from advisor.authoring.fill import Ready
from advisor.authoring.suite import Piece, suite
from advisor.sheets.case_tests import UNANSWERED

ABOUT = (
    "Cases that show one condition of a rule to decide, made by advisor rules cover. The verdict is left to "
    "be given by whoever knows."
)


def test_files(coverage: Coverage) -> dict[str, str]:
    """By file name: test files and engine sheets with the ready cases of a coverage."""
    says = {
        (rule.rule, index): each.says for rule in coverage.rules for index, each in enumerate(rule.conditions)
    }
    names: set[str] = set()
    pieces = []
    for ready in coverage.ready:
        condition = says[ready.rule, ready.condition]
        name = base = ready_name(ready, condition)
        number = 1
        while name in names:
            number += 1
            name = f"{base} ({number})"
        names.add(name)
        pieces.append(_piece(ready, name, condition))
    return suite(pieces, ABOUT)


def _piece(ready: Ready, name: str, condition: str) -> Piece:
    how = "true" if ready.true else "not true"
    follows = "the rule fires" if ready.true else "it holds off"
    expect: dict[str, Any] = {"part": ready.part}
    if ready.place:
        expect["place"] = ready.place
    if ready.tag:
        expect["tag"] = ready.tag
    expect["fires" if ready.true else "holds"] = ready.rule
    expect["verdict"] = UNANSWERED
    because = (
        f"Here {condition} is {how}, and {follows}; nothing else that {ready.rule} looks at is otherwise "
        f"than in the case where it is {'not true' if ready.true else 'true'}."
    )
    return Piece(f"coverage_{ready.part}", name[:200], because, ready.yard, ready.changes, [expect])
