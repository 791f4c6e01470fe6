"""What a new part, finding, rule or other entry looks like at first: sound, and with remarks that teach.

Each is made of the words that the rule set has already, so that it can be read at once; what is the author's
to say is written as a sentence that says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from advisor.faults import Fault, Faults
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import MOMENTS, OPERATORS, PURPOSES
from advisor.units import DIMENSIONS

MOST_OFFERED: Final = 12
"""Words listed in a remark."""


@dataclass(frozen=True, slots=True)
class Sort:
    """A sort of entry: the section it stands in, and how it is written."""

    section: str
    noun: str
    teaches: str
    lines: Callable[[RuleSet, str, str], list[str]]
    for_kind: bool = False
    """Whether it is for one kind of part, which has to be named."""
    item: bool = False
    """Whether it is one of a list."""


def _lacks(what: str, mend: str) -> Faults:
    return Faults([Fault("nothing-to-build-on", what, mend=mend)])


def _words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")


def _one_of(words: Iterable[str]) -> str:
    listed = list(words)
    more = f" and {len(listed) - MOST_OFFERED} more" if len(listed) > MOST_OFFERED else ""
    return ", ".join(listed[:MOST_OFFERED]) + more


def _source(rules: RuleSet) -> str:
    """A source to cite until somebody has read a better one: the weakest, so that nothing is claimed."""
    if not rules.sources:
        raise _lacks("the rule set has no source to cite", "add one first: advisor rules new source")
    from_memory = [key for key, entry in rules.sources.items() if entry.tier == "memory"]
    return (from_memory or list(rules.sources))[0]


def _part(rules: RuleSet, name: str, _: str) -> list[str]:
    vocabulary = rules.vocabulary
    if not vocabulary.consequences:
        raise _lacks("the rule set has no consequences", "declare one under consequences: first")
    assembly = next((kind.assembly for kind in vocabulary.kinds.values()), "to be sorted")
    axes = _one_of(vocabulary.axes) or "none is declared yet"
    return [
        f"{name}:",
        f"  label: {_words(name)}",
        "  # The heading under which it is shown.",
        f"  assembly: {assembly}",
        "  # Where there are several, the axes by which their places are counted; left out, there is one.",
        f"  # axes: [...]  # of: {axes}",
        "  # What may be done with it; replace is always one of them.",
        "  answers: [reuse, replace]",
        f"  # What a wrong reuse does, one of: {_one_of(vocabulary.consequences)}",
        f"  consequence: {next(iter(vocabulary.consequences))}",
        "  # Then: a finding or a reading for it, and a rule. Until a rule speaks of it, it is not judged.",
    ]


def _finding(_: RuleSet, name: str, kind: str) -> list[str]:
    return [
        f"{name}:",
        f"  label: {_words(name)}",
        f"  kinds: [{kind}]",
        "  look: Say how to look for it, in which light and with what, so that two people see the same.",
        f"  # When it is seen: {', '.join(MOMENTS)}; left out, clean.",
        "  # moment: strip",
        "  # What the wash takes away is marked so; whoever washes first then has to write `lost`.",
        "  # destroyed_by_cleaning: true",
        "  # From none to the worst, each told as what one does or sees, such as: the nail catches.",
        "  extents:",
        "    none: looked for, and not there",
        "    slight: say what is seen or felt where it is slight",
        "    bad: say what is seen or felt where it is bad",
    ]


def _reading(rules: RuleSet, name: str, kind: str) -> list[str]:
    able = [key for key, each in rules.instruments.items() if each.measures == "length"]
    if not able:
        raise _lacks(
            "the rule set has no instrument that measures a length",
            "add one first: advisor rules new instrument",
        )
    return [
        f"{name}:",
        f"  label: {_words(name)}",
        f"  kinds: [{kind}]",
        "  quantity: length",
        "  # Where along the part, and across which direction; left out, it is one value.",
        "  # sections: [front, rear]",
        "  # directions: [upright, across]",
        "  condition: Clean and dry, at room temperature.",
        "  how: Say how it is taken, and where on the part.",
        f"  # With what, of: {_one_of(able)}",
        f"  instruments: [{able[0]}]",
        "  # Then: a dimension that is worked out of it, since limits are held against dimensions.",
    ]


def _dimension(rules: RuleSet, name: str, kind: str) -> list[str]:
    read = {key: each for key, each in rules.vocabulary.readings.items() if kind in each.kinds}
    if not read:
        raise _lacks(
            f"nothing is measured on {kind} yet",
            f"add a reading first: advisor rules new reading ... --for {kind}",
        )
    reading = next(iter(read))
    return [
        f"{name}:",
        f"  label: {_words(name)}",
        f"  kinds: [{kind}]",
        f"  quantity: {read[reading].quantity}",
        f"  # The first whose readings are there is used. Operators: {', '.join(OPERATORS[:6])},",
        f"  # {', '.join(OPERATORS[6:])}.",
        f"  # Readings of {kind}: {_one_of(read)}",
        "  formulas:",
        f"    - {{operator: largest, reading: {reading}}}",
        "  # Then: limits for it on the engine sheet, and a rule.",
    ]


def _operation(rules: RuleSet, name: str, kind: str) -> list[str]:
    read = [key for key, each in rules.vocabulary.readings.items() if kind in each.kinds]
    return [
        f"{name}:",
        f"  label: {_words(name)}",
        f"  kinds: [{kind}]",
        "  done_by: workshop",
        "  # Readings and findings that no longer count once it is done.",
        f"  # voids: [...]  # readings of it: {_one_of(read) or 'none yet'}",
        "  # What the order must say, and what to check when it comes back.",
        "  # steps: [...]",
        "  # checks: [...]",
        f"  # Cautions shown before it, of: {_one_of(rules.cautions) or 'none yet'}",
        "  # cautions: [...]",
        "  because: Say why this makes the part fit for use again.",
        f"  cite: [{{source: {_source(rules)}}}]",
        f"  # Then: name it under mend in a bar; and {kind} needs recondition among its answers.",
    ]


def _concern(_: RuleSet, name: str, __: str) -> list[str]:
    return [
        "# A fact that one rule concludes (then: concern) and another asks for (when: concern).",
        f"{name}:",
        f"  label: {_words(name)}",
        "  # A cause of failure is listed until somebody has found it, ruled it out or accepted it by name.",
        "  # cause: true",
    ]


def _task(rules: RuleSet, name: str, _: str) -> list[str]:
    return [
        "# Work that changes neither size nor form nor hardness: dress, clean, mark, hold.",
        f"{name}:",
        f"  label: {_words(name)}",
        f"  # Of: {_one_of(rules.cautions) or 'none yet'}",
        "  # cautions: [...]",
    ]


def _rule(rules: RuleSet, name: str, kind: str) -> list[str]:
    """A rule on the worst extent of the kind's first finding, or else on its first dimension."""
    vocabulary = rules.vocabulary
    if "reuse" not in vocabulary.kinds[kind].answers:
        raise _lacks(f"{kind} has no answer that a rule could rule out", "give it reuse among its answers")
    seen = {key: each for key, each in vocabulary.findings.items() if kind in each.kinds}
    sizes = {key: each for key, each in vocabulary.dimensions.items() if kind in each.kinds}
    if seen:
        finding = next(iter(seen))
        extents = list(seen[finding].extents)
        when = f"{{finding: {finding}, at_least: {extents[-1]}}}"
        fires, holds = f"{{{finding}: {extents[-1]}}}", f"{{{finding}: {extents[-2]}}}"
    elif sizes:
        dimension = next(iter(sizes))
        when = f"{{dimension: {dimension}, against: discard, standing: outside}}"
        fires, holds = f"{{{dimension}: above discard}}", f"{{{dimension}: inside discard}}"
    else:
        raise _lacks(
            f"nothing can be seen or measured on {kind} yet",
            f"add a finding first: advisor rules new finding ... --for {kind}",
        )
    return [
        f"id: {name}",
        f"for: {kind}",
        f"# Findings of {kind}: {_one_of(seen) or 'none'}; dimensions: {_one_of(sizes) or 'none'}.",
        "# Several at once: all: [...], any: [...]. On another part: some: {relation: kind}.",
        f"when: {when}",
        "then:",
        "  # bar rules an answer out; mend beside it names work that takes the reason away.",
        "  # Others: require (evidence), concern (a fact for other rules), task (work that goes with it).",
        "  bar: {answers: reuse}",
        "because: Say why, as one would say it to a mechanic.",
        f"# Where it was read, of: {_one_of(rules.sources)}",
        f"cite: [{{source: {_source(rules)}}}]",
        f"# Cautions of its own, of: {_one_of(rules.cautions) or 'none yet'}",
        "# cautions: [...]",
        "examples:",
        "  # What an example leaves out was looked for and is not there.",
        f"  fires: [{fires}]",
        "  # The case that almost makes it fire is the one worth writing down.",
        f"  holds: [{holds}, {{}}]",
    ]


