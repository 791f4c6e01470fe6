"""`advisor check`: everything that is wrong with a file or a rule set."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import click

from advisor.cli.show import json_option, rules_option, show_json, show_lines

if TYPE_CHECKING:
    from advisor.authoring.check import Checked


@click.command("check", epilog="Example: advisor check engine.yaml case.yaml")
@click.argument("paths", metavar="PATH...", nargs=-1, required=True, type=click.Path())
@rules_option
@json_option
def command(paths: tuple[str, ...], rules_folder: str | None, as_json: bool) -> int:
    """Find everything wrong in each PATH: a case, an engine sheet, or the folder or a file of a rule set.

    The examples of every rule of a rule set are run. Faults are shown as file:line:col, and the exit code
    is 1 where there are any.
    """
    from advisor.authoring.check import Examiner

    checked = Examiner(rules_folder).check(paths)
    number = sum(len(each.faults) for each in checked)
    if as_json:
        show_json({"format": 1, "checked": [_plain(each) for each in checked], "faults": number})
    else:
        for each in checked:
            show_lines(str(fault) for fault in each.faults)
            if not each.faults:
                show_lines([f"{each.path}: {each.says}; analysed, nothing found."])
        if number:
            show_lines([f"{number} {'fault' if number == 1 else 'faults'} found."])
    return 1 if number else 0


def _plain(checked: Checked) -> dict[str, Any]:
    return {
        "path": checked.path,
        "kind": checked.kind,
        "says": checked.says,
        "faults": [
            {**asdict(fault), "at": asdict(fault.at) if fault.at is not None else None}
            for fault in checked.faults
        ],
    }
