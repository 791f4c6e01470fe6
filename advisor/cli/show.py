"""Where answers go: people's layout and JSON to standard output, messages to standard error."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterable, Mapping
from typing import Any

import click

from advisor.reports.paper import Paper

rules_option = click.option(
    "--rules",
    "rules_folder",
    metavar="DIR",
    type=click.Path(),
    help="The rule set: its folder, or the name of one that comes with the program; left out, the engine's.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Answer in JSON, for other programs.")


def paper() -> Paper:
    """The paper that standard output is: its width, and bold only on a terminal that takes it."""
    bold = sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return Paper(shutil.get_terminal_size((80, 24)).columns, bold, sys.stdout.encoding or "utf-8")


def show_lines(lines: Iterable[str]) -> None:
    """Lines of the people's layout."""
    for line in lines:
        sys.stdout.write(line + "\n")


def show_json(value: Mapping[str, Any]) -> None:
    """One value as canonical JSON: always UTF-8, whatever the terminal writes."""
    from advisor.sheets.digest import canonical

    text = canonical(value) + "\n"
    sys.stdout.flush()
    buffer = getattr(sys.stdout, "buffer", None)
    if buffer is None:
        sys.stdout.write(text)
    else:
        buffer.write(text.encode())
        buffer.flush()


def say(text: str) -> None:
    """A message beside the answer."""
    click.echo(text, err=True)