def _limit(rules: RuleSet, name: str, kind: str) -> list[str]:
    dimension = rules.vocabulary.dimensions.get(name)
    own = [key for key, each in rules.vocabulary.dimensions.items() if kind in each.kinds]
    if dimension is None or kind not in dimension.kinds:
        raise _lacks(
            f"{name} is no dimension of {kind}",
            f"name one of {_one_of(own)}" if own else "add one first: advisor rules new dimension",
        )
    unit = "mm" if dimension.quantity == "length" else next(iter(DIMENSIONS[dimension.quantity].offer), "")
    taken = {each.purpose for each in rules.limits if (each.part, each.dimension) == (kind, name)}
    free = [purpose for purpose in reversed(PURPOSES) if purpose not in taken]
    if not free:
        raise _lacks(
            f"the rule set has a limit of {name} on {kind} for every purpose",
            "change the one that is there",
        )
    return [
        f"part: {kind}",
        "# A published limit that serves where the engine sheet has none, and says so in every answer.",
        f"dimension: {name}",
        f"# What it is for: {', '.join(PURPOSES)}.",
        f"purpose: {free[0]}",
        "# A fixed size; or {from: new, times: 2}; or {ratio: 0.001, size: a size of it when new}; or a sum.",
        f"at_most: {{plus: 0.10 {unit}}}",
        f"cite: [{{source: {_source(rules)}}}]",
        "because: Say what to know about it.",
    ]


