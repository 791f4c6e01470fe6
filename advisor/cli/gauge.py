"""`advisor gauge`: every size of a case with its uncertainty and its limits."""

from __future__ import annotations

import click

from advisor.cli.show import json_option, paper, rules_option, show_json, show_lines


@click.command("gauge", epilog="Example: advisor gauge case.yaml name_of_part 3 --budget")
@click.argument("case", type=click.Path())
@click.argument("part", required=False)
@click.argument("place", nargs=-1)
@rules_option
@json_option
@click.option("--budget", is_flag=True, help="Add what each source of uncertainty has in a size.")
@click.option("--both", is_flag=True, help="Sizes in mm and in inches; in JSON they always are.")
def command(
    case: str,
    part: str | None,
    place: tuple[str, ...],
    rules_folder: str | None,
    as_json: bool,
    budget: bool,
    both: bool,
) -> None:
    """Show every size that was worked out for PART at PLACE of CASE, with its uncertainty and its limits.

    PLACE is written as in a case: 3 lower, or 3 for every item there; left out, every place is shown.
    Without a PART all that was measured is shown.
    """
    from advisor.cli.items import items_named
    from advisor.explain.sizes import sizes
    from advisor.files import load_case, load_rules

    rules = load_rules(rules_folder)
    loaded = load_case(case, rules)
    told = sizes(loaded.case, loaded.sheet, rules, document=loaded.document, both=both or as_json)
    if part is not None:
        chosen = [told[index] for index in items_named(" ".join((part, *place)), told, rules)]
    else:
        chosen = [each for each in told if each.measured]
    if as_json:
        from dataclasses import asdict

        show_json(
            {
                "format": 1,
                "case": loaded.case.case,
                "engine": loaded.sheet.engine,
                "items": [asdict(each) for each in chosen],
            }
        )
        return
    from advisor.reports.sizes import measuring_sheet

    if not chosen:
        show_lines(["Nothing is measured in this case."])
        return
    show_lines(measuring_sheet(chosen, paper(), budget=budget))
