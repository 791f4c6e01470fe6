"""From the bench and its gauging to the world that rules are run over."""

from __future__ import annotations

from advisor.chain.world import Extent, Item, Standing, World
from advisor.gauging import Gauged, LimitStanding
from advisor.sheets.bench import Bench, BenchItem
from advisor.sheets.ruleset import RuleSet


def world_of(bench: Bench, gauged: Gauged, ruleset: RuleSet) -> World:
    """What is known of every item, in the terms of the rule language."""
    scales = {name: tuple(finding.extents) for name, finding in ruleset.vocabulary.findings.items()}
    # Gauging lets many dimensions share one standing, so few are made anew.
    standings: dict[int, Standing] = {}

    def standing(each: LimitStanding) -> Standing:
        known = standings.get(id(each))
        if known is None:
            known = standings[id(each)] = Standing(each.outcomes, each.state)
        return known

    consulted = ruleset.consulted_kinds
    items = tuple(
        Item(
            kind=item.key.kind,
            # What no rule looks at need not be told to the engines.
            findings=_findings(item, scales) if item.key.kind in consulted else {},
            standings={
                (name, purpose): standing(each)
                for name, dimension in gauged.dimensions[index].items()
                for purpose, each in dimension.standings.items()
            },
            properties=item.properties,
            place_unknown=item.key.place is None,
            origin=item.key.origin,
        )
        for index, item in enumerate(bench.items)
    )
    return World(items, bench.links, scales, bench.layout, bench.unsure)


def _findings(item: BenchItem, scales: dict[str, tuple[str, ...]]) -> dict[str, Extent]:
    extents = {}
    for name, seen in item.findings.items():
        scale = scales[name]
        if seen.extent is not None:
            position = scale.index(seen.extent)
            extents[name] = Extent(position, position)
        else:
            extents[name] = Extent(0, len(scale) - 1, seen.state)
    return extents
