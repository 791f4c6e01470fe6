"""Which parts are barred because of a size of another: a shell for the play of its journal."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from advisor.chain.run import Firings
from advisor.sheets.conditions import HasConcern, Stands
from advisor.sheets.ruleset import RuleSet


def barred_on(firings: Firings, ruleset: RuleSet) -> Mapping[tuple[int, str], tuple[int, ...]]:
    """By item and dimension: the items that are barred for certain on that size, other than itself.

    A bar may rest on a size by way of concerns that other rules concluded from it.
    """
    concluding: dict[tuple[str, int], list[int]] = defaultdict(list)
    for rule, item, certain in firings:
        if certain:
            for concern in ruleset.rules[rule].then.concern:
                concluding[concern, item].append(rule)
    found: dict[tuple[int, str], dict[int, None]] = defaultdict(dict)
    for rule, item, certain in sorted(firings):
        if not certain or not ruleset.rules[rule].then.bar:
            continue
        waiting, seen = [(rule, item)], set()
        while waiting:
            here = waiting.pop()
            if here in seen:
                continue
            seen.add(here)
            for leaf, of in firings.get((*here, True), frozenset()):
                if isinstance(leaf, Stands) and of != item:
                    found[of, leaf.dimension][item] = None
                elif isinstance(leaf, HasConcern):
                    waiting += [(each, of) for each in concluding[leaf.concern, of]]
    return {key: tuple(items) for key, items in found.items()}
