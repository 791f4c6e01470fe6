"""`advisor why`: the chain behind one verdict."""

from __future__ import annotations

import click

from advisor.cli.show import json_option, paper, rules_option, show_json, show_lines


@click.command("why", epilog="Example: advisor why case.yaml name_of_part 3 lower")
@click.argument("case", type=click.Path())
@click.argument("part")
@click.argument("place", nargs=-1)
@rules_option
@json_option
@click.option("--ids", is_flag=True, help="Add the ids of the rules.")
def command(
    case: str, part: str, place: tuple[str, ...], rules_folder: str | None, as_json: bool, ids: bool
) -> None:
    """Show why PART at PLACE of CASE has its verdict: every rule and the evidence under it.

    PART is the name of a part as in a case, its label, or any words of its label that no other part has.
    PLACE is written as in a case: 3 lower, or 3 for every item there; left out, every place is shown. A tag
    stands for the place, or for both.
    """
    from advisor.cli.items import items_named
    from advisor.explain.why import why
    from advisor.files import load_case, load_rules
    from advisor.pipeline import decide

    rules = load_rules(rules_folder)
    loaded = load_case(case, rules)
    decision = decide(loaded.case, loaded.sheet, rules, document=loaded.document)
    indices = items_named(" ".join((part, *place)), decision.verdicts, rules)
    if as_json:
        from dataclasses import asdict

        from advisor.schema import printed

        whole = printed(decision, rules)
        told = [asdict(why(whole, index, rules)) for index in indices]
        show_json({"format": 1, "case": decision.case, "why": told})
        return
    from advisor.reports.doing import Cautions
    from advisor.reports.tree import tree

    sheet, cautions = paper(), Cautions(rules)
    for number, index in enumerate(indices):
        if number:
            show_lines(("", sheet.rule(), ""))
        show_lines(tree(why(decision, index, rules), rules, sheet, ids=ids, cautions=cautions))
