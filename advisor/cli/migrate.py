"""`advisor migrate`: a file in the present words of its rule set."""

from __future__ import annotations

import codecs
from pathlib import Path

import click

from advisor.cli.show import rules_option, say, show_lines


@click.command("migrate", epilog="Example: advisor migrate old-case.yaml --into case.yaml")
@click.argument("file", type=click.Path(path_type=Path))
@rules_option
@click.option(
    "--into",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="The new file; left out, FILE with .migrated before its ending.",
)
def command(file: Path, rules_folder: str | None, into: Path | None) -> int:
    """Write the case or engine sheet FILE anew, with every word that its rule set has renamed exchanged.

    All else stays as it was typed. What was changed is shown; no file is ever written over.
    """
    from advisor.authoring.rename import TABLES, rename
    from advisor.cli.newfile import refuse_to_overwrite, write_or_refuse
    from advisor.files import load_rules
    from advisor.sheets.filekind import kind_of
    from advisor.sheets.text import parse, read_text

    target = into or file.with_name(f"{file.stem}.migrated{file.suffix}")
    rules = load_rules(rules_folder)
    text = read_text(file)
    document = parse(text, str(file))
    kind = kind_of(document)
    if kind not in TABLES:
        raise click.UsageError(f"{file} is no case and no engine sheet; a rule set is renamed by its author")
    done = rename(text, document, kind, rules.vocabulary.renamed)
    show_lines(f"{each.at}: {each.old} is now {each.new}" for each in done.changes)
    show_lines(str(fault) for fault in done.by_hand)
    if done.changes:
        refuse_to_overwrite(target, "a migrated file")
        mark = codecs.BOM_UTF8 if file.read_bytes().startswith(codecs.BOM_UTF8) else b""
        write_or_refuse(target, mark + done.text.encode(), "a migrated file")
        number = len(done.changes)
        say(f"{number} {'word' if number == 1 else 'words'} changed; the new file is {target}.")
    elif not done.by_hand:
        say(f"Every word of {file} is in use; nothing was written.")
    return 1 if done.by_hand else 0
