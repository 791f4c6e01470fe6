"""`advisor rules schema`: what an editor needs to check a file while it is written."""

from __future__ import annotations

import json
from pathlib import Path

import click

from advisor.cli.show import show_lines


@click.command("schema", epilog="Example: advisor rules schema --in my-rules/schema")
@click.option(
    "--in",
    "folder",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    default=Path("schema"),
    help="The folder to write them to; left out, a folder schema here.",
)
def command(folder: Path) -> None:
    """Write a JSON Schema for each kind of file that you may write, for an editor to check it by.

    Schemas of an earlier version are written anew; no other file is ever touched. For each, the line is shown
    by which an editor finds it.
    """
    from advisor.authoring.replace import write_over
    from advisor.authoring.schemas import schemas

    if folder.exists() and not folder.is_dir():
        raise click.UsageError(f"{folder} is a file; name a folder")
    made = schemas()
    theirs = [name for name in made if not _ours(folder / name)]
    if theirs:
        raise click.UsageError(
            f"{folder / theirs[0]} is there already and was not written by this command; name another folder"
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, schema in made.items():
            write_over(folder / name, (json.dumps(schema, indent=2, ensure_ascii=False) + "\n").encode())
    except OSError as error:
        raise click.UsageError(f"{folder} could not be written to: {error.strerror or error}") from error
    show_lines(
        [
            f"{len(made)} schemas are in {folder}. Put the line for a file at its top, with the way to the",
            "schema; an editor that knows the convention then checks as you type.",
            "",
        ]
    )
    show_lines(f"# yaml-language-server: $schema={folder.name}/{name}" for name in made)


def _ours(path: Path) -> bool:
    """Whether a schema may be written there: nothing is there, or one of an earlier version."""
    if not (path.exists() or path.is_symlink()):
        return True
    try:
        title = json.loads(path.read_text(encoding="utf-8")).get("title", "")
    except (OSError, ValueError, AttributeError):
        return False
    return isinstance(title, str) and title.startswith("Rebuild decision advisor: ")
