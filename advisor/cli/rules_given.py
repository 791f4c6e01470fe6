"""What `cover` and `probe` share: the rules that are meant, and made-up tests written into a folder."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from advisor.cli.newfile import refuse_to_overwrite, write_or_refuse
from advisor.cli.show import say
from advisor.faults import nearest

if TYPE_CHECKING:
    from advisor.sheets.ruleset import RuleSet


def chosen(rules: RuleSet, ids: Sequence[str], kinds: Sequence[str]) -> Callable[[str, str], bool]:
    """Whether a rule, by its id and kind, is asked for. Raises `click.UsageError` for unknown words."""
    known = [rule.id for rule in rules.rules]
    for word, words, what in (
        *((each, known, "rule") for each in ids),
        *((each, list(rules.vocabulary.kinds), "kind of part") for each in kinds),
    ):
        if word not in words:
            close = nearest(word, words)
            meant = f'; did you mean "{close}"?' if close else ""
            raise click.UsageError(f"there is no {what} {word} in {rules.name}{meant}")
    return lambda rule, kind: (not ids and not kinds) or rule in ids or kind in kinds


def write_tests(folder: Path, files: Mapping[str, str]) -> None:
    """Write test files and the engine sheets below them; none where one of the names is taken."""
    if not files:
        say("There is nothing to write.")
        return
    for name in files:
        path = folder / name
        if path.parent != folder and not path.parent.exists():
            path.parent.mkdir()
        refuse_to_overwrite(path, "a test file")
    for name, text in files.items():
        write_or_refuse(folder / name, text.encode(), "a test file")
    number = sum("/" not in name for name in files)
    what = "file" if number == 1 else "files"
    say(f"{number} {what} of tests written to {folder}, with the engine sheets below.")
