"""The whole analysis of a rule set: every look, and what the rule set accepts of what they find."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from advisor.authoring.analysis.book import Book
from advisor.authoring.analysis.codes import SORTS
from advisor.authoring.analysis.gaps import gaps
from advisor.authoring.analysis.milder import milder_when_worse
from advisor.authoring.analysis.model import Accepted, Analysis, RuleFinding
from advisor.authoring.analysis.reach import unreachable, verdicts_never_reached
from advisor.authoring.analysis.use import unused
from advisor.authoring.analysis.weight import weightless
from advisor.authoring.analysis.work import operations, requirements
from advisor.faults import Position, nearest
from advisor.sheets.ruleset import RuleSet, RuleSetFiles
from advisor.sheets.ruleset_files import Acceptance

_LOOKS: Final[tuple[Callable[[Book], Iterator[RuleFinding]], ...]] = (
    unreachable,
    weightless,
    milder_when_worse,
    gaps,
    verdicts_never_reached,
    requirements,
    operations,
    unused,
)


def analyse(whole: RuleSet, files: RuleSetFiles) -> Analysis:
    """Everything that can be told of a rule set without a case. Its names must have been checked before."""
    book = Book(whole, files)
    found = [finding for look in _LOOKS for finding in look(book)]
    kept, accepted = _accepted(book, found)
    order = list(SORTS)
    return Analysis(
        rules=len(whole.rules),
        conditions=book.conditions,
        findings=tuple(
            sorted(kept, key=lambda each: (order.index(each.code), each.at is None, each.at, each.subject))
        ),
        accepted=tuple(accepted),
        not_gone_through=tuple(book.given_up),
    )


def _accepted(book: Book, found: list[RuleFinding]) -> tuple[list[RuleFinding], list[Accepted]]:
    """What is left of the findings, with acceptances that accept nothing; and what is accepted."""
    by_name = {(each.code, each.subject): each for each in found}
    accepted: dict[tuple[str, str], Accepted] = {}
    idle: list[RuleFinding] = []
    for each, at, about in _acceptances(book.files):
        key = each.finding, about
        finding = by_name.get(key)
        if finding is not None and key not in accepted:
            accepted[key] = Accepted(finding, each.because)
            continue
        twice = key in accepted
        if book.files.layers and at.file not in book.files.house_files:
            # House rules may take away what their base accepts, and cannot change what it says.
            continue
        subjects = [subject for code, subject in by_name if code == each.finding]
        close = nearest(about, subjects)
        if not close and each.finding not in SORTS:
            close = nearest(each.finding, SORTS)
        idle.append(
            RuleFinding(
                "acceptance-idle",
                f"{each.finding}: {about}",
                f"the manifest accepts {each.finding} of {about} "
                + ("a second time" if twice else "and there is no such finding"),
                f'drop it, or did you mean "{close}"?' if close and not twice else "drop it",
                at,
            )
        )
    return [each for each in found if (each.code, each.subject) not in accepted] + idle, list(
        accepted.values()
    )


def _acceptances(files: RuleSetFiles) -> list[tuple[Acceptance, Position, str]]:
    """What the rule set accepts, and then what house rules over it do: each subject, with its place."""
    manifest, document = files.manifest
    own = [(each, document.positions["accept", index]) for index, each in enumerate(manifest.accept)]
    return [(each, at, about) for each, at in (*own, *files.accepted) for about in each.subject]
