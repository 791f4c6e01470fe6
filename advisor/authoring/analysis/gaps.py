"""What no rule speaks of: kinds, findings, their extents, dimensions and limits, each with a witness case."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from advisor.authoring.analysis.book import Book, inner_leaf
from advisor.authoring.analysis.model import RuleFinding, Witness, WitnessItem
from advisor.faults import joined
from advisor.sheets.conditions import Found, Outcome, Stands, leaves
from advisor.sheets.rule_of_thumb import RuleOfThumb

_SIDES: tuple[tuple[str, Outcome], ...] = (("at_most", "above"), ("at_least", "below"))


@dataclass(frozen=True)
class Asked:
    """What the rules that can fire ask of the items of each kind."""

    book: Book

    @cached_property
    def _leaves(self) -> Mapping[str, frozenset[Found | Stands]]:
        found: dict[str, set[Found | Stands]] = defaultdict(set)
        for rule in self.book.whole.rules:
            for leaf in leaves(self.book.live[rule.id]) if rule.id not in self.book.dead else ():
                kind, inner = inner_leaf(leaf, rule.for_)
                if isinstance(inner, Found | Stands):
                    found[kind].add(inner)
        return {kind: frozenset(each) for kind, each in found.items()}

    def told_apart(self, kind: str, finding: str) -> frozenset[int]:
        """The steps of a finding's scale that some rule tells apart: 1 is that from none to the first."""
        extents = list(self.book.whole.vocabulary.findings[finding].extents)
        steps: set[int] = set()
        for leaf in self._leaves.get(kind, ()):
            if isinstance(leaf, Found) and leaf.finding == finding:
                steps.add(extents.index(leaf.lowest))
                if leaf.highest is not None:
                    steps.add(extents.index(leaf.highest) + 1)
        return frozenset(steps) & frozenset(range(1, len(extents)))

    def outcomes(self, kind: str, dimension: str, purpose: str | None = None) -> frozenset[Outcome]:
        """The outcomes of a dimension, against one limit or any, that some rule asks for."""
        return frozenset(
            outcome
            for leaf in self._leaves.get(kind, ())
            if isinstance(leaf, Stands) and leaf.dimension == dimension and purpose in (None, leaf.purpose)
            for outcome in leaf.outcomes
        )


def gaps(book: Book) -> Iterator[RuleFinding]:
    """Everything that no rule speaks of; of a kind that no rule judges, that alone is told."""
    asked = Asked(book)
    yield from _kinds(book)
    yield from _findings(book, asked)
    yield from _dimensions(book, asked)
    yield from _limits(book, asked)


def unjudged(book: Book) -> frozenset[str]:
    """Kinds whose items stay undecided since no rule can bar their mildest answer; one answer needs none."""
    kinds = book.whole.vocabulary.kinds
    return frozenset(
        name for name, kind in kinds.items() if name not in book.whole.judged_kinds and len(kind.answers) > 1
    )


def _kinds(book: Book) -> Iterator[RuleFinding]:
    for name in sorted(unjudged(book)):
        rules = book.by_kind.get(name, ())
        told = f"{len(rules)} rules speak of it and none bars anything" if rules else "no rule is for it"
        told = "one rule speaks of it and bars nothing" if len(rules) == 1 else told
        yield RuleFinding(
            "kind-without-rule",
            name,
            f"no rule judges {name}: {told}",
            "write a rule that bars reuse where it must not go back",
            book.declared("kinds", name),
            (Witness("undecided, with a note that no rule speaks of it", (WitnessItem(name),)),),
        )


def _findings(book: Book, asked: Asked) -> Iterator[RuleFinding]:
    for name, finding in book.whole.vocabulary.findings.items():
        judged = [kind for kind in finding.kinds if kind in book.whole.judged_kinds]
        silent = [kind for kind in judged if not asked.told_apart(kind, name)]
        worst = list(finding.extents)[-1]
        if silent and len(silent) == len(finding.kinds) and not _wanted(book, name):
            yield RuleFinding(
                "unused-finding",
                name,
                f"nothing in the rule set asks for {name}",
                "write the rule that it is for, or drop it",
                book.declared("findings", name),
                tuple(_silent_case(kind, name, worst) for kind in silent[:1]),
            )
            continue
        for kind in silent:
            wanted = any(
                each.finding == name
                for each in (
                    *book.whole.vocabulary.kinds[kind].evidence,
                    *(need for rule in book.by_kind[kind] for need in rule.then.require),
                )
            )
            but = "it is asked for as evidence, and " if wanted else ""
            yield RuleFinding(
                "finding-without-rule",
                f"{kind}: {name}",
                f"no rule speaks of {name} on {kind}: {but}{worst} leads to the same as none",
                f"write a rule for {kind}, or take {kind} from the kinds of {name}",
                book.declared("findings", name),
                (_silent_case(kind, name, worst),),
            )
        yield from _alike(book, asked, name)


