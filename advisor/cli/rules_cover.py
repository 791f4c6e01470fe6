"""`advisor rules cover`: which conditions of the rules some case has shown to decide."""

from __future__ import annotations

from pathlib import Path

import click

from advisor.cli.show import json_option, paper, say, show_json, show_lines


@click.command("cover", epilog="Example: advisor rules cover my-rules --write my-rules/tests --at-least 90")
@click.argument("ruleset", type=click.Path(path_type=Path))
@click.argument("files", metavar="[FILE]...", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--rule", "rules_wanted", metavar="ID", multiple=True, help="Only this rule; may be given again."
)
@click.option(
    "--kind",
    "kinds",
    metavar="KIND",
    multiple=True,
    help="Only rules for this kind of part; may be given again.",
)
@click.option(
    "--engine",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Engine sheet to build missing cases on; left out, that of the first case.",
)
@click.option(
    "--argued",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="What is argued in place of a case; left out, coverage.yaml beside the rule set.",
)
@click.option(
    "--no-examples", is_flag=True, help="Leave the rules' own examples out, and look at cases only."
)
@click.option("--all", "every", is_flag=True, help="Show what is shown as well, and by which cases.")
@click.option(
    "--write",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Write the missing cases as test files into this folder.",
)
@click.option(
    "--html", metavar="FILE", type=click.Path(path_type=Path), help="Write all of it as a page to a new file."
)
@click.option(
    "--at-least",
    metavar="PERCENT",
    type=click.FloatRange(0, 100),
    help="End with exit code 1 where a smaller share is shown or argued.",
)
@json_option
def command(
    ruleset: Path,
    files: tuple[Path, ...],
    rules_wanted: tuple[str, ...],
    kinds: tuple[str, ...],
    engine: Path | None,
    argued: Path | None,
    no_examples: bool,
    every: bool,
    write: Path | None,
    html: Path | None,
    at_least: float | None,
    as_json: bool,
) -> int:
    """Show which conditions of the rules in the folder RULESET were seen both true and false, deciding.

    Looked at are the rules' own examples and each FILE: cases, and files of tests. Without FILE, the tests in
    the folder tests of the rule set are. For what is missing, ready cases are built and tried.
    """
    from advisor.authoring.coverage import cover
    from advisor.authoring.coverage_report import as_values, lines
    from advisor.cli.newfile import refuse_to_overwrite
    from advisor.cli.rules_given import chosen
    from advisor.files import load_rules

    if every and as_json:
        raise click.UsageError("--all is for people's layout; --json always tells all")
    if html is not None:
        refuse_to_overwrite(html, "a page")
    if write is not None and not write.is_dir():
        raise click.UsageError(f"there is no folder {write}")
    rules = load_rules(ruleset)
    wanted = chosen(rules, rules_wanted, kinds)
    found = cover(
        ruleset, rules, files, engine=engine, argued=argued, examples=not no_examples, wanted=wanted
    )
    if html is not None:
        from advisor.authoring.coverage_page import page
        from advisor.cli.newfile import write_or_refuse

        write_or_refuse(html, page(found).encode(), "a page")
        say(f"The page is in {html}.")
    if write is not None:
        from advisor.authoring.coverage_files import test_files
        from advisor.cli.rules_given import write_tests

        write_tests(write, test_files(found))
    if as_json:
        show_json(as_values(found))
    else:
        show_lines(lines(found, paper().width, every=every))
    if at_least is not None and found.percent < at_least:
        say(f"That is less than the {at_least:g} % that were asked for.")
        return 1
    return 0
