"""Parts that cannot be renewed by themselves: the whole stands or falls with what is one piece with it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from advisor.sheets.bench import Bench
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.answers import Barred
from advisor.verdicts.model import Citation, Ground, Reason, Verdict
from advisor.verdicts.words import short_label

_GROUND: Mapping[Ground, str] = {
    "condemned": "is condemned",
    "safe side": "is to be replaced on the safe side",
    "routine": "is renewed as a matter of course",
}


def named(verdict: Verdict) -> str:
    """An item as it is said in passing: its kind, its place and its tag."""
    tag = f" (tag {verdict.tag})" if verdict.tag else ""
    return f"{short_label(verdict.label)} {verdict.place}".strip() + tag


@dataclass(frozen=True, slots=True)
class Piece:
    """A part that is one piece with a whole; `sure` is False where nobody knows to which whole it belongs."""

    item: int
    sure: bool


def pieces(bench: Bench, ruleset: RuleSet) -> dict[int, tuple[Piece, ...]]:
    """By whole: the parts that are one piece with it, in the order of the bench."""
    found: dict[int, dict[int, bool]] = defaultdict(dict)
    for name, relation in ruleset.vocabulary.relations.items():
        kinds = {(link.of, link.to) for link in relation.links if link.integral}
        if not kinds:
            continue
        unsure = bench.unsure.get(name, frozenset())
        for item, linked in bench.links.get(name, {}).items():
            for whole in linked:
                if (bench.items[item].key.kind, bench.items[whole].key.kind) in kinds:
                    sure = (item, whole) not in unsure
                    found[whole][item] = sure or found[whole].get(item, False)
    return {
        whole: tuple(Piece(item, sure) for item, sure in sorted(each.items()))
        for whole, each in found.items()
    }


@dataclass(frozen=True, slots=True)
class PartBar:
    """What a part's verdict rules out for its whole."""

    barred: Barred
    part: Verdict

    @property
    def ground(self) -> Ground:
        """The whole is given up for what its part is."""
        return self.part.ground


def part_bars(judged: Sequence[tuple[Piece, Verdict]]) -> Iterator[PartBar]:
    """A bar on reuse and recondition for each part that is to be replaced, or still may have to be."""
    for piece, part in judged:
        if "replace" in part.possible:
            certain = piece.sure and part.verdict == "replace"
            yield PartBar(Barred(frozenset(("reuse", "recondition")), (), certain), part)


def part_reason(bar: PartBar) -> Reason:
    """Why a part condemns its whole: the part, its own reasons, and where they were read."""
    part = bar.part
    says = f"{named(part)} {_GROUND[part.ground]} and cannot be renewed by itself"
    because = dict.fromkeys(reason.because for reason in part.reasons)
    told = " ".join(f"{each[:1].upper()}{each[1:].rstrip('.')}." for each in (says, *because))
    cites: dict[Citation, None] = {}
    for reason in part.reasons:
        cites.update(dict.fromkeys(reason.cites))
    evidence = tuple(dict.fromkeys(line for reason in part.reasons for line in reason.evidence))
    at = next((reason.at for reason in part.reasons), "")
    return Reason("", told, tuple(cites), evidence, at, "part")


def open_note(bars: Sequence[PartBar]) -> Iterator[str]:
    """Which parts may still have to be replaced, and so leave their whole open."""
    some = [bar.part for bar in bars if not bar.barred.certain]
    if some:
        told = [named(part) + ("" if part.opened else " (not opened)") for part in some]
        yield f"one piece with it, and may yet have to be replaced: {', '.join(told)}"


def unspoken_note(parts: Sequence[Verdict]) -> Iterator[str]:
    """Which parts of it were not judged, since no rule speaks of them."""
    if parts:
        yield f"one piece with it, and not judged: {', '.join(map(named, parts))}"
