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
from advisor.faults import nearest
from advisor.sheets.ruleset import RuleSet, RuleSetFiles

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
    manifest, document = book.files.manifest
    by_name = {(each.code, each.subject): each for each in found}
    accepted: dict[tuple[str, str], Accepted] = {}
    idle: list[RuleFinding] = []
    named = [(index, each, subject) for index, each in enumerate(manifest.accept) for subject in each.subject]
    for index, each, about in named:
        key = each.finding, about
        finding = by_name.get(key)
        if finding is not None and key not in accepted:
            accepted[key] = Accepted(finding, each.because)
            continue
        subjects = [subject for code, subject in by_name if code == each.finding]
        close = nearest(about, subjects)
        if not close and each.finding not in SORTS:
            close = nearest(each.finding, SORTS)
        twice = key in accepted
        if book.files.layers and not twice:
            # House rules may take away what their base accepts, and cannot change what it says.
            continue
        idle.append(
            RuleFinding(
                "acceptance-idle",
                f"{each.finding}: {about}",
                f"the manifest accepts {each.finding} of {about} "
                + ("a second time" if twice else "and there is no such finding"),
                f'drop it, or did you mean "{close}"?' if close and not twice else "drop it",
                document.positions["accept", index],
            )
        )
    return [each for each in found if (each.code, each.subject) not in accepted] + idle, list(
        accepted.values()
    )
