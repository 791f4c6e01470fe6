"""`advisor rules check`: everything static about a whole rule set."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from advisor.cli.show import json_option, paper, say, show_json, show_lines

if TYPE_CHECKING:
    from advisor.authoring.analysis.model import Analysis
    from advisor.sheets.ruleset import RuleSet


@click.command("check", epilog="Example: advisor rules check my-rules --only finding-without-rule")
@click.argument("ruleset", type=click.Path())
@click.option(
    "--only",
    "codes",
    metavar="KIND-OF-FINDING",
    multiple=True,
    help="Only findings of this kind, by its code; may be given again.",
)
@click.option(
    "--witness",
    "witness_folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Write the cases that show the findings to this folder, each with an engine sheet.",
)
@json_option
def command(ruleset: str, codes: tuple[str, ...], witness_folder: Path | None, as_json: bool) -> int:
    """Check the rule set in the folder RULESET: first as `advisor check` does, then as a whole.

    Told are rules that never fire or add nothing, verdicts that get milder as things get worse, what no rule
    speaks of, and what nothing uses. Errors make the exit code 1; remarks do not. What is let stand is
    written under `accept` in ruleset.yaml.
    """
    from dataclasses import asdict, replace

    from advisor.authoring.analysis.codes import SORTS
    from advisor.authoring.analysis.report import as_values, lines
    from advisor.authoring.analysis.whole import analyse
    from advisor.authoring.check import check_rule_set, rule_set_folder

    for code in codes:
        if code not in SORTS:
            raise click.UsageError(_unknown(code))
    checked, rules, files = check_rule_set(rule_set_folder(ruleset))
    faults = [
        {**asdict(each), "at": asdict(each.at) if each.at is not None else None} for each in checked.faults
    ]
    answer = {"format": 1, "path": checked.path, "says": checked.says, "faults": faults}
    if checked.faults or rules is None or files is None:
        if as_json:
            show_json({**answer, "analysis": None})
        else:
            show_lines(str(fault) for fault in checked.faults)
            number = len(checked.faults)
            show_lines([f"{number} {'fault' if number == 1 else 'faults'} found; the rest waits for that."])
        return 1
    analysis = analyse(rules, files)
    if codes:
        chosen = tuple(each for each in analysis.findings if each.code in codes)
        accepted = tuple(each for each in analysis.accepted if each.finding.code in codes)
        analysis = replace(analysis, findings=chosen, accepted=accepted)
    if witness_folder is not None:
        _write(analysis, rules, witness_folder)
    if as_json:
        show_json({**answer, "analysis": as_values(analysis, rules)})
    else:
        here = paper()
        show_lines(here.wrap(f"{checked.path}: {checked.says}."))
        show_lines(["", *lines(analysis, rules, here)])
    return 1 if analysis.errors else 0


def _unknown(word: str) -> str:
    from advisor.authoring.analysis.codes import SORTS
    from advisor.faults import nearest

    close = nearest(word, SORTS)
    return f"there is no kind of finding {word}" + (f'; did you mean "{close}"?' if close else "")


def _write(analysis: Analysis, rules: RuleSet, folder: Path) -> None:
    """Write each witness into a folder of its own below `folder`, which is made where it is not there."""
    from advisor.authoring.analysis.bench import ENGINE_FILE, typed
    from advisor.authoring.analysis.report import witness_files
    from advisor.cli.newfile import refuse_to_overwrite, write_or_refuse

    found = list(witness_files(analysis, rules))
    made = [(name, files) for name, files in found if files is not None]
    for name, _ in made:
        if folder.exists():
            refuse_to_overwrite(folder / name, "a case")
    try:
        for name, each in made:
            (folder / name).mkdir(parents=True)
            write_or_refuse(folder / name / ENGINE_FILE, typed(each.engine).encode(), "an engine sheet")
            write_or_refuse(folder / name / "case.yaml", typed(each.case).encode(), "a case")
    except OSError as error:
        raise click.UsageError(f"{folder} could not be written: {error.strerror or error}") from error
    cases = "1 case" if len(made) == 1 else f"{len(made)} cases"
    say(f"{cases} written to {folder}, each in a folder with its engine sheet.")
    for name, files in found:
        if files is None:
            say(f"No engine that is laid out by places gives a case for {name}.")
