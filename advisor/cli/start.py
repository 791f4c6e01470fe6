"""`advisor start`: a case to be filled in."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from advisor.cli.show import rules_option, say


@click.command("start", epilog='Example: advisor start engine.yaml --case "pump 2, low oil pressure"')
@click.argument("engine_sheet", type=click.Path(path_type=Path))
@rules_option
@click.option(
    "--into",
    metavar="FILE",
    type=click.Path(path_type=Path, allow_dash=True),
    help="The new file; left out, case.yaml beside the engine sheet; - for standard output.",
)
@click.option("--case", "case_name", metavar="NAME", help="What the case is called.")
@click.option(
    "--part",
    "parts",
    metavar="PART",
    multiple=True,
    help="Only this kind of part, by its name or label, with all its places; may be given again.",
)
def command(
    engine_sheet: Path,
    rules_folder: str | None,
    into: Path | None,
    case_name: str | None,
    parts: tuple[str, ...],
) -> None:
    """Write a case with every part and place of the engine in ENGINE_SHEET, ready to be filled in.

    It is ordered by moment: what has to be seen before anything is washed, turned or parted comes first.
    Places are gathered, and split by hand where one differs. A file that is there already is never written
    over.
    """
    from advisor.authoring.scaffold import skeleton
    from advisor.cli.items import kind_named
    from advisor.cli.newfile import refuse_to_overwrite, write_or_refuse
    from advisor.files import load_rules
    from advisor.sheets.engine_check import load_engine

    to_output = into == Path("-")
    target = into or engine_sheet.parent / "case.yaml"
    sheet_file = engine_sheet.name
    if not to_output:
        refuse_to_overwrite(target, "a case")
        folder = target.parent.resolve()
        sheet_at = engine_sheet.resolve()
        if not sheet_at.is_relative_to(folder):
            raise click.UsageError(
                f"a case has its engine sheet beside it or below; {engine_sheet} does not lie under "
                f"{target.parent}: copy the sheet there first"
            )
        sheet_file = sheet_at.relative_to(folder).as_posix()
    rules = load_rules(rules_folder)
    sheet = load_engine(engine_sheet, rules)
    labels = {kind: rules.vocabulary.kinds[kind].label for kind in sheet.parts}
    kinds = [kind_named(part, labels, rules) for part in parts]
    name = case_name or f"a case of the {sheet.engine}"
    text = skeleton(sheet, rules, case=name, sheet_file=sheet_file, kinds=kinds)
    if to_output:
        sys.stdout.write(text)
        return
    write_or_refuse(target, text.encode(), "a case")
    say(f"The case is in {target}. Begin with part 1, before anything is washed or turned.")
