"""The chain behind a verdict, as an indented tree of plain sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.explain.why import Branch, Told, Used, Why
from advisor.reports.alike import Alike
from advisor.reports.evidence import evidence_words, item_words, sources
from advisor.reports.paper import Paper, joined
from advisor.reports.terminal import verdict_words
from advisor.schema import sentence
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Verdict

STEP = 3
"""How far each level is set in."""


def tree(told: Why, rules: RuleSet, paper: Paper, *, ids: bool = False) -> Iterator[str]:
    """The tree line by line, without line ends. `ids` adds the ids of the rules."""
    verdict = told.verdict
    yield from paper.heading(f"{Alike((verdict,)).name}: {verdict_words(verdict)}")
    yield from paper.wrap(f"Ground: {ground_words(verdict)}")
    if not verdict.opened:
        yield from paper.wrap("Not opened, not judged.")
        return
    yield from _section("Because", told.reasons, verdict, paper, ids)
    yield from _section("Still possible, and why", told.possible, verdict, paper, ids)
    if verdict.asks:
        yield ""
        yield from paper.heading("Look at next:")
        for number, ask in enumerate(verdict.asks, 1):
            own = (ask.part, ask.place, ask.tag) == (verdict.part, verdict.place, verdict.tag)
            says = ask.says if own else f"{item_words(ask.part, ask.place, ask.tag)}: {ask.says}"
            yield from paper.wrap(sentence(says), STEP, mark=f"{number}. ")
            if ask.instruments:
                yield from paper.wrap(f"With: {joined(ask.instruments, 'or')}.", 2 * STEP)
            yield from paper.wrap(f"Because: {sentence(ask.because)}", 2 * STEP)
    yield from _section("Tasks, and why", told.tasks, verdict, paper, ids)
    yield from _section("What else follows from it", told.concerns, verdict, paper, ids)
    for title, texts in (("Held", verdict.held), ("Note", verdict.notes)):
        for text in texts:
            yield from paper.wrap(sentence(text), mark=f"{title}: ", hang=2)
    yield from _rest(verdict, rules, paper, ids)


def ground_words(verdict: Verdict) -> str:
    """The ground of a verdict as a sentence."""
    return {
        "sound": "sound; nothing bars reuse and what had to be looked at was looked at.",
        "condemned": "condemned; what was found rules the milder answers out.",
        "routine": "routine; it is renewed as a matter of course, whatever its state.",
        "safe side": "the safe side; evidence that cannot be had any more ends there.",
        "open": "open; evidence is wanted before a verdict can stand.",
    }[verdict.ground]


def _section(
    title: str, branches: Sequence[Branch], verdict: Verdict, paper: Paper, ids: bool
) -> Iterator[str]:
    if not branches:
        return
    yield ""
    yield from paper.heading(f"{title}:")
    for branch in branches:
        yield from _branch(branch, verdict, paper, STEP, ids)


def _branch(branch: Branch, verdict: Verdict, paper: Paper, indent: int, ids: bool) -> Iterator[str]:
    if isinstance(branch, int):
        yield from paper.wrap(f"as told under ({branch}).", indent)
        return
    if isinstance(branch, Told):
        own = (branch.part, branch.place) == (verdict.part, verdict.place)
        where = "" if own else f"{item_words(branch.part, branch.place)}: "
        maybe = "" if branch.certain else "Possible, not certain: "
        text = f"{where}{maybe}{sentence(branch.because)}"
        yield from paper.wrap(text, indent, mark=f"({branch.number}) ", hang=STEP)
    else:
        yield from paper.wrap(sentence(branch.because), indent, mark="Had to be known: ", hang=STEP)
    if ids and isinstance(branch, Told):
        concludes = f"; concludes {', '.join(branch.concludes)}" if branch.concludes else ""
        yield from paper.wrap(f"Rule {branch.rule}{concludes}.", indent + STEP)
    for used in branch.uses:
        yield from _used(used, verdict, paper, indent + STEP, ids)
    if branch.cites:
        yield from paper.wrap(f"Read in: {sources(branch.cites)}.", indent + STEP, hang=2)
    if isinstance(branch, Told) and branch.differs:
        yield from paper.wrap(f"Sources differ: {sentence(branch.differs)}", indent + STEP, hang=2)
    if branch.at:
        yield from paper.wrap(f"Written at {branch.at}", indent + STEP, hang=2)


def _used(used: Used, verdict: Verdict, paper: Paper, indent: int, ids: bool) -> Iterator[str]:
    line = used.line
    text = evidence_words(line, of=verdict)
    if line.kind == "concern":
        text += ", because" if used.concluded_by else ""
    elif line.at:
        text += f" [{line.at}]"
    yield from paper.wrap(text, indent, mark="- ")
    for step in used.concluded_by:
        yield from _branch(step, verdict, paper, indent + STEP, ids)


def _rest(verdict: Verdict, rules: RuleSet, paper: Paper, ids: bool) -> Iterator[str]:
    if verdict.cleared:
        yield ""
        count = len(verdict.cleared)
        which = "One rule" if count == 1 else f"{count} rules"
        names = f": {', '.join(verdict.cleared)}" if ids else ""
        yield from paper.wrap(
            f"{which} could have ruled an answer out and, on what is known, {'does' if count == 1 else 'do'} "
            f"not{names}.",
            hang=2,
        )
    if verdict.not_looked_at:
        labels = [rules.vocabulary.findings[name].label for name in verdict.not_looked_at]
        yield from paper.wrap(f"Not looked at, and not asked for: {', '.join(labels)}.", hang=2)
