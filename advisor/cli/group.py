"""The commands by name; the module of each is imported only when that command is called."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import Any, Final

import click

from advisor._version import VERSION
from advisor.faults import nearest

COMMANDS: Final[Mapping[str, str]] = {
    "decide": "Judge every part of a case.",
    "why": "Show the chain behind one verdict.",
    "gauge": "Show every size with its uncertainty and its limits.",
    "check": "Find everything wrong with cases, engine sheets and rule sets.",
    "start": "Write a case to be filled in.",
    "rules": "Write rule sets and prove them.",
    "migrate": "Move a file to the present words of its rule set.",
}
"""Each command with what it does. Its module in this package is called as it is."""


class LazyGroup(click.Group):
    """A group that imports a command when it is called, and lists them without importing any.

    `table` has each command with what it does; the module of one is `prefix` and its name.
    """

    def __init__(self, *args: Any, table: Mapping[str, str], prefix: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.table = table
        self.prefix = prefix

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of the commands, in the order in which they are used."""
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, or None."""
        if cmd_name not in self.table:
            return None
        command: click.Command = import_module(f"{self.prefix}{cmd_name}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that is meant. Raises `click.UsageError`, with the nearest command there is."""
        name = args[0]
        if name not in self.table and not name.startswith("-"):
            close = nearest(name, self.table)
            meant = f'did you mean "{close}"?' if close else f"there are {', '.join(self.table)}."
            raise click.UsageError(f"there is no command {name}; {meant}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands from the table."""
        with formatter.section("Commands"):
            formatter.write_dl(list(self.table.items()))


def _version(ctx: click.Context, _: click.Parameter, value: bool) -> None:
    if value and not ctx.resilient_parsing:
        click.echo(f"advisor {VERSION}")
        ctx.exit()


@click.group(
    cls=LazyGroup,
    table=COMMANDS,
    prefix="advisor.cli.",
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Example: advisor decide case.yaml",
)
@click.option(
    "--version", is_flag=True, expose_value=False, is_eager=True, callback=_version, help="Show the version."
)
def commands() -> None:
    """Reuse, recondition or replace: a second opinion, with its reasons, on every part on the bench.

    It defers to the engine maker's manual, to local rules and to whoever is licensed for the work.
    """
