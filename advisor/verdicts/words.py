"""Evidence told in words: each leaf that a rule used, with its value, its limit and where it was written."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from typing import Final

from advisor.gauging import Gauged, GaugedDimension, ResolvedLimit
from advisor.gauging.errors import budget_of
from advisor.gauging.measure import Measure
from advisor.gauging.spread import coverage, share_of
from advisor.sheets.bench import Bench
from advisor.sheets.conditions import (
    Absent,
    EvidenceIs,
    Found,
    HasConcern,
    HasProperty,
    Leaf,
    Origin,
    Related,
    Stands,
)
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Cite, Purpose
from advisor.units import System, show, show_both
from advisor.verdicts.model import Citation, EvidenceKind, EvidenceLine


def plain(word: str) -> str:
    """A name as it is said: underscores are spaces."""
    return word.replace("_", " ")


def short_label(label: str) -> str:
    """The label of a kind of part as it is said in passing: without what stands in brackets after it."""
    return label.partition(" (")[0]


FRESH: Final = "; held to the limit for new, being fresh"
"""What is added to a limit that stands in for the one for discard."""


class Teller:
    """Puts facts of one case into words."""

    def __init__(
        self, bench: Bench, gauged: Gauged, sheet: EngineSheet, ruleset: RuleSet, *, both: bool = False
    ) -> None:
        """`both` shows sizes in both systems of units, the engine sheet's own first."""
        self._show = show_both if both else show
        self._bench = bench
        self._gauged = gauged
        self._system = sheet.units
        self._ruleset = ruleset
        self._cites: dict[int, Citation] = {}
        self._shown: dict[tuple[Decimal, str], str] = {}
        self._lines: dict[tuple[Leaf | Absent, int, bool], EvidenceLine] = {}
        self._evidence: dict[tuple[str, int, bool], EvidenceLine] = {}

    def cites(self, cites: Iterable[Cite]) -> tuple[Citation, ...]:
        """Citations with the title and strength of their source."""
        return tuple(self._cite(cite) for cite in cites)

    def _cite(self, cite: Cite) -> Citation:
        # By identity: the rule set holds its citations as long as this lives, and they are costly to hash.
        known = self._cites.get(id(cite))
        if known is None:
            entry = self._ruleset.sources[cite.source]
            known = self._cites[id(cite)] = Citation(
                cite.source, cite.where, entry.title, entry.tier, cite.row
            )
        return known

    def size(self, value: Decimal, quantity: str) -> str:
        """A size as it is shown, in the engine sheet's own units."""
        shown = self._shown.get((value, quantity))
        if shown is None:
            shown = self._shown[value, quantity] = self._show(value, quantity, system=self._system)
        return shown

    def spread(self, u: Decimal, quantity: str, *, at_most: bool = False, share: Decimal = Decimal(0)) -> str:
        """What stands after ± at 95 % for a standard uncertainty; empty for none.

        Two figures in the base unit: up where something has it, down (`at_most`) where it may not be more.
        `share` is that of the largest rectangular source, which has no tails.
        """
        if not u:
            return ""
        return self.size(expanded(u, at_most=at_most, share=share), difference_of(quantity))

    def uncertainty(self, measure: Measure, quantity: str) -> str:
        """What stands after ± at 95 % for a measure: wider where it rests on few repeated readings."""
        if any(part.freedom is not None for term in measure.terms for part in term.parts):
            wide = budget_of(measure, "", "").expanded().uncertainty
            return self.size(_UP.plus(wide), difference_of(quantity)) if wide else ""
        return self.spread(measure.variance.sqrt(), quantity, share=share_of(measure))

    def line(self, fact: Leaf | Absent, item: int, *, certain: bool) -> EvidenceLine:
        """One fact about one item."""
        line = self._lines.get((fact, item, certain))
        if line is None:
            line = self._lines[fact, item, certain] = self._line(fact, item, certain)
        return line

    def _line(self, fact: Leaf | Absent, item: int, certain: bool) -> EvidenceLine:
        vocabulary = self._ruleset.vocabulary
        match fact:
            case Found(finding=name):
                return self._finding(name, item, certain)
            case Stands(dimension, purpose, _):
                return self._dimension(dimension, purpose, item, certain)
            case HasConcern(concern):
                says = vocabulary.concerns[concern].label
                return self._told("concern", concern, item, says, certain)
            case Absent(of):
                name = of.concern if isinstance(of, HasConcern) else _concern(of)
                says = f"no sign of {vocabulary.concerns[name].label}"
                if isinstance(of, Related):
                    says += f" on the {vocabulary.kinds[of.kind].label} it belongs with"
                return self._told("absence", name, item, says, certain)
            case HasProperty(name, value):
                says = f"{plain(name)}: {plain(value)}" + (
                    "" if certain else ", or so it may be: the sheet does not say"
                )
                return self._told("property", name, item, says, certain)
            case Origin(origin):
                return self._told("origin", origin, item, origin, certain)
            case EvidenceIs(name, _, state):
                label = self.label(name)
                return self._told("missing", name, item, f"{label}: {state}", certain)
        return self._told("place", "place", item, "its place is not known", certain)

    def label(self, name: str) -> str:
        """A finding or dimension as it is said."""
        vocabulary = self._ruleset.vocabulary
        if name in vocabulary.findings:
            return vocabulary.findings[name].label
        return vocabulary.dimensions[name].label

    def evidence(self, name: str, item: int, *, certain: bool) -> EvidenceLine:
        """What is known of one finding, or of one dimension against its discard limit."""
        key = (name, item, certain)
        line = self._evidence.get(key)
        if line is None:
            if name in self._ruleset.vocabulary.findings:
                line = self._finding(name, item, certain)
            else:
                line = self._dimension(name, "discard", item, certain)
            self._evidence[key] = line
        return line

    def _finding(self, name: str, item: int, certain: bool) -> EvidenceLine:
        bench_item = self._bench.items[item]
        finding = self._ruleset.vocabulary.findings[name]
        seen = bench_item.findings.get(name)
        if seen is None or seen.extent is None:
            state = seen.state if seen is not None else "not looked at"
            return self._told("missing", name, item, f"{finding.label}: {state}", certain)
        says = f"{finding.label}: {plain(seen.extent)}"
        if seen.extent == "none":
            says = f"{finding.label}: looked for, none"
        at = str(seen.at) if seen.at is not None else ""
        return self._told("finding", name, item, says, certain, value=seen.extent, moment=seen.moment, at=at)

    def _dimension(self, name: str, purpose: str, item: int, certain: bool) -> EvidenceLine:
        dimension = self._ruleset.vocabulary.dimensions[name]
        gauged = self._gauged.dimensions[item].get(name)
        if gauged is None or gauged.measure is None:
            state = gauged.state if gauged is not None and gauged.state else "not looked at"
            lacks = f" (wants {gauged.lacks})" if gauged is not None and gauged.lacks else ""
            says = f"{dimension.label}: {'not measured' if state == 'not looked at' else state}{lacks}"
            if gauged is not None and gauged.impossible is not None:
                read = self.size(gauged.impossible.value, dimension.quantity)
                says = f"{dimension.label}: {read} as it was read, which cannot be right{lacks}"
            return self._told("missing", name, item, says, certain)
        value = self.size(gauged.measure.value, dimension.quantity)
        if gauged.measure.may_grow:
            value = f"at {'least' if gauged.measure.may_grow == 'up' else 'most'} {value}"
        standing = gauged.standings.get(_purpose(purpose))
        if standing is None or standing.limit is None:
            says = f"{dimension.label} {value}"
            if not dimension.optional:
                says += f", and no limit for {purpose} is given"
            return self._told("dimension", name, item, says, certain, value=value)
        limit = self.limit(standing.limit, dimension.quantity)
        says = f"{dimension.label} {value}, {_stands(standing.outcomes, limit, standing.limit.purpose)}"
        if gauged.lacks and len(standing.outcomes) > 1:
            says = f"{dimension.label} {value} so far, against {limit}; wants {gauged.lacks}"
        return self._told(
            "dimension",
            name,
            item,
            says,
            certain,
            value=value,
            limit=limit,
            margin=self.margin(gauged, standing.limit, dimension.quantity),
            limit_from=self.limit_from(standing.limit) + self._by_house(standing.limit, dimension.quantity),
        )

    def _told(
        self, kind: EvidenceKind, name: str, item: int, says: str, certain: bool, **more: str
    ) -> EvidenceLine:
        """A line about an item, with what names the item."""
        key = self._bench.items[item].key
        label = self._ruleset.vocabulary.kinds[key.kind].label
        return EvidenceLine(
            kind, name, key.kind, key.where, says, certain, item=item, tag=key.tag, label=label, **more
        )

    def limit(self, limit: ResolvedLimit, quantity: str) -> str:
        """A limit in words."""
        if limit.at_least is not None and limit.at_most is not None:
            return f"{self.size(limit.at_least, quantity)} to {self.size(limit.at_most, quantity)}"
        if limit.at_most is not None:
            return f"at most {self.size(limit.at_most, quantity)}"
        assert limit.at_least is not None
        return f"at least {self.size(limit.at_least, quantity)}"

    def limit_from(self, limit: ResolvedLimit) -> str:
        """Where a limit comes from."""
        fresh = FRESH if limit.fresh else ""
        if not limit.rule_of_thumb:
            return "the engine sheet" + (f", {limit.read_at}" if limit.read_at else "") + fresh
        cite = self._cite(limit.cites[0])
        return (
            f"a rule of thumb ({cite.title}{', ' + cite.at if cite.at else ''}); the maker's manual governs"
            f"{fresh}"
        )

    def _by_house(self, limit: ResolvedLimit, quantity: str) -> str:
        """What the house did to a limit, from what to what, with whose name and reason; empty for nothing."""
        if limit.house is None:
            return ""
        done = {"tighten": "tightened", "loosen": "loosened", "exchange": "exchanged"}[limit.house.change]
        was, now = self.limit(limit.house.was, quantity), self.limit(limit, quantity)
        return (
            f"; house rule: {done} from {was} to {now} by {limit.house.by} on {limit.house.on}: "
            f"{limit.house.because.rstrip('.')}"
        )

    def margin(self, gauged: GaugedDimension, limit: ResolvedLimit, quantity: str) -> str:
        """How far a size lies from a limit, and on which side."""
        assert gauged.measure is not None
        margins = []
        if limit.at_most is not None:
            margins.append(limit.at_most - gauged.measure.value)
        if limit.at_least is not None:
            margins.append(gauged.measure.value - limit.at_least)
        least = min(margins)
        return f"{self.size(abs(least), quantity)} {'to spare' if least >= 0 else 'too far'}"


