"""`advisor decide`: the decision on a case."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from advisor.cli.show import json_option, paper, rules_option, say, show_json, show_lines


@click.command("decide", epilog="Example: advisor decide case.yaml --brief")
@click.argument("case", type=click.Path())
@rules_option
@json_option
@click.option(
    "--part",
    "parts",
    metavar="PART",
    multiple=True,
    help="Show only this part, by its name, its label or a tag; may be given again.",
)
@click.option("--brief", is_flag=True, help="A line or two for each part.")
@click.option("--full", is_flag=True, help="With the steps of the work, and every reason for reuse.")
@click.option(
    "--record",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write the decision with everything it was made from to a new file.",
)
def command(
    case: str,
    rules_folder: str | None,
    as_json: bool,
    parts: tuple[str, ...],
    brief: bool,
    full: bool,
    record: Path | None,
) -> None:
    """Judge every part of CASE: worst first, with reasons, cautions, work, and what to look at next."""
    from advisor.cli.newfile import refuse_to_overwrite
    from advisor.files import load_case, load_rules
    from advisor.pipeline import decide

    if (brief or full) and as_json:
        raise click.UsageError("--brief and --full are for people's layout; --json is always whole")
    if brief and full:
        raise click.UsageError("--brief and --full exclude each other")
    if record is not None:
        refuse_to_overwrite(record, "a record")
    rules = load_rules(rules_folder)
    loaded = load_case(case, rules)
    decision = decide(loaded.case, loaded.sheet, rules, document=loaded.document)
    shown = decision
    if parts:
        from advisor.cli.items import items_named

        chosen = {index for part in parts for index in items_named(part, decision.verdicts, rules)}
        where = {(each.part, each.place) for index, each in enumerate(decision.verdicts) if index in chosen}
        shown = replace(
            decision,
            verdicts=tuple(each for index, each in enumerate(decision.verdicts) if index in chosen),
            causes=tuple(each for each in decision.causes if (each.part, each.place) in where),
            steps=tuple(each for each in decision.steps if each.item in chosen),
        )
    if record is not None:
        from advisor.cli.newfile import write_or_refuse
        from advisor.cli.versions import versions
        from advisor.reports.record import record as recorded
        from advisor.reports.record import record_bytes

        whole = recorded(decision, loaded.case, loaded.sheet, rules, versions())
        write_or_refuse(record, record_bytes(whole), "a record")
        say(f"The decision is on record in {record}.")
    if as_json:
        from advisor.schema import as_json as in_json

        show_json(in_json(shown, rules))
    else:
        from advisor.reports.terminal import sheet

        show_lines(sheet(shown, rules, paper(), brief=brief, full=full))
