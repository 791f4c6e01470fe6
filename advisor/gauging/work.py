"""Whether a piece of work can be done on an item, and its figures, before any rule is asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from advisor.gauging.facing import skim_facts
from advisor.gauging.figures import Figure, Lack, WorkFacts
from advisor.gauging.gauge import Gauged, GaugedDimension, gauge
from advisor.gauging.joints import housing, joint_facts
from advisor.gauging.repair import RepairBand, wall_after
from advisor.sheets.bench import Bench
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Purpose
from advisor.sheets.work import Joint

_TOO_THIN = "too little of the wall would be left"


@dataclass(frozen=True)
class Workshop:
    """Answers for the operations of one bench; each is worked out when it is first asked for."""

    bench: Bench
    sheet: EngineSheet
    ruleset: RuleSet
    gauged: Gauged
    _known: dict[tuple[int, str], WorkFacts] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def feasible(self, item: int, operation: str) -> bool | None:
        """Whether an operation can be done on an item; None where gauging cannot tell."""
        return self.facts(item, operation).feasible

    def band(self, item: int, operation: str) -> RepairBand | None:
        """The repair sizes that an operation comes to; None for one that goes to no listed size."""
        return self._bands.get((item, operation))

    def facts(self, item: int, operation: str) -> WorkFacts:
        """All that is known of an operation on an item, of its kind; both must be words of the rule set."""
        known = self._known.get((item, operation))
        if known is None:
            known = self._known[item, operation] = self._facts(item, operation)
        return known

    @cached_property
    def _bands(self) -> Mapping[tuple[int, str], RepairBand]:
        return {(item, band.operation): band for band in self.gauged.bands for item in band.items}

    def _facts(self, item: int, operation: str) -> WorkFacts:
        facts = WorkFacts(True)
        band = self.band(item, operation)
        if self.ruleset.vocabulary.operations[operation].repair_size:
            facts = WorkFacts(False if band is None else band.possible)
        if band is not None:
            facts = facts.and_(WorkFacts(True, lacks=tuple(Lack(each, band.wall) for each in band.walls)))
        work = self.sheet.parts[self.bench.items[item].key.kind].work.get(operation)
        if work is None:
            return facts
        for dimension, purpose in work.needs.items():
            facts = facts.and_(self._need(item, dimension, purpose))
        if work.joint is not None:
            facts = facts.and_(self._joint(item, work.joint))
        if work.skim is not None and self.sheet.geometry is not None:
            facts = facts.and_(
                skim_facts(item, work.skim, self.bench, self.sheet.geometry, self.ruleset, self._dimension)
            )
        return facts

    def _need(self, item: int, name: str, purpose: Purpose) -> WorkFacts:
        """A dimension that must stand inside its limit before the work is begun."""
        gauged = self._dimension(item, name)
        if gauged is None or gauged.measure is None or gauged.lacks:
            return WorkFacts(None, lacks=(Lack(item, name),))
        outcomes = gauged.standings[purpose].outcomes
        if outcomes == frozenset(("inside",)):
            return WorkFacts(True)
        if "inside" in outcomes:
            return WorkFacts(None, lacks=(Lack(item, name),))
        label = self.ruleset.vocabulary.dimensions[name].label
        return WorkFacts(False, against=(f"{label} is outside its limit for {purpose}",))

    def _joint(self, item: int, joint: Joint) -> WorkFacts:
        if joint.opens_out is None:
            return joint_facts(joint)
        if joint.wall is None:
            return joint_facts(joint).and_(self._fellows(item, joint))
        new = self.sheet.parts[self.bench.items[item].key.kind].new[joint.opens_out].value
        left = wall_after(
            self.bench.items[item], joint.wall, joint.opens_out, new, housing(joint), self.ruleset
        )
        if left is None:
            lacks = [Lack(item, name) for name in (joint.wall.reading, joint.opens_out)]
            read = self.bench.items[item].readings
            missing = tuple(each for each in lacks if each.name not in read or not read[each.name].values)
            return joint_facts(joint).and_(WorkFacts(None, lacks=missing or tuple(lacks)))
        wall = Figure("wall_left", "wall left around the inset", *left, at_least=joint.wall.least.value)
        against = (_TOO_THIN,) if wall.kept is False else ()
        lacks_more = (Lack(item, joint.wall.reading),) if wall.kept is None else ()
        measured = WorkFacts(wall.kept, (wall,), lacks_more, against=against)
        pressed = joint_facts(joint, left[0]) if left[0] > 0 else joint_facts(joint)
        return pressed.and_(measured).and_(self._fellows(item, joint))

    def _fellows(self, item: int, joint: Joint) -> WorkFacts:
        """Whether the others of its set may stay as they are: an inset brings one back by itself."""
        if joint.finish is None or joint.opens_out is None:
            return WorkFacts(True)
        items = self.bench.items
        kind = items[item].key.kind
        others = {
            other
            for groups in self.bench.sets.values()
            for group in groups
            if item in group
            for other in group
            if other != item and items[other].key.kind == kind
        }
        if not others:
            return WorkFacts(True)
        new = self.sheet.parts[kind].new[joint.opens_out].value
        sizes = {items[other].found_size for other in others}
        if None in sizes:
            says = "the size of the others of its set is not known: read it before this one is finished"
        elif sizes == {joint.finish.value - new}:
            says = "it comes back to the size that the others of its set have, so they may stay as they are"
        else:
            says = "the others of its set have another size: bring all to one"
        return WorkFacts(True, says=(says,))

    def _dimension(self, item: int, name: str) -> GaugedDimension | None:
        """A dimension of an item, also of a kind that no rule looks at; None where it has none."""
        known = self.gauged.dimensions[item].get(name)
        if known is None and not self.gauged.dimensions[item]:
            known = self._gauge(self.bench.items[item].key.kind).dimensions[item].get(name)
        return known

    def _gauge(self, kind: str) -> Gauged:
        if kind not in self._more:
            self._more[kind] = gauge(self.bench, self.sheet, self.ruleset, (kind,))
        return self._more[kind]

    @cached_property
    def _more(self) -> dict[str, Gauged]:
        return {}
