"""The chain behind a verdict, as an indented tree of plain sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from advisor.explain.why import Branch, Told, Used, Why
from advisor.faults import joined
from advisor.reports.alike import Alike, judged
from advisor.reports.doing import Cautions, course_lines, remark_lines, work_lines
from advisor.reports.evidence import evidence_words, item_words, sources
from advisor.reports.paper import Paper
from advisor.reports.terminal import verdict_words
from advisor.reports.wanted import wanted_by
from advisor.schema import sentence
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Verdict

STEP = 3
"""How far each level is set in."""


def tree(
    told: Why, rules: RuleSet, paper: Paper, *, ids: bool = False, cautions: Cautions | None = None
) -> Iterator[str]:
    """The tree line by line, without line ends.

    `ids` adds the ids of the rules; `cautions` holds those that were told before, with another tree.
    """
    verdict = told.verdict
    branches = _Branches(verdict, rules, paper, ids)
    spoken = judged(verdict, rules)
    words = verdict_words(verdict) if spoken else "NOT JUDGED"
    yield from paper.heading(f"{Alike((verdict,)).name}: {words}")
    if spoken:
        yield from paper.wrap(f"Ground: {ground_words(verdict)}")
    yield from course_lines(verdict, paper, 0)
    yield from (cautions or Cautions(rules)).lines([verdict], paper, 0)
    yield from work_lines(verdict, paper, 0)
    yield from remark_lines(verdict, paper, 0)
    if not verdict.opened and verdict.verdict == "undecided":
        return
    yield from branches.section("Because", told.reasons)
    yield from branches.section("Still possible, and why", told.possible)
    if verdict.asks:
        yield ""
        yield from paper.heading("Look at next:")
        for number, each in enumerate(wanted_by([verdict], rules), 1):
            ask = each.ask
            says = ask.says if each.own else f"{each.part}: {ask.says}"
            yield from paper.wrap(sentence(says), STEP, mark=f"{number}. ")
            if ask.instruments:
                yield from paper.wrap(f"With: {joined(ask.instruments, 'or')}.", 2 * STEP)
            yield from paper.wrap(f"Because: {sentence(ask.because)}", 2 * STEP)
    yield from branches.section("Tasks, and why", told.tasks)
    yield from branches.section("What else follows from it", told.concerns)
    yield from branches.section("Further down the chain", told.further)
    yield from _rest(verdict, rules, paper, ids)


def ground_words(verdict: Verdict) -> str:
    """The ground of a verdict as a sentence."""
    if verdict.verdict == "recondition" and verdict.ground == "condemned":
        return "as it is it cannot be reused."
    return {
        "sound": "sound; nothing bars reuse and what had to be looked at was looked at.",
        "condemned": "condemned; what was found rules the milder answers out.",
        "routine": "routine; it is renewed as a matter of course, whatever its state.",
        "safe side": "the safe side; evidence that cannot be had any more ends there.",
        "open": "open; evidence is wanted before a verdict can stand.",
    }[verdict.ground]


@dataclass(frozen=True, slots=True)
class _Branches:
    """Lays out the branches of one verdict's tree."""

    verdict: Verdict
    rules: RuleSet
    paper: Paper
    ids: bool

    def section(self, title: str, branches: Sequence[Branch]) -> Iterator[str]:
        """Branches under a heading; nothing where there are none."""
        if not branches:
            return
        yield ""
        yield from self.paper.heading(f"{title}:")
        for branch in branches:
            yield from self._branch(branch, STEP)

    def _branch(self, branch: Branch, indent: int) -> Iterator[str]:
        wrap = self.paper.wrap
        if isinstance(branch, int):
            yield from wrap(f"as told under ({branch}).", indent)
            return
        if isinstance(branch, Told):
            own = (branch.part, branch.place) == (self.verdict.part, self.verdict.place)
            label = self.rules.vocabulary.kinds[branch.part].label
            where = "" if own else f"{item_words(label, branch.place)}: "
            maybe = "" if branch.certain else "Possible, not certain: "
            text = f"{where}{maybe}{sentence(branch.because)}"
            yield from wrap(text, indent, mark=f"({branch.number}) ", hang=STEP)
        else:
            mark = "Had to be known: " if branch.kind == "evidence" else ""
            yield from wrap(sentence(branch.because), indent, mark=mark, hang=STEP)
        if self.ids and isinstance(branch, Told):
            concludes = f"; concludes {', '.join(branch.concludes)}" if branch.concludes else ""
            yield from wrap(f"Rule {branch.rule}{concludes}.", indent + STEP)
        yield from self._uses(branch.uses, indent + STEP)
        if branch.cites:
            yield from wrap(f"Read in: {sources(branch.cites)}.", indent + STEP, hang=2)
        if isinstance(branch, Told) and branch.differs:
            yield from wrap(f"Sources differ: {sentence(branch.differs)}", indent + STEP, hang=2)
        if isinstance(branch, Told) and branch.house:
            yield from wrap(f"House rule: {sentence(branch.house)}", indent + STEP, hang=2)
        if branch.at:
            yield from wrap(f"Written at {branch.at}", indent + STEP, hang=2)

    def _uses(self, uses: Sequence[Used], indent: int) -> Iterator[str]:
        """What a rule used; what reads the same, such as one finding that two conditions look at, once."""
        told: set[tuple[str, bool]] = set()
        for used in uses:
            line = used.line
            text = evidence_words(line, of=self.verdict)
            if line.kind == "concern":
                text += ", because" if used.concluded_by else ""
            elif line.at:
                text += f" [{line.at}]"
            if not used.concluded_by and (text, False) in told:
                continue
            told.add((text, bool(used.concluded_by)))
            yield from self.paper.wrap(text, indent, mark="- ")
            for step in used.concluded_by:
                yield from self._branch(step, indent + STEP)


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
    for layer in rules.house:
        for change in layer.changes:
            if change.kind == "rule retired" and change.part == verdict.part:
                yield ""
                yield from paper.wrap(f"House rule: {sentence(change.signed_words)}", hang=2)
    if verdict.not_looked_at:
        labels = [rules.vocabulary.findings[name].label for name in verdict.not_looked_at]
        yield from paper.wrap(f"Not looked at, and not asked for: {', '.join(labels)}.", hang=2)
