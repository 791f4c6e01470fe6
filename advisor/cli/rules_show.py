"""`advisor rules show`: what house rules change of their base."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from advisor.cli.show import json_option, paper, show_json, show_lines

if TYPE_CHECKING:
    from advisor.authoring.house import ShownLayer
    from advisor.reports.paper import Paper
    from advisor.sheets.ruleset import RuleSet


@click.command("show", epilog="Example: advisor rules show shop/house")
@click.argument("ruleset", type=click.Path(path_type=Path))
@json_option
def command(ruleset: Path, as_json: bool) -> None:
    """Show what the house rules in the folder RULESET change of their base: each change with who decided it,
    when and why, and the rules and examples of the base that it touches.

    Of a rule set without house rules it shows version and digest, by which house rules name it.
    """
    from advisor.authoring.house import shown_layers
    from advisor.files import load_rules
    from advisor.sheets.ruleset import read_files

    rules = load_rules(ruleset)
    layers = shown_layers(read_files(ruleset))
    if as_json:
        show_json(_plain(rules, layers))
    else:
        show_lines(_lines(rules, layers, paper()))


def _plain(rules: RuleSet, layers: tuple[ShownLayer, ...]) -> dict[str, Any]:
    return {
        "format": 1,
        "name": rules.name,
        "version": rules.version,
        "title": rules.title,
        "digest": rules.digest,
        "layers": [asdict(layer) for layer in layers],
    }


def _lines(rules: RuleSet, layers: tuple[ShownLayer, ...], sheet: Paper) -> Iterator[str]:
    yield from sheet.heading(f"Rule set {rules.name} {rules.version}: {rules.title}")
    if not layers:
        yield from sheet.wrap(f"No house rules. {len(rules.rules)} rules, {len(rules.limits)} limits.")
        yield f"digest: {rules.digest}"
        return
    for layer in layers:
        yield ""
        yield from _layer(layer, sheet)
    yield ""
    yield from sheet.wrap("Every decision by this whole carries its digest:")
    yield f"digest: {rules.digest}"


def _layer(shown: ShownLayer, sheet: Paper) -> Iterator[str]:
    from advisor.reports.house import HEADINGS, change_lines
    from advisor.schema import sentence

    layer = shown.layer
    yield from sheet.heading(f"House rules {layer.name} {layer.version}: {layer.title}")
    yield from sheet.wrap(f"Over {layer.base.name} {layer.base.version}: {layer.counted}.")
    yield from sheet.wrap(f"Digest of that base: {layer.base.digest}")
    if layer.drift:
        yield from map(sheet.strong, sheet.wrap(f"Go through these house rules again: {layer.drift}."))
    for kind, title in HEADINGS.items():
        some = [each for each in shown.changes if each.change.kind == kind]
        if some:
            yield ""
            yield from sheet.heading(title)
        for each in some:
            yield from change_lines(each.change, sheet, 2)
            if each.change.harm:
                yield from sheet.wrap(f"A verdict may come out milder by it. {sentence(each.change.harm)}", 4)
            if each.rests:
                yield from sheet.wrap(f"Rests on it: {', '.join(each.rests)}.", 4, hang=2)
            elif each.change.kind == "limit changed":
                yield from sheet.wrap("No rule looks at it; it is shown beside a verdict and no more.", 4)
            for example in each.examples:
                yield from sheet.wrap(f"Examples: {example}.", 4, hang=2)
            yield from sheet.wrap(f"Written at {each.at}", 4)
    if shown.no_longer_judged:
        yield ""
        kinds = ", ".join(shown.no_longer_judged)
        yield from sheet.wrap(f"Not judged any more, since no rule can rule their reuse out: {kinds}.")
