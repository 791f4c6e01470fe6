"""Rule sets read before, kept as JSON so that a command need not read and check their files again.

A kept rule set is found by a digest over the text of all its files and over this program's own code, so
one that has changed in any way is read anew. Anything wrong with the cache only makes a command slower.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from advisor._version import VERSION
from advisor.faults import Fault, Faults
from advisor.sheets.digest import canonical
from advisor.sheets.ruleset import MANIFEST, RuleSet, inside, is_house
from advisor.sheets.ruleset_files import Manifest
from advisor.sheets.text import parse, read_text
from advisor.sheets.validate import validate

_PACKAGE: Final = Path(__file__).parent

_KEPT = 12
"""Files kept; the oldest go first."""


def place_of(folder: Path) -> Path | None:
    """Where the rule set in `folder`, as it is now, is kept.

    None where there is no place for a cache, or the folder holds nothing that could be read as a rule set.
    """
    root = os.environ.get("XDG_CACHE_HOME") or os.environ.get("HOME")
    if not root or not Path(root).is_absolute():
        return None
    base = Path(root) if os.environ.get("XDG_CACHE_HOME") else Path(root) / ".cache"
    try:
        return base / "rebuild-advisor" / f"{_digest(folder)}.json"
    except (Faults, OSError):
        return None


def fetch(place: Path | None) -> RuleSet | None:
    """The rule set that is kept at `place`, if there is one."""
    if place is None:
        return None
    try:
        said, _, beside = place.read_text(encoding="utf-8").partition("\n")
        more = json.loads(beside)
        ruleset = RuleSet.of_record(json.loads(said), more["order"])
        ruleset.written.update(more["written"])  # type: ignore[attr-defined]
        # The digest is over just this text, so it need not be made again.
        ruleset.__dict__["digest"] = hashlib.sha256(said.encode()).hexdigest()
        return ruleset
    except (OSError, ValueError, LookupError, TypeError, AttributeError, ValidationError):
        return None


def keep(place: Path | None, ruleset: RuleSet) -> None:
    """Keep at `place` a rule set that was read and found sound; `place` is asked for before the reading."""
    if place is None:
        return
    with contextlib.suppress(OSError, ValueError):
        place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = {"order": ruleset.order, "written": dict(ruleset.written)}
        text = f"{canonical(ruleset.record())}\n{json.dumps(beside)}"
        handle, name = tempfile.mkstemp(dir=place.parent, prefix=".new-")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
            Path(name).replace(place)
        except BaseException:
            Path(name).unlink()
            raise
        kept = sorted(place.parent.glob("*.json"), key=lambda each: each.stat().st_mtime, reverse=True)
        for old in kept[_KEPT:]:
            old.unlink(missing_ok=True)


def _digest(folder: Path) -> str:
    """Over the text of the manifest and of the files it names, those of a base under house rules as well,
    and over this program's code.

    Raises `Faults` for what loading would refuse as well, and `OSError`.
    """
    digest = hashlib.sha256(VERSION.encode())
    for name, text in _texts(folder).items():
        raw = text.encode()
        digest.update(f"\0{name}\0{len(raw)}\0".encode())
        digest.update(raw)
    for path, size, changed in sorted(_code(os.fspath(_PACKAGE))):
        digest.update(f"\0{path}\0{size}\0{changed}".encode())
    return digest.hexdigest()


def _texts(folder: Path) -> dict[str, str]:
    """By a name of its own: the text of every file that the rule set in `folder` is made of."""
    if is_house(folder):
        # Few rule sets have house rules, and the models of those take a while to import.
        from advisor.sheets.house import house_texts

        texts, base = house_texts(folder)
        return texts | {f"base/{name}": text for name, text in _texts(base).items()}
    texts = {MANIFEST: read_text(folder / MANIFEST)}
    manifest = validate(Manifest, parse(texts[MANIFEST], MANIFEST))
    named = (manifest.sources, manifest.cautions, manifest.instruments)
    for name in (*manifest.vocabulary, *manifest.rules, *named):
        if not inside(folder, name):
            raise Faults([Fault("file-outside", f"{name} lies outside the rule set's folder")])
        texts[name] = read_text(folder / name)
    return texts


def _code(folder: str) -> Iterator[tuple[str, int, int]]:
    """Every source file of a package, with its size in bytes and when it was changed, in ns."""
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.endswith(".py"):
                status = entry.stat()
                yield entry.path, status.st_size, status.st_mtime_ns
            elif entry.name != "__pycache__" and entry.is_dir(follow_symlinks=False):
                yield from _code(entry.path)
