"""Runs one command, and turns whatever comes of it into messages and an exit code."""

from __future__ import annotations

import contextlib
import errno
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

_REFUSALS: Final = {
    errno.ENOSPC: "no space left on the device",
    errno.EBADF: "standard output is closed",
}


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command in `arguments` and return the exit code. No exception leaves it."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    # Where the shell has closed it there is no stream at all, whatever its type says.
    if getattr(sys, "stdout", None) is None:
        with contextlib.redirect_stdout(_Closed()):
            return _run(given)
    return _run(given)


def _run(given: list[str]) -> int:
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
    except OSError as error:
        # What goes wrong with a file carries the file's name; only standard output has none.
        if error.filename is not None:
            return _ours(error, given)
        _say(f"The answer could not be written: {_refusal(error)}.")
        _drop_output()
        return FAULTS
    except (KeyboardInterrupt, click.Abort):
        _say("stopped.")
        return STOPPED
    except Exception as error:  # whatever it is, the user is told plainly that it is not their fault
        return _ours(error, given)


class _Closed(io.TextIOBase):
    """Standard output where the shell has closed it: nothing is lost there without a word."""

    encoding = "utf-8"

    def write(self, text: str) -> int:
        """Refuse any text."""
        if text:
            raise OSError(errno.EBADF, os.strerror(errno.EBADF))
        return 0


def _refusal(error: OSError) -> str:
    """Why standard output took nothing."""
    said = error.strerror or str(error)
    return _REFUSALS.get(error.errno or 0, f"{said[:1].lower()}{said[1:]}")


def _ours(error: BaseException, given: list[str]) -> int:
    from advisor.cli.ours import report

    _say(report(error, given))
    return OURS


def _invoke(arguments: list[str]) -> int:
    try:
        for number, each in enumerate(arguments, 1):
            if not _is_text(each):
                raise click.UsageError(
                    f"word {number} after the program's name is not text in UTF-8 ({each!a}); "
                    "rename the file, or type it anew"
                )
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


def _is_text(argument: str) -> bool:
    # Bytes that are no text reach a program as halves of surrogate pairs, which no file could be told by.
    return not any("\ud800" <= char <= "\udfff" for char in argument)


def _say(text: str) -> None:
    with contextlib.suppress(OSError):
        click.echo(text, err=True)


def _drop_output() -> None:
    """Nobody reads any more: send the rest nowhere, so that closing the stream says nothing either."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
        sys.stdout.flush()
