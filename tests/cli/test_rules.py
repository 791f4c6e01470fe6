"""The group of commands for whoever writes rule sets."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

import click
import pytest

from advisor.cli.rules import COMMANDS, command
from tests.cli.rig import Ran

Run = Callable[..., Ran]


def test_the_group_lists_its_commands_by_itself_and_when_asked(run: Run) -> None:
    for words in (["rules"], ["rules", "--help"], ["rules", "-h"]):
        done = run(*words)
        said = done.out + done.err
        assert all(f"  {name} " in said for name in COMMANDS)
    assert run("rules").code == 2


@pytest.mark.parametrize("name", COMMANDS)
def test_each_has_help_with_an_example(run: Run, name: str) -> None:
    done = run("rules", name, "--help")
    assert (done.code, done.err) == (0, "")
    assert f"Example: advisor rules {name} " in done.out
    assert max(map(len, done.out.splitlines())) <= 80
    found = command.get_command(click.Context(command), name)
    assert found is not None
    assert found.name == name


@pytest.mark.parametrize(
    ("typed", "meant"), [("tset", "test"), ("cove", "cover"), ("frobnicate", "there are new")]
)
def test_a_word_that_is_no_command_is_answered_with_the_nearest(run: Run, typed: str, meant: str) -> None:
    done = run("rules", typed)
    assert (done.code, meant in done.err) == (2, True)


def test_nothing_costly_is_imported_to_list_them() -> None:
    script = (
        "import sys; from advisor.cli import main; main(['rules', '--help']); "
        "print([name for name in ('pydantic', 'yaml', 'pint', 'durable') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
