"""Begins a rule set, and adds to one: whole files, or one entry in a file that is there."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from advisor.authoring.cases import FOLDER
from advisor.authoring.replace import ChangedMeanwhile, write_over
from advisor.authoring.scaffold_entries import SORTS, Sort
from advisor.authoring.scaffold_insert import added, with_file
from advisor.faults import Fault, Faults, Position
from advisor.sheets.engine import EngineSheet
from advisor.sheets.filekind import ENGINE, kind_of
from advisor.sheets.places import Document
from advisor.sheets.ruleset import MANIFEST, RuleSet, RuleSetFiles, inside, merge, read_files
from advisor.sheets.text import load, read_text
from advisor.sheets.validate import validate

_FIRST: Final = Path(__file__).parent / "first_rule_set"
_NAME: Final = "NAME"
"""What stands in those files for the name of the rule set."""

_MARK: Final = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class Put:
    """What was added: the file, the line on which it begins, and files that are new."""

    file: Path
    line: int
    made: tuple[Path, ...] = ()


def first_files(name: str) -> Iterator[tuple[str, str]]:
    """The files of a first rule set called `name`, by their path in its folder, sound as they stand."""
    for path in sorted(_FIRST.rglob("*.yaml")):
        text = path.read_text(encoding="utf-8")
        for key in ("name", "ruleset"):
            text = text.replace(f"\n{key}: {_NAME}\n", f"\n{key}: {name}\n")
        yield path.relative_to(_FIRST).as_posix(), text


def begin(folder: Path, name: str) -> list[str]:
    """Write a first rule set called `name` into the new folder `folder`, whole or not at all.

    Returns the files. Raises `FileExistsError` where something stands there, and `OSError`.
    """
    if folder.exists() or folder.is_symlink():
        raise FileExistsError(str(folder))
    made = Path(tempfile.mkdtemp(prefix=f".{folder.name[:80]}.", dir=folder.parent))
    try:
        written = []
        for file, text in first_files(name):
            target = made / file
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(text, encoding="utf-8", newline="")
            written.append(file)
        made.chmod(0o755)
        # On a name that is taken meanwhile this fails, unless it is an empty folder, which nobody loses.
        made.rename(folder)
        return written
    finally:
        shutil.rmtree(made, ignore_errors=True)


def add(folder: Path, what: str, name: str, kind: str = "", file: str = "") -> Put:
    """Add an entry of the sort `what` (a key of `SORTS`), called `name`, to the rule set in `folder`.

    `kind` is the kind of part it is for, where the sort is for one. `file` is the file it goes to; one that
    is not there is made and entered in the manifest. Raises `Faults` where the rule set has faults of its
    own, where the name is taken, or where the file cannot take an entry; `ChangedMeanwhile`, and `OSError`.
    """
    if not (folder / MANIFEST).is_file():
        # House rules name their own words and rules elsewhere; what is added here would go to nobody.
        raise Faults(
            [
                Fault(
                    "no-rule-set",
                    f"the folder {folder} holds no {MANIFEST}",
                    "the folder of a rule set of your own",
                    "begin one with `advisor rules new ruleset`; to house rules, add by hand",
                )
            ]
        )
    files = read_files(folder)
    rules, faults = merge(files)
    if faults:
        raise Faults(faults)
    sort = SORTS[what]
    _refuse_taken(sort, name, rules, files)
    lines = sort.lines(rules, name, kind)
    target = file or _file_for(sort, kind, files)
    listed = _list_of(sort)
    if listed and target not in getattr(files.manifest[0], listed):
        return _in_new_file(folder, target, listed, sort, lines, files)
    return _in_file(folder / target, sort, lines)


def _in_file(path: Path, sort: Sort, lines: list[str]) -> Put:
    before = path.read_bytes()
    text = read_text(path)
    new = added(text, str(path), sort.section, lines, item=sort.item)
    mark = _MARK if before.startswith(_MARK) else b""
    write_over(path, mark + new.encode(), before)
    return Put(path, _first_difference(text, new))


def _in_new_file(
    folder: Path, name: str, listed: str, sort: Sort, lines: list[str], files: RuleSetFiles
) -> Put:
    """A new file with the entry; then its name in the manifest, which so never names what is not there."""
    document = files.manifest[1]
    path = folder / name
    if not inside(folder, name) or not name.endswith(".yaml"):
        raise Faults(
            [
                Fault(
                    "file-outside",
                    f"{name} is no name for a file of this rule set",
                    "a name that ends in .yaml, in its folder or below it",
                    "name another file",
                )
            ]
        )
    if path.exists() or path.is_symlink():
        raise Faults(
            [
                Fault(
                    "file-not-listed",
                    f"{path} is there already, and the manifest does not name it",
                    f"a file under {listed}: in the manifest, or a new one",
                    "enter it in the manifest first, or name another file",
                    document.positions[(listed,)],
                )
            ]
        )
    manifest = folder / MANIFEST
    before = manifest.read_bytes()
    text = read_text(manifest)
    named = with_file(text, str(manifest), listed, name)
    new = added("format: 1\n", name, sort.section, lines, item=sort.item)
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("x", encoding="utf-8", newline="") as stream:
        stream.write(new)
    mark = _MARK if before.startswith(_MARK) else b""
    try:
        write_over(manifest, mark + named.encode(), before)
    except (OSError, ChangedMeanwhile):
        path.unlink()
        raise
    return Put(path, 3, (path,))


def _list_of(sort: Sort) -> str:
    """The list of files in the manifest in which a sort of entry stands; empty where it has one file."""
    if sort.section in ("sources", "cautions", "instruments"):
        return ""
    return "rules" if sort.section in ("rules", "limits") else "vocabulary"


def _file_for(sort: Sort, kind: str, files: RuleSetFiles) -> str:
    """The file for an entry: where the kind's others stand, else the last of its sort."""
    manifest = files.manifest[0]
    listed = _list_of(sort)
    if not listed:
        return str(getattr(manifest, sort.section))
    names: list[str] = getattr(manifest, listed)
    if not names:
        return f"{listed}.yaml"
    if listed == "rules":
        for name, (model, _) in zip(names, files.rules, strict=True):
            if kind and any(rule.for_ == kind for rule in model.rules):
                return name
    else:
        for name, (vocabulary, _) in zip(names, files.vocabulary, strict=True):
            if kind in vocabulary.kinds:
                return name
    return names[-1]


