"""Cases on both sides of every threshold: each limit, and each extent of each finding, one at a time.

All else on the bench is as mild as it can be, so that the threshold alone decides. What is right is left for
the author to say; what the rule set says now is worked out only for whoever asks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Final, TypeAlias

from advisor.authoring.suite import Piece, suite
from advisor.authoring.trial import Changes, Laid, Spot, Yard
from advisor.authoring.trial_engine import inner, kinds_behind
from advisor.authoring.trial_points import Edge, edges, sized
from advisor.faults import Fault, Faults
from advisor.pipeline import decide
from advisor.sheets.case import CaseSheet
from advisor.sheets.case_tests import UNANSWERED
from advisor.sheets.conditions import Found, Stands, leaves
from advisor.sheets.engine import EngineSheet
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import NONE
from advisor.units import show
from advisor.verdicts.model import Verdict

MOST_CASES: Final = 5_000
"""Cases of one run."""

ABOUT: Final = (
    "Cases on both sides of limits and extents, made by advisor rules probe. Say what is right in place of "
    "unanswered, and why in place of the words under because; then let advisor rules test tell what the rule "
    "set makes of it."
)

Threshold: TypeAlias = tuple[str, str]
"""A kind of part, and a finding or a dimension of it."""


@dataclass(frozen=True, slots=True)
class Probe:
    """One case at a threshold."""

    part: str
    place: str
    threshold: str
    """The finding or the dimension."""
    name: str
    asks: str
    """What stands on the bench, as a question to the author."""
    yard: Yard
    changes: Changes
    about: tuple[tuple[str, str], ...]
    """The items, by kind and place, whose verdict is asked for."""


@dataclass(frozen=True, slots=True)
class Probed:
    """All cases of a run, and what could not be probed, with why."""

    cases: tuple[Probe, ...]
    left_out: tuple[str, ...]
    thresholds: int


def probe(
    ruleset: RuleSet,
    sheet: EngineSheet,
    *,
    rules: Sequence[str] = (),
    kinds: Sequence[str] = (),
) -> Probed:
    """The cases at every threshold that the named rules look at, and at all of the named kinds of part.

    With neither, all kinds of part that the engine has and that some rule speaks of. Raises `Faults` where
    that would be more than `MOST_CASES`.
    """
    chosen = [rule for rule in ruleset.rules if rule.id in rules]
    wanted = [kind for kind in ruleset.vocabulary.kinds if kind in kinds]
    if not rules and not kinds:
        spoken_of = {rule.for_ for rule in ruleset.rules}
        wanted = [kind for kind in ruleset.vocabulary.kinds if kind in spoken_of and kind in sheet.parts]
    prober = _Prober(ruleset, sheet)
    cases: list[Probe] = []
    for kind in wanted:
        cases += prober.kind(kind)
    for rule in chosen:
        cases += prober.rule(rule)
        if len(cases) > MOST_CASES:
            break
    if len(cases) > MOST_CASES:
        raise Faults(
            [
                Fault(
                    "too-many-probes",
                    f"that is more than {MOST_CASES:,} cases",
                    f"at most {MOST_CASES:,} in one run",
                    "name some kinds of part with --kind, or rules with --rule",
                )
            ]
        )
    return Probed(tuple(cases), tuple(dict.fromkeys(prober.left_out)), prober.thresholds)


class _Prober:
    def __init__(self, ruleset: RuleSet, sheet: EngineSheet) -> None:
        self._ruleset = ruleset
        self._vocabulary = ruleset.vocabulary
        self._sheet = sheet
        self.left_out: list[str] = []
        self.thresholds = 0

    def kind(self, kind: str) -> Iterator[Probe]:
        """Every finding and every limit of a kind of part."""
        conditions = [rule.condition for rule in self._ruleset.rules if rule.for_ == kind]
        yard = Yard(self._sheet, self._ruleset, kinds_behind(self._ruleset, kind, conditions))
        places = yard.places(kind)
        if not places:
            self.left_out.append(f"{kind}: the engine has no place for one")
            return
        about = ((kind, places[0]),)
        yield self._none(yard, kind, places[0], about)
        for name, finding in self._vocabulary.findings.items():
            if kind in finding.kinds:
                yield from self._extents(yard, kind, places[0], name, about)
        for name, dimension in self._vocabulary.dimensions.items():
            if kind in dimension.kinds:
                yield from self._limits(yard, kind, places[0], name, about, lambda edge: True)

    def rule(self, rule: RuleText) -> Iterator[Probe]:
        """Every finding and every limit that one rule looks at, on its own item or on a related one."""
        kind = rule.for_
        yard = Yard(self._sheet, self._ruleset, kinds_behind(self._ruleset, kind, [rule.condition]))
        places = yard.places(kind)
        if not places:
            self.left_out.append(f"{kind}: the engine has no place for one")
            return
        looked: dict[Threshold, set[tuple[str, str]]] = {}
        at: dict[str, str] = {kind: places[0]}
        for asked in leaves(rule.condition):
            other, leaf = inner(asked, kind)
            if other not in at:
                relation = getattr(getattr(asked, "of", asked), "relation", "")
                linked = yard.linked(kind, places[0], relation, other) if relation else []
                at[other] = linked[0] if linked else next(iter(yard.places(other)), "")
            if isinstance(leaf, Found):
                looked.setdefault((other, leaf.finding), set())
            elif isinstance(leaf, Stands):
                sides = {"above": "at_most", "below": "at_least"}
                wanted = {(leaf.purpose, sides[each]) for each in leaf.outcomes if each in sides}
                if "inside" in leaf.outcomes:
                    wanted |= {(leaf.purpose, side) for side in sides.values()}
                looked.setdefault((other, leaf.dimension), set()).update(wanted)
        if not looked:
            self.left_out.append(f"{rule.id}: it looks at no finding and no limit itself")
        for (other, name), wanted in looked.items():
            if not yard.places(other):
                self.left_out.append(f"{other}: the engine has no place for one")
                continue
            about = tuple(dict.fromkeys([(other, at[other]), (kind, places[0])]))
            if name in self._vocabulary.findings:
                yield self._none(yard, other, at[other], about)
                yield from self._extents(yard, other, at[other], name, about)
                continue
            found = {(edge.purpose, edge.side) for edge in edges(yard, other, name)}
            for purpose, side in sorted(wanted - found):
                way = "upper" if side == "at_most" else "lower"
                self.left_out.append(f"{name} of {other}: the engine has no {way} limit for {purpose}")
            yield from self._limits(
                yard,
                other,
                at[other],
                name,
                about,
                lambda edge, kept=wanted: (edge.purpose, edge.side) in kept,  # type: ignore[misc]
            )

    def _none(self, yard: Yard, kind: str, place: str, about: tuple[tuple[str, str], ...]) -> Probe:
        label = self._vocabulary.kinds[kind].label
        return Probe(
            kind,
            place,
            "",
            f"{_called(kind, place)}, nothing found",
            f"Looked at all over and measured: nothing is wrong with this {label} or what is about it.",
            yard,
            {},
            about,
        )

    def _extents(
        self, yard: Yard, kind: str, place: str, name: str, about: tuple[tuple[str, str], ...]
    ) -> Iterator[Probe]:
        """Every extent of a finding; the step below each is the one before it."""
        finding = self._vocabulary.findings[name]
        self.thresholds += len(finding.extents) - 1
        words = list(finding.extents.items())
        for (below, _), (extent, says) in pairwise(words):
            changes = {Spot("finding", kind, place, name): extent}
            if yard.lay(changes) is None:
                self.left_out.append(f"{name} of {kind}, {extent}: no case can say so")
                continue
            step = "the first step of it" if below == NONE else f"one step beyond {below}"
            yield Probe(
                kind,
                place,
                name,
                f"{_called(kind, place)}, {name} {extent}",
                f"{_sentence(finding.label)}: {says} ({step}). Nothing else is wrong.",
                yard,
                changes,
                about,
            )

    def _limits(
        self,
        yard: Yard,
        kind: str,
        place: str,
        name: str,
        about: tuple[tuple[str, str], ...],
        wanted: Callable[[Edge], bool],
    ) -> Iterator[Probe]:
        """Each side of each limit of a dimension: inside, at it, outside, and where nobody can tell."""
        dimension = self._vocabulary.dimensions[name]
        for edge in edges(yard, kind, name):
            if not wanted(edge):
                continue
            self.thresholds += 1
            limit = show(edge.size, dimension.quantity)
            whose = "a rule of thumb" if edge.rule_of_thumb else "the engine sheet"
            which = f"{'upper' if edge.outward > 0 else 'lower'} limit for {edge.purpose}"
            for point in _around(edge):
                value = edge.size + edge.outward * point.out
                found = self._brought_to(yard, kind, place, name, edge, point)
                if found is None:
                    self.left_out.append(
                        f"{name} of {kind}, {which}, {point.where}: no readings come to that"
                    )
                    continue
                changes, along = found
                size = show(value, dimension.quantity)
                also = f", but for what hangs on the same size: {', '.join(along)}" if along else ""
                yield Probe(
                    kind,
                    place,
                    name,
                    f"{_called(kind, place)}, {name}, {which}: {point.where}",
                    f"{_sentence(dimension.label)} comes to {size}; the {which} is {limit}, by {whose}. "
                    f"{point.says} Nothing else is wrong{also}.",
                    yard,
                    changes,
                    about,
                )

    def _brought_to(
        self, yard: Yard, kind: str, place: str, name: str, edge: Edge, point: _Point
    ) -> tuple[Changes, tuple[str, ...]] | None:
        """Readings that bring a dimension there and disturb the fewest others, and the labels of these."""
        mild = yard.lay({})
        best: tuple[Changes, tuple[str, ...]] | None = None
        for changes in sized(yard, kind, place, name, edge.size + edge.outward * point.out):
            laid = yard.lay(changes)
            item = None if laid is None else yard.item(laid, kind, place, changes)
            if laid is None or item is None or mild is None:
                continue
            stands = laid.gauged.dimensions[item].get(name)
            if stands is None or stands.measure is None or _off(stands.measure.value, edge, point.out):
                continue
            if len(stands.standings[edge.purpose].outcomes) != point.outcomes:
                continue
            along = _along(mild, laid, item, name)
            if best is None or len(along) < len(best[1]):
                best = changes, tuple(self._vocabulary.dimensions[each].label for each in along)
        return best


@dataclass(frozen=True, slots=True)
class _Point:
    """Where to probe about a limit."""

    where: str
    says: str
    out: Decimal
    """How far out of the limit, in base units; inside where it is negative."""
    outcomes: int
    """How many standings are possible there."""


def _around(edge: Edge) -> Iterator[_Point]:
    half = (edge.band / 2 // edge.step) * edge.step
    clear = edge.band + edge.step
    by = "by more than the instruments can be out" if edge.band else "by the smallest step there is"
    near = "by less than the instruments can tell"
    yield _Point("just inside", f"It is inside {by}.", -clear, 1)
    if half > 0:
        yield _Point("too near to tell, inside", f"It is inside {near}.", -half, 2)
    yield _Point("at it", "It is at the limit itself.", Decimal(0), 2 if edge.band else 1)
    if half > 0:
        yield _Point("too near to tell, outside", f"It is outside {near}.", half, 2)
    yield _Point("just outside", f"It is outside {by}.", clear, 1)


def _off(value: Decimal, edge: Edge, out: Decimal) -> bool:
    """Whether a measure is not where it was wanted, by more than what typing it has rounded off."""
    return abs(value - edge.size - edge.outward * out) > edge.step / 100


def _along(mild: Laid, laid: Laid, item: int, name: str) -> list[str]:
    """The other dimensions that stand otherwise than on the mild bench."""
    found = {
        other: None
        for index, dimensions in enumerate(mild.gauged.dimensions)
        for other, gauged in dimensions.items()
        if (index, other) != (item, name)
        for purpose, standing in gauged.standings.items()
        if standing.outcomes != laid.gauged.dimensions[index][other].standings[purpose].outcomes
    }
    return list(found)


def probe_files(probed: Probed) -> dict[str, str]:
    """By file name: test files and engine sheets with the cases of a run, their answers left open."""
    names: set[str] = set()
    pieces = []
    for each in probed.cases:
        if each.name in names:
            continue  # two rules may look at one threshold
        names.add(each.name)
        expect = [
            {"part": part, **({"place": place} if place else {}), "verdict": UNANSWERED}
            for part, place in each.about
        ]
        pieces.append(
            Piece(f"probe_{each.part}", each.name[:200], each.asks, each.yard, each.changes, expect)
        )
    return suite(pieces, ABOUT)


def revealed(case: Probe, ruleset: RuleSet) -> list[Verdict]:
    """What the rule set says now of the items that a case asks about. Raises what `decide` raises."""
    typed = case.yard.typed(case.changes)
    assert typed is not None  # it was laid before
    decision = decide(CaseSheet.model_validate(typed[2]), typed[1], ruleset)
    return [
        verdict
        for part, place in case.about
        for verdict in decision.verdicts
        if (verdict.part, verdict.place) == (part, place)
    ]


def _called(kind: str, place: str) -> str:
    return f"{kind} {place}".strip()


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
