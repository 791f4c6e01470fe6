"""`advisor rules test`: the test cases of a rule set."""

from __future__ import annotations

from pathlib import Path

import click

from advisor.cli.show import json_option, paper, say, show_json, show_lines


@click.command("test", epilog="Example: advisor rules test my-rules --only scored")
@click.argument("ruleset", type=click.Path(path_type=Path))
@click.argument("files", metavar="[FILE]...", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--only",
    metavar="WORDS",
    multiple=True,
    help="Only tests with these words in their name; may be given again.",
)
@click.option("--all", "every", is_flag=True, help="Name the tests that pass as well.")
@click.option(
    "--junit",
    "junit_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write what came of it as JUnit XML to a new file.",
)
@json_option
def command(
    ruleset: Path,
    files: tuple[Path, ...],
    only: tuple[str, ...],
    every: bool,
    junit_file: Path | None,
    as_json: bool,
) -> int:
    """Decide the test cases of the rule set in the folder RULESET, and hold them against what is expected.

    Without FILE, the files in its folder tests are run. What fails is told with what was expected, what came,
    the evidence, and the condition that kept a rule from firing; the exit code is then 1.
    """
    from advisor.authoring.cases import files_of, run_tests
    from advisor.authoring.cases_report import as_values, lines
    from advisor.cli.newfile import refuse_to_overwrite
    from advisor.files import load_rules

    if every and as_json:
        raise click.UsageError("--all is for people's layout; --json always names every test")
    if junit_file is not None:
        refuse_to_overwrite(junit_file, "a report")
    rules = load_rules(ruleset)
    trial = run_tests(rules, files or files_of(ruleset), only)
    if junit_file is not None:
        from advisor.authoring.junit import junit
        from advisor.cli.newfile import write_or_refuse

        write_or_refuse(junit_file, junit(trial, rules.name), "a report")
        say(f"The report is in {junit_file}.")
    if as_json:
        show_json(as_values(trial))
    else:
        show_lines(lines(trial, paper().width, every=every))
    if only and not trial.tried:
        say(f"No test has {' or '.join(only)} in its name.")
        return 1
    return 1 if trial.failed else 0
