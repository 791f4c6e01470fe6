"""The chain of rules behind the verdicts, step by step, and the causes that it leaves open."""

from __future__ import annotations

from collections import defaultdict

from advisor.chain.run import Firings
from advisor.sheets.bench import Bench
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Cause, Step
from advisor.verdicts.words import Teller


def steps(bench: Bench, ruleset: RuleSet, firings: Firings, teller: Teller) -> tuple[Step, ...]:
    """Every firing as a step, by item and rule; `certain` False where it may fire and need not."""
    told = []
    for rule_number, item, certain in sorted(firings, key=lambda key: (key[1], key[0], not key[2])):
        if not certain and (rule_number, item, True) in firings:
            continue
        rule = ruleset.rules[rule_number]
        key = bench.items[item].key
        lines = sorted(
            (
                teller.line(leaf, about, certain=certain)
                for leaf, about in firings[rule_number, item, certain]
            ),
            key=lambda line: (line.part, line.place, line.tag, line.kind, line.name, line.says),
        )
        told.append(
            Step(
                rule=rule.id,
                item=item,
                part=key.kind,
                place=key.where,
                certain=certain,
                because=rule.because,
                cites=teller.cites(rule.cite),
                uses=tuple(dict.fromkeys(lines)),
                concludes=tuple(rule.then.concern),
                at=ruleset.written.get(rule.id, ""),
                differs=rule.differs,
                tag=key.tag,
                house=ruleset.house_rules[rule.id].signed_words if rule.id in ruleset.house_rules else "",
            )
        )
    return tuple(told)


def causes(bench: Bench, ruleset: RuleSet, firings: Firings) -> tuple[Cause, ...]:
    """Every suspected cause: open, until somebody has found, ruled out or accepted it by name."""
    concluded: dict[tuple[str, int], list[tuple[bool, str]]] = defaultdict(list)
    for rule_number, item, certain in sorted(firings):
        rule = ruleset.rules[rule_number]
        for concern in rule.then.concern:
            if ruleset.vocabulary.concerns[concern].cause:
                concluded[concern, item].append((certain, rule.id))
    # What somebody has closed is told even where no rule suspects it any more.
    for closed in bench.causes:
        concluded.setdefault(closed, [])
    told = []
    for (concern, item), by in sorted(concluded.items()):
        key = bench.items[item].key
        state = bench.causes.get((concern, item))
        told.append(
            Cause(
                concern=concern,
                says=ruleset.vocabulary.concerns[concern].label,
                part=key.kind,
                place=key.where,
                state=state.state if state is not None else "open",
                certain=any(certain for certain, _ in by),
                by=state.by if state is not None else "",
                because=state.because if state is not None else "",
                rules=tuple(sorted({rule for _, rule in by})),
            )
        )
    return tuple(told)