def _silent_case(kind: str, finding: str, extent: str) -> Witness:
    return Witness(f"the same as with {finding} none", (WitnessItem(kind, findings={finding: extent}),))


def _wanted(book: Book, finding: str) -> bool:
    """Whether a finding is evidence, or is voided by some work."""
    vocabulary = book.whole.vocabulary
    evidence = [
        *(each for kind in vocabulary.kinds.values() for each in kind.evidence),
        *(each for rule in book.whole.rules for each in rule.then.require),
    ]
    return any(each.finding == finding for each in evidence)


def _alike(book: Book, asked: Asked, name: str) -> Iterator[RuleFinding]:
    """Neighbouring extents that no rule tells apart on any kind; none of a finding that no rule asks for."""
    finding = book.whole.vocabulary.findings[name]
    kinds = [kind for kind in finding.kinds if asked.told_apart(kind, name)]
    steps = frozenset[int]().union(*(asked.told_apart(kind, name) for kind in kinds))
    for step, (milder, harsher) in enumerate(pairwise(finding.extents), start=1):
        if kinds and step not in steps and not unjudged(book) & set(finding.kinds):
            yield RuleFinding(
                "extents-alike",
                f"{name}: {milder}, {harsher}",
                f"no rule tells {harsher} from {milder} of {name}",
                "write the rule in which they differ, or make one word of the two",
                book.declared("findings", name),
                (
                    Witness(
                        f"the same as with {name} {milder}",
                        (WitnessItem(kinds[0], findings={name: harsher}),),
                    ),
                ),
            )


def _dimensions(book: Book, asked: Asked) -> Iterator[RuleFinding]:
    vocabulary = book.whole.vocabulary
    for name, dimension in vocabulary.dimensions.items():
        judged = [kind for kind in dimension.kinds if kind in book.whole.judged_kinds]
        silent = [kind for kind in judged if not asked.outcomes(kind, name)]
        evidence = [
            *(each for kind in vocabulary.kinds.values() for each in kind.evidence),
            *(each for rule in book.whole.rules for each in rule.then.require),
        ]
        wanted = any(each.dimension == name for each in evidence)
        limited = any(thumb.dimension == name for thumb in book.whole.limits)
        if silent and len(silent) == len(dimension.kinds) and not wanted and not limited:
            yield RuleFinding(
                "unused-dimension",
                name,
                f"nothing in the rule set asks how {name} stands",
                "write the rule that it is for, or drop it",
                book.declared("dimensions", name),
                (_beyond(silent[0], name, "above"),),
            )
            continue
        for kind in silent:
            yield RuleFinding(
                "dimension-without-rule",
                f"{kind}: {name}",
                f"no rule speaks of {name} on {kind}: beyond its discard limit it bars nothing",
                f"write a rule for {kind}, or take {kind} from the kinds of {name}",
                book.declared("dimensions", name),
                (_beyond(kind, name, "above"),),
            )


def _beyond(kind: str, dimension: str, outcome: Outcome) -> Witness:
    return Witness(
        f"the same as with {dimension} inside its discard limit",
        (WitnessItem(kind, standings={(dimension, "discard"): outcome}),),
    )


def _limits(book: Book, asked: Asked) -> Iterator[RuleFinding]:
    """Rules of thumb for throwing away that no rule asks for, by the side that they limit."""
    told: set[tuple[str, str, str]] = set()
    for thumb in book.whole.limits:
        if thumb.purpose != "discard" or thumb.part not in book.whole.judged_kinds:
            continue
        if not asked.outcomes(thumb.part, thumb.dimension):
            continue
        spoken = asked.outcomes(thumb.part, thumb.dimension, "discard")
        for side, outcome in _SIDES:
            key = (thumb.part, thumb.dimension, side)
            if getattr(thumb, side) is not None and outcome not in spoken and key not in told:
                told.add(key)
                yield _limit(thumb, side, outcome, spoken)


def _limit(thumb: RuleOfThumb, side: str, outcome: Outcome, spoken: frozenset[Outcome]) -> RuleFinding:
    others = f"; rules ask whether it stands {joined(sorted(spoken), 'or')}" if spoken else ""
    return RuleFinding(
        "limit-without-rule",
        f"{thumb.part}: {thumb.dimension} discard {side}",
        f"{thumb.dimension} of {thumb.part} has a limit ({side}) for discard, and no rule asks whether it "
        f"stands {outcome} that{others}",
        f"write a rule with against: discard, standing: {outcome} (or outside), or drop the limit",
        thumb.at,
        (_beyond(thumb.part, thumb.dimension, outcome),),
    )
