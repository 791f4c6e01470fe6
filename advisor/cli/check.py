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
    is 1 where there are any. A remark is no fault: it tells what is worth knowing and changes no exit code.
    """
    from advisor.authoring.check import Examiner

    checked = Examiner(rules_folder).check(paths)
    number = sum(len(each.faults) for each in checked)
    remarks = sum(len(each.remarks) for each in checked)
    if as_json:
        plain = [_plain(each) for each in checked]
        show_json({"format": 1, "checked": plain, "faults": number, "remarks": remarks})
    else:
        for each in checked:
            show_lines(str(fault) for fault in each.faults)
            show_lines(str(remark) for remark in each.remarks)
            if not each.faults:
                show_lines([f"{each.path}: {each.says}; analysed, {_found(each)}."])
        if number:
            show_lines([f"{number} {'fault' if number == 1 else 'faults'} found."])
    return 1 if number else 0


def _found(checked: Checked) -> str:
    count = len(checked.remarks)
    if not count:
        return "nothing found"
    return f"no fault found, {count} {'remark' if count == 1 else 'remarks'}"


def _plain(checked: Checked) -> dict[str, Any]:
    return {
        "path": checked.path,
        "kind": checked.kind,
        "says": checked.says,
        "faults": [
            {**asdict(fault), "at": asdict(fault.at) if fault.at is not None else None}
            for fault in checked.faults
        ],
        "remarks": [asdict(remark) for remark in checked.remarks],
    }
