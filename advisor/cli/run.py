"""Runs one command, and turns whatever comes of it into messages and an exit code."""

from __future__ import annotations

import contextlib
import io
import os
import sys
from collections.abc import Sequence
from typing import Final

import click

from advisor.cli.group import commands
from advisor.faults import Faults
from advisor.reports.paper import PLAIN

DONE: Final = 0
FAULTS: Final = 1
CALLED_WRONGLY: Final = 2
OURS: Final = 3
STOPPED: Final = 130


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command in `arguments` and return the exit code. No exception leaves it."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # What a terminal cannot write is written more plainly and never ends in a traceback.
            stream.reconfigure(errors=PLAIN)
    try:
        code = _invoke(given)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        _drop_output()
        return DONE
    except (KeyboardInterrupt, click.Abort):
        _say("stopped.")
        return STOPPED
    except Exception as error:  # whatever it is, the user is told plainly that it is not their fault
        from advisor.cli.ours import report

        _say(report(error, given))
        return OURS


def _invoke(arguments: list[str]) -> int:
    try:
        with commands.make_context("advisor", arguments) as context:
            code = commands.invoke(context)
            return code if isinstance(code, int) else DONE
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except click.ClickException as wrong:
        wrong.show(sys.stderr)
        return CALLED_WRONGLY
    except Faults as faults:
        for fault in faults.faults:
            click.echo(str(fault), err=True)
        return FAULTS


def _say(text: str) -> None:
    with contextlib.suppress(OSError):
        click.echo(text, err=True)


def _drop_output() -> None:
    """Nobody reads any more: send the rest nowhere, so that closing the stream says nothing either."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
