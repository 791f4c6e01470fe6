"""`advisor rules new`: the beginning of a rule set, or of something in one."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

from advisor.cli.show import say, show_lines

RULE_SET: Final = "ruleset"
TEST: Final = "test"

WHAT: Final = (
    RULE_SET,
    "part",
    "finding",
    "reading",
    "dimension",
    "operation",
    "concern",
    "task",
    "rule",
    "limit",
    "source",
    "caution",
    "instrument",
    TEST,
)


@click.command("new", epilog="Example: advisor rules new finding blueing --for shaft --in my-rules")
@click.argument("what", type=click.Choice(WHAT), metavar="WHAT")
@click.argument("name")
@click.option(
    "--in",
    "folder",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    default=Path(),
    help="The rule set's folder, or for a new rule set the folder to put it in; left out, this one.",
)
@click.option("--for", "kind", metavar="PART", default="", help="The kind of part it is for.")
@click.option(
    "--file",
    metavar="FILE",
    default="",
    help="The file of the rule set that it goes to; a new one is entered in the manifest.",
)
def command(what: str, name: str, folder: Path, kind: str, file: str) -> None:
    """Begin a rule set called NAME, or add something called NAME to the one in a folder.

    WHAT is ruleset, part, finding, reading, dimension, operation, concern, task, rule, limit, source,
    caution, instrument or test. What is written is sound as it stands, with remarks on what each line is for.
    A file that is there keeps every line that it has; nothing is ever written over. A limit goes by the name
    of its dimension.
    """
    _well_formed(what, name)
    if what == RULE_SET:
        if kind or file:
            raise click.UsageError("--for and --file are for what goes into a rule set")
        _rule_set(folder / name, name)
        return
    kind = _kind(what, name, folder, kind)
    if what == TEST:
        if file:
            raise click.UsageError("a test gets a file of its own name; leave --file out")
        _test(folder, name, kind)
    else:
        _entry(folder, what, name, kind, file)


def _well_formed(what: str, name: str) -> None:
    """Raise `click.UsageError` for a name that the files of a rule set could not hold."""
    from pydantic import TypeAdapter, ValidationError

    from advisor.sheets.base import FaultError, Name, RuleId

    try:
        TypeAdapter(RuleId if what == "rule" else Name).validate_python(name)
    except ValidationError as error:
        wrong = error.errors()[0].get("ctx", {}).get("error")
        assert isinstance(wrong, FaultError)  # the only thing these types raise
        parts = (wrong.what, f"expected {wrong.expected}", wrong.mend)
        raise click.UsageError("; ".join(filter(None, parts))) from None


def _rule_set(target: Path, name: str) -> None:
    from advisor.authoring.scaffold_ruleset import begin
    from advisor.cli.newfile import refuse_to_overwrite

    refuse_to_overwrite(target, "a rule set")
    try:
        files = begin(target, name)
    except OSError as error:
        refuse_to_overwrite(target, "a rule set")
        raise click.UsageError(f"{target} could not be written: {error.strerror or error}") from error
    show_lines(f"  {target / each}" for each in files)
    say(f"The rule set {name} is in {target}; it is sound as it stands. Next:")
    say(f"  advisor check {target}")
    say(f"  advisor rules test {target}")
    say(f"  advisor decide {target / 'case.yaml'} --rules {target}")


def _kind(what: str, name: str, folder: Path, kind: str) -> str:
    """The kind that something is for. Raises `click.UsageError` where it is missing or not known."""
    from advisor.authoring.scaffold_entries import SORTS
    from advisor.faults import Faults, nearest
    from advisor.sheets.ruleset import merge, read_files

    wanted = what == TEST or SORTS[what].for_kind
    if not wanted:
        if kind:
            raise click.UsageError(f"a {what} is not for one kind of part; leave --for out")
        return ""
    rules, faults = merge(read_files(folder))
    if faults:
        raise Faults(faults)
    kinds = list(rules.vocabulary.kinds)
    if kind in kinds:
        return kind
    close = nearest(kind, kinds) if kind else ""
    offered = ", ".join(kinds[:20]) + (f" and {len(kinds) - 20} more" if len(kinds) > 20 else "")
    problem = f"{kind} is no kind of part here" if kind else f"a {what} is for a kind of part: add --for"
    raise click.UsageError(f"{problem}; " + (f'did you mean "{close}"?' if close else f"one of {offered}"))


def _entry(folder: Path, what: str, name: str, kind: str, file: str) -> None:
    from advisor.authoring.replace import ChangedMeanwhile
    from advisor.authoring.scaffold_ruleset import add

    try:
        put = add(folder, what, name, kind, file)
    except ChangedMeanwhile:
        raise click.UsageError("a file was changed while this was being added; nothing was written") from None
    except OSError as error:
        where = error.filename or folder
        raise click.UsageError(f"{where} could not be written: {error.strerror or error}") from error
    new = " (a new file, entered in the manifest)" if put.made else ""
    say(f"The {what} {name} is in {put.file}, from line {put.line}{new}. Put your own words in, and then:")
    say(f"  advisor check {folder}")


def _test(folder: Path, name: str, kind: str) -> None:
    from advisor.authoring.scaffold_ruleset import new_test
    from advisor.cli.newfile import refuse_to_overwrite, write_or_refuse

    files = [(folder / file, text) for file, text in new_test(folder, name, kind)]
    for path, _ in files:
        if path.exists() or path.is_symlink():
            refuse_to_overwrite(path, "a test")
    for path, text in files:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise click.UsageError(f"{path.parent} could not be made: {error.strerror or error}") from error
        write_or_refuse(path, text.encode(), "a test")
        show_lines([f"  {path}"])
    say("Say what must come out, and why; then:")
    say(f"  advisor rules test {folder}")