_UP: Final = Context(prec=2, rounding=ROUND_CEILING)
_DOWN: Final = Context(prec=2, rounding=ROUND_FLOOR)
_DIFFERENCE: Final = {"temperature": "temperature_difference"}
"""What the difference of two sizes of a quantity is, where that is another one."""


def expanded(u: Decimal, *, at_most: bool = False, share: Decimal = Decimal(0)) -> Decimal:
    """What stands after ± at 95 % for a standard uncertainty: rounded as `Teller.spread` says."""
    return (_DOWN if at_most else _UP).multiply(u, coverage(share))


def difference_of(quantity: str) -> str:
    """What the difference of two sizes of a quantity is."""
    return _DIFFERENCE.get(quantity, quantity)


def spread_words(
    u: Decimal, quantity: str, system: System, *, at_most: bool = False, share: Decimal = Decimal(0)
) -> str:
    """`Teller.spread` where there is no case, in one system of units."""
    if not u:
        return ""
    return show(expanded(u, at_most=at_most, share=share), difference_of(quantity), system=system)


def _stands(outcomes: frozenset[str], limit: str, purpose: str) -> str:
    """Where a size stands against the limit for a purpose, as one says it."""
    named = f"the limit for {purpose} ({limit})"
    if len(outcomes) > 1:
        return f"too close to {named} to tell" if "inside" in outcomes else f"outside {named}"
    (outcome,) = outcomes
    return f"{outcome} {named}"


def _purpose(purpose: str) -> Purpose:
    return purpose  # type: ignore[return-value]  # the rule models hold it to the three purposes


def _concern(of: Related) -> str:
    assert isinstance(of.leaf, HasConcern)
    return of.leaf.concern