def _refuse_taken(sort: Sort, name: str, rules: RuleSet, files: RuleSetFiles) -> None:
    """Raise `Faults` where the name is in use for something that it would be mixed up with."""
    if sort.section == "limits":
        return
    if sort.section == "rules":
        taken: dict[str, Position | None] = {rule.id: rule.at for rule in rules.rules}
    else:
        shared = ("findings", "dimensions") if sort.section in ("findings", "dimensions") else (sort.section,)
        held = [getattr(rules if hasattr(rules, each) else rules.vocabulary, each) for each in shared]
        taken = {key: entry.at for entries in held for key, entry in entries.items()}
    if name in taken:
        raise Faults(
            [
                Fault(
                    "name-taken",
                    f"the rule set has {'a rule' if sort.item else 'an entry'} {name} already",
                    "a name that is not in use",
                    "choose another, or change the one that is there",
                    taken[name],
                )
            ]
        )


def _first_difference(old: str, new: str) -> int:
    """The line of `new` on which what was put in begins."""
    before, after = old.split("\n"), new.split("\n")
    same = 0
    while same < len(before) and before[same] == after[same]:
        same += 1
    while same < len(after) - 1 and not after[same].strip():
        same += 1
    return same + 1


def new_test(folder: Path, name: str, kind: str) -> Iterator[tuple[str, str]]:
    """The files of a new test about one kind: the test, and an engine sheet where the rule set has none.

    By their path in the folder of the rule set. Raises `Faults`.
    """
    files = read_files(folder)
    rules, faults = merge(files)
    if faults:
        raise Faults(faults)
    sheet_file = _engine_sheet(folder, rules, kind)
    if not (folder / FOLDER / sheet_file).exists():
        yield f"{FOLDER}/{sheet_file}", _new_sheet(rules)
    yield f"{FOLDER}/{name}.yaml", _new_test(rules, name, kind, sheet_file)


def _engine_sheet(folder: Path, rules: RuleSet, kind: str) -> str:
    """The path below the tests of an engine sheet with that kind of part, or else of a new one."""
    below = folder / FOLDER
    for path in sorted(below.rglob("*.yaml")):
        try:
            document: Document = load(path)
            if kind_of(document) != ENGINE:
                continue
            sheet = validate(EngineSheet, document)
        except Faults:
            continue
        if sheet.ruleset == rules.name and kind in sheet.parts:
            return path.relative_to(below).as_posix()
    new = "engines/one_of_each.yaml"
    return new if not (below / new).exists() else f"engines/one_of_each_with_{kind}.yaml"


def _new_sheet(rules: RuleSet) -> str:
    vocabulary = rules.vocabulary
    lines = [
        "# An engine for the tests, with every kind of part; add the limits that they need. All invented.",
        "format: 1",
        f"ruleset: {rules.name}",
        "engine: an engine for the tests",
    ]
    layout = ", ".join(f"{key}: {entry.values[0]}" for key, entry in vocabulary.layout.items())
    numbered = ", ".join(f"{key}: 2" for key, axis in vocabulary.axes.items() if not axis.values)
    lines += [f"layout: {{{layout}}}", f"axes: {{{numbered}}}", "parts:"]
    lines += [f"  {kind}: {{}}" for kind in vocabulary.kinds] or ["  {}"]
    return "\n".join(lines) + "\n"


def _new_test(rules: RuleSet, name: str, kind: str, sheet_file: str) -> str:
    vocabulary = rules.vocabulary
    axes = [vocabulary.axes[axis] for axis in vocabulary.kinds[kind].axes]
    place = " ".join(axis.values[0] if axis.values else "1" for axis in axes)
    seen = {key: each for key, each in vocabulary.findings.items() if kind in each.kinds}
    where = [f"          place: {place}"] if place else []
    found = ["          # findings: {...}"]
    if seen:
        finding = next(iter(seen))
        found = [
            f"          moment: {seen[finding].moment}",
            f"          findings: {{{finding}: {list(seen[finding].extents)[-1]}}}",
        ]
    lines = [
        "# What must come out of some cases, and which rules must carry it. Write down what you expect, and",
        "# why, before you look at what comes of it.",
        "format: 1",
        f"engine_sheet: {sheet_file}",
        "tests:",
        f"  - name: {name.replace('_', ' ')}",
        "    because: Say why, as one who knows the trade would say it at the bench.",
        "    case:",
        "      bench:",
        f"        - part: {kind}",
        *where,
        *found,
        "    expect:",
        f"      - part: {kind}",
        *([f"        place: {place}"] if place else []),
        "        # reuse, recondition, replace or undecided; as long as it is unanswered, nothing is tested.",
        "        verdict: unanswered",
        "        # by: the rules that must carry it; holds: those that must not even be possible to fire.",
    ]
    return "\n".join(lines) + "\n"