def _source_entry(_: RuleSet, name: str, __: str) -> list[str]:
    return [
        f"{name}:",
        "  # official, official reprint, trade guide, rule of thumb, special engine, or memory where nobody",
        "  # opened anything.",
        "  tier: memory",
        f"  title: {_words(name)}",
        "  # publisher: ...",
        "  # number: ...",
        "  # read_at: where it was read",
        "  note: Say what to know about it.",
    ]


def _caution(rules: RuleSet, name: str, _: str) -> list[str]:
    return [
        f"{name}:",
        "  says: Say what could hurt somebody, and what to do about it.",
        "  governs: Say whose rule it is; the maker's manual and local rules go before this program.",
        f"  cite: [{{source: {_source(rules)}}}]",
        "  # Then: name it under cautions of a part, an operation, a task or a rule.",
    ]


def _instrument(rules: RuleSet, name: str, _: str) -> list[str]:
    return [
        f"{name}:",
        f"  label: {_words(name)}",
        "  # measures: length is meant where it is left out",
        "  # The greatest error of one reading, either way; from the certificate, or the maker's leaflet.",
        "  limit: 0.01 mm",
        "  # from: 0 mm",
        "  # up_to: 25 mm",
        f"  cite: [{{source: {_source(rules)}}}]",
    ]


SORTS: Final[Mapping[str, Sort]] = {
    "part": Sort("kinds", "kind of part", "a kind of part, with its answers", _part),
    "finding": Sort("findings", "finding", "something to be seen, with its extents", _finding, True),
    "reading": Sort("readings", "reading", "something to be measured, and how", _reading, True),
    "dimension": Sort(
        "dimensions", "dimension", "what is worked out of readings and has limits", _dimension, True
    ),
    "operation": Sort("operations", "operation", "work that makes a part fit again", _operation, True),
    "concern": Sort("concerns", "concern", "a fact that rules hand on to one another", _concern),
    "task": Sort("tasks", "task", "work that changes no size: clean, dress, mark", _task),
    "rule": Sort("rules", "rule", "a rule with its examples", _rule, True, item=True),
    "limit": Sort("limits", "limit", "a published limit, for want of the maker's", _limit, True, item=True),
    "source": Sort("sources", "source", "where something was read", _source_entry),
    "caution": Sort("cautions", "caution", "what could hurt somebody", _caution),
    "instrument": Sort("instruments", "instrument", "what is measured with, and its error", _instrument),
}
"""The sorts of entry that can be added to a rule set."""
