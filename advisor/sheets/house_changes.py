"""What a house changes of its base, each change held against what the base has now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final, TypeAlias

from pydantic import ValidationError

from advisor.faults import Fault, nearest
from advisor.sheets.base import FaultError
from advisor.sheets.checker import ERROR_OF, Checker
from advisor.sheets.house_compare import at_least_as_harsh, band_words, direction, limit_words
from advisor.sheets.house_file import (
    DONE,
    Choice,
    Decided,
    HouseFile,
    InstrumentChange,
    LimitChange,
    LimitName,
    Probabilities,
    Retirement,
)
from advisor.sheets.house_record import ChangeKind, HouseChange
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.rule_of_thumb import Change, HouseLimit, LimitSize, RuleOfThumb
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.ruleset_files import Instrument
from advisor.sheets.vocabulary import Cite, Consequence
from advisor.units import Quantity

LimitKey: TypeAlias = tuple[str, str, str, str, str]
"""Part, dimension, purpose, and the bounds of the band: what tells a rule of thumb from the others."""

_DECLARE: Final = "name what the base has now, or drop the entry"


@dataclass
class Edits:
    """Everything that a house changes of its base."""

    retired: dict[str, int] = field(default_factory=dict)
    """By rule: the entry that retires it."""
    followed: dict[str, tuple[str, int]] = field(default_factory=dict)
    """By rule: the alternative, and the entry that chooses it."""
    limits: dict[LimitKey, tuple[HouseLimit, int]] = field(default_factory=dict)
    followed_limits: dict[LimitKey, tuple[HouseLimit, str]] = field(default_factory=dict)
    consequences: dict[str, Consequence] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    changes: list[tuple[HouseChange, Steps]] = field(default_factory=list)
    """Each with the place of its entry."""


def key_of(limit: RuleOfThumb | LimitName) -> LimitKey:
    """What tells a rule of thumb from the others of its rule set."""
    return (limit.part, limit.dimension, limit.purpose, _bound(limit.over), _bound(limit.up_to))


def _bound(size: Quantity | None) -> str:
    return "" if size is None else f"{size.value.normalize():f} {size.dimension}"


def edits_of(house: HouseFile, document: Document, base: RuleSet) -> tuple[Edits, list[Fault]]:
    """The changes of a house, and a fault for each that does not fit the base."""
    reader = _Reader(house, document, base)
    for index, retirement in enumerate(house.retire):
        reader.retire(("retire", index), retirement, index)
    for index, choice in enumerate(house.choose):
        if choice.rule is not None:
            reader.choose_rule(("choose", index), choice, choice.rule, index)
        elif choice.limit is not None:
            reader.choose_limit(("choose", index), choice, choice.limit)
    for index, change in enumerate(house.limits):
        reader.limit(("limits", index), change, index)
    for index, each in enumerate(house.probabilities):
        reader.probabilities(("probabilities", index), each)
    for index, instrument in enumerate(house.instruments):
        reader.instrument(("instruments", index), instrument)
    return reader.edits, reader.found


class _Reader(Checker):
    """Reads the changes of one house."""

    def __init__(self, house: HouseFile, document: Document, base: RuleSet) -> None:
        super().__init__(base, document)
        self.edits = Edits()
        self._rules = {rule.id: rule for rule in base.rules}
        self._limits = {key_of(limit): limit for limit in base.limits}
        self._changed: dict[tuple[str, object], Steps] = {}
        self._base = base.house[-1].name if base.house else base.name

    def retire(self, path: Steps, entry: Retirement, index: int) -> None:
        """A rule that is no longer used."""
        if not self._known((*path, "rule"), entry.rule, self._rules, "rule") or not self._first(
            (*path, "rule"), "rule", entry.rule, entry.rule
        ):
            return
        rule = self._rules[entry.rule]
        self.edits.retired[entry.rule] = index
        does = rule.then
        looser = bool(does.bar or does.require or does.concern)
        self._note(path, entry, "rule retired", rule.id, f"rule {rule.id} retired", rule.for_, looser)

    def choose_rule(self, path: Steps, entry: Choice, name: str, index: int) -> None:
        """A rule in which the house follows another source."""
        if not self._known((*path, "rule"), name, self._rules, "rule") or not self._first(
            (*path, "rule"), "rule", name, name
        ):
            return
        rule = self._rules[name]
        if not self._offered((*path, "follow"), entry.follow, rule.alternatives, f"rule {name}"):
            return
        other = rule.following(entry.follow)
        if (other.when, other.then) == (rule.when, rule.then):
            self._same(path, f"rule {name} says that already")
            return
        self.edits.followed[name] = entry.follow, index
        says = f"rule {name} follows {self._sources(other.cite)} ({entry.follow.replace('_', ' ')})"
        milder = not at_least_as_harsh(other, rule)
        if milder:
            says += ", which may be the milder of the two"
        self._note(path, entry, "alternative followed", name, says, rule.for_, milder)

    def choose_limit(self, path: Steps, entry: Choice, named: LimitName) -> None:
        """A limit for which the house follows another source."""
        old = self._limit((*path, "limit"), named)
        if old is None:
            return
        about = f"the limit for {old.purpose} of {old.dimension}"
        if not self._offered((*path, "follow"), entry.follow, old.alternatives, about):
            return
        other = old.alternatives[entry.follow]
        wanted = old.model_copy(update={"at_most": other.at_most, "at_least": other.at_least})
        way = direction(wanted, old)
        if way == "none":
            self._same((*path, "follow"), f"the base's limit is {limit_words(old)} already")
            return
        limit = _house_limit(
            old, entry, way, other.at_most, other.at_least, cite=other.cite, because=other.because
        )
        self.edits.followed_limits[key_of(old)] = limit, entry.follow
        self._note_limit(path, entry, old, limit, f", after {self._sources(other.cite)}")

    def limit(self, path: Steps, entry: LimitChange, index: int) -> None:
        """A limit that is tightened, loosened or exchanged."""
        old = self._limit(path, entry)
        if old is None:
            return
        sides = entry.sides
        at_most = sides.at_most if sides.at_most is not None else old.at_most
        at_least = sides.at_least if sides.at_least is not None else old.at_least
        wanted = old.model_copy(update={"at_most": at_most, "at_least": at_least})
        way = direction(wanted, old)
        if way == "none":
            self._same((*path, entry.change), f"the base's limit is {limit_words(old)} already")
            return
        if way != entry.change:
            says = "nobody can tell without the engine which of the two is the tighter"
            self.fault(
                (*path, entry.change),
                "house-direction",
                f"{limit_words(wanted)} is to {entry.change} {limit_words(old)}, and "
                + (says if way == "exchange" else _WAY[way]),
                f"{way}: ..."
                + ("" if entry.change == "exchange" else f", or a limit that does {entry.change} it"),
                "write it in the same terms as the base, or under exchange, which counts as loosened"
                if way == "exchange"
                else f"if it is meant, write it under {way}",
            )
            return
        cite = [*entry.cite, *old.cite]
        limit = _house_limit(old, entry, way, at_most, at_least, cite=cite, because=old.because)
        self.edits.limits[key_of(old)] = limit, index
        self._note_limit(path, entry, old, limit, "")

    def probabilities(self, path: Steps, entry: Probabilities) -> None:
        """How sure one must be, for a class of consequence."""
        name, vocabulary = entry.consequence, self.whole.vocabulary
        if not self._known((*path, "consequence"), name, vocabulary.consequences, "consequence"):
            return
        if not self._first((*path, "consequence"), "consequence", name, name):
            return
        old = vocabulary.consequences[name]
        inside = entry.inside if entry.inside is not None else old.inside
        outside = entry.outside if entry.outside is not None else old.outside
        if (inside, outside) == (old.inside, old.outside):
            self._same(path, f"{name} has these probabilities already")
            return
        try:
            new = Consequence(
                label=old.label, inside=inside, outside=outside, guard_discard=old.guard_discard
            )
        except ValidationError as error:
            for each in error.errors():
                wrong = each.get("ctx", {}).get("error")
                if isinstance(wrong, FaultError):
                    self.found.append(wrong.at(self.document.positions[path]))
            return
        self.edits.consequences[name] = new
        told = [
            f"counts as {word} at a probability of {now:f}, not {was:f}"
            for word, now, was in (("inside", inside, old.inside), ("outside", outside, old.outside))
            if now != was
        ]
        says = f"{name.replace('_', ' ')}: a size {' and '.join(told)}"
        looser = inside < old.inside or outside < old.outside
        self._note(path, entry, "probabilities changed", name, says, "", looser, new)

    def instrument(self, path: Steps, entry: InstrumentChange) -> None:
        """An instrument with the error that its certificate gives."""
        name, instruments = entry.instrument, self.whole.instruments
        if not self._known((*path, "instrument"), name, instruments, "instrument"):
            return
        if not self._first((*path, "instrument"), "instrument", name, name):
            return
        old = instruments[name]
        wanted = ERROR_OF.get(old.measures, old.measures)
        if not self.of_dimension((*path, "limit"), entry.limit, wanted):
            return
        if entry.limit.value <= 0:
            self.fault(
                (*path, "limit"),
                "house-no-error",
                f"{entry.limit.text} would make {name} an instrument that never errs",
                "the greatest error by the certificate, more than nothing",
                "write the figure of the certificate",
            )
            return
        if entry.limit.value == old.limit.value:
            self._same((*path, "limit"), f"the limit of error of {name} is {old.limit.text} already")
            return
        self.edits.instruments[name] = old.model_copy(update={"limit": entry.limit})
        says = f"limit of error of the {old.label}: {entry.limit.text} and not {old.limit.text}"
        because = f"certificate {entry.certificate}"
        change = HouseChange("instrument changed", name, "", says, entry.by, entry.on, because)
        self.edits.changes.append((change, path))

    def _limit(self, path: Steps, named: LimitName) -> RuleOfThumb | None:
        """The rule of thumb that is meant, if the base has it and nothing has changed it."""
        vocabulary = self.whole.vocabulary
        if not self._known((*path, "part"), named.part, vocabulary.kinds, "kind of part"):
            return None
        if not self.dimension((*path, "dimension"), named.dimension, named.part):
            return None
        about = f"{named.dimension} of {named.part} for {named.purpose}"
        alike = [
            limit
            for limit in self._limits.values()
            if (limit.part, limit.dimension, limit.purpose) == (named.part, named.dimension, named.purpose)
        ]
        if not alike:
            there = [
                f"{limit.dimension} for {limit.purpose}"
                for limit in self._limits.values()
                if limit.part == named.part
            ]
            close = nearest(f"{named.dimension} for {named.purpose}", there)
            self.fault(
                (*path, "dimension"),
                "house-no-limit",
                f"no rule of thumb of the base limits {about}",
                f"of {named.part}, one of {', '.join(dict.fromkeys(there))}"
                if there
                else f"a part for which the base has rules of thumb; it has none for {named.part}",
                f'did you mean "{close}"?'
                if close
                else "a limit of your own goes under limits of a rule file that you add",
            )
            return None
        asked = named.over is not None or named.up_to is not None
        meant = [limit for limit in alike if not asked or key_of(limit) == key_of(named)]
        if len(meant) != 1:
            bands = [f"{band_words(limit.over, limit.up_to) or 'all sizes'}" for limit in alike]
            self.fault(
                (*path, "over" if named.over is not None else "up_to" if asked else "part"),
                "house-which-limit",
                f"the base has {'no such band' if asked else 'several limits'} for {about}",
                f"over and up_to as in the base: {'; '.join(bands)}",
                "name the band that is meant; for all of them, write an entry for each",
            )
            return None
        said = self._first(path, "limit", key_of(meant[0]), f"the limit of {about}")
        return meant[0] if said else None

    def _known(self, path: Steps, word: str, valid: Iterable[str], noun: str) -> bool:
        """Whether the base has what is to be changed."""
        words = valid if isinstance(valid, dict) else dict.fromkeys(valid)
        return self.word(path, word, words, f"{noun} of {self._base}", declare=_DECLARE)

    def _first(self, path: Steps, sort: str, key: object, says: str) -> bool:
        """Whether nothing here has changed it before."""
        before = self._changed.setdefault((sort, key), path)
        if before == path:
            return True
        self.fault(
            path,
            "house-twice",
            f"{says} is changed a second time",
            "one entry for each thing that the house changes",
            f"see {self.document.positions[before]}; put the two together, or drop one",
        )
        return False

    def _same(self, path: Steps, what: str) -> None:
        self.fault(
            path,
            "house-no-change",
            f"nothing is changed: {what}",
            "something other than what the base says",
            "drop the entry, or correct the figure that slipped",
        )

    def _offered(self, path: Steps, name: str, offered: Iterable[str], about: str) -> bool:
        if not list(offered):
            self.fault(
                path,
                "house-nothing-to-choose",
                f"{about} carries no alternatives",
                "a rule or limit of the base that has alternatives",
                "change the limit under limits, or retire the rule and add one of your own",
            )
            return False
        return self.word(path, name, list(offered), f"alternative of {about}", declare=_DECLARE)

    def _sources(self, cites: Sequence[Cite]) -> str:
        titles = (
            self.whole.sources[cite.source].title if cite.source in self.whole.sources else cite.source
            for cite in cites
        )
        return "; ".join(dict.fromkeys(titles))

    def _note(
        self,
        path: Steps,
        entry: Decided,
        kind: ChangeKind,
        subject: str,
        says: str,
        part: str,
        looser: bool,
        consequence: Consequence | None = None,
    ) -> None:
        vocabulary = self.whole.vocabulary
        if part in vocabulary.kinds:
            consequence = vocabulary.consequences.get(vocabulary.kinds[part].consequence)
        grave = looser and consequence is not None and consequence.guard_discard
        harm = consequence.label if looser and consequence is not None else ""
        change = HouseChange(
            kind, subject, part, says, entry.by, entry.on, entry.because, looser, harm, grave
        )
        self.edits.changes.append((change, path))

    def _note_limit(self, path: Steps, entry: Decided, old: RuleOfThumb, new: HouseLimit, more: str) -> None:
        vocabulary = self.whole.vocabulary
        band = band_words(old.over, old.up_to)
        name = vocabulary.dimensions[old.dimension].label
        part = vocabulary.kinds[old.part].label.partition(" (")[0]
        size = (old.band or "").replace("_", " ")
        says = (
            f"limit for {old.purpose} of {name} on {part}"
            + (f" ({size} {band})" if band else "")
            + f" {DONE[new.change]} from {limit_words(old)} to {limit_words(new)}{more}"
            + (", and which of the two is the looser hangs on the engine" if new.change == "exchange" else "")
        )
        subject = " ".join(filter(None, (old.part, old.dimension, old.purpose, band)))
        self._note(path, entry, "limit changed", subject, says, old.part, new.change != "tighten")


_WAY: Final = {"tighten": "it is the tighter of the two", "loosen": "it is the looser of the two"}


def _house_limit(
    old: RuleOfThumb,
    entry: Decided,
    change: Change,
    at_most: LimitSize | None,
    at_least: LimitSize | None,
    *,
    cite: Sequence[Cite],
    because: str,
) -> HouseLimit:
    """`old` with other sides, and who wanted them."""
    told = {
        **{name: getattr(old, name) for name in RuleOfThumb.model_fields},
        "at_most": at_most,
        "at_least": at_least,
        "cite": list(cite),
        "because": because,
        "change": change,
        "instead_of": old,
        "by": entry.by,
        "on": entry.on,
        "why": entry.because,
    }
    return HouseLimit.model_construct(None, **told)


def rules_after(base: RuleSet, edits: Edits) -> list[RuleText]:
    """The rules of a base, without those that the house retires, and as it follows them."""
    return [
        rule.following(edits.followed[rule.id][0]) if rule.id in edits.followed else rule
        for rule in base.rules
        if rule.id not in edits.retired
    ]
